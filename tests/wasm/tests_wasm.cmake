# The browser's core compiled natively, for tests/wasm/identity.test.js and the sanitizers.
set(WASM_EXCHANGE ${PROJECT_SOURCE_DIR}/server/metrology/wasm/exchange.c ${PROJECT_SOURCE_DIR}/server/metrology/wasm/layout.c)
foreach(NAME cases speed)
	add_executable(core_${NAME} wasm/${NAME}.c ${WASM_EXCHANGE})
	target_include_directories(core_${NAME} PRIVATE ${PROJECT_SOURCE_DIR}/server)
	target_link_libraries(core_${NAME} PRIVATE metrology m)
	target_compile_options(core_${NAME} PRIVATE -ffp-contract=off)
	target_compile_definitions(core_${NAME} PRIVATE CORE_WHOLE)
endforeach()

# The same for a modem at a browser.
add_executable(hart_cases wasm/hart_cases.c ${PROJECT_SOURCE_DIR}/server/field/wasm/modem.c)
target_include_directories(hart_cases PRIVATE ${PROJECT_SOURCE_DIR}/server)
target_link_libraries(hart_cases PRIVATE field metrology)
