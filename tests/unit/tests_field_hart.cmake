unit_test(unit test_hart_frame field metrology)
unit_test(unit test_hart_ip field)
unit_test(unit test_hart_outside field)
unit_test(unit test_hart_serial field)

# The codec for a browser-attached modem: it must build without a C library.
foreach(STEM hart_frame hart_data hart_units)
	add_test(NAME wasm/${STEM} COMMAND ${WASM_CLANG} --target=wasm32 -std=c17 -Oz -ffreestanding -nostdlibinc
		-isystem ${PROJECT_SOURCE_DIR}/server/metrology/wasm/include -Wall -Wextra -Wshadow -Werror
		-c ${PROJECT_SOURCE_DIR}/server/field/${STEM}.c -o ${CMAKE_CURRENT_BINARY_DIR}/${STEM}.wasm.o)
endforeach()
