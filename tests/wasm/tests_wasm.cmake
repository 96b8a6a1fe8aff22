# The browser's core compiled natively, for tests/wasm/identity.test.js and the sanitizers.
set(WASM_EXCHANGE ${PROJECT_SOURCE_DIR}/server/metrology/wasm/exchange.c ${PROJECT_SOURCE_DIR}/server/metrology/wasm/layout.c)
add_executable(core_cases wasm/cases.c ${WASM_EXCHANGE})
target_include_directories(core_cases PRIVATE ${PROJECT_SOURCE_DIR}/server)
target_link_libraries(core_cases PRIVATE metrology m)
target_compile_options(core_cases PRIVATE -ffp-contract=off)
