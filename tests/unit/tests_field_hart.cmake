unit_test(unit test_hart_frame field metrology)
unit_test(unit test_hart_ip field)
unit_test(unit test_hart_outside field)
unit_test(unit test_hart_serial field)

# What needs no C library must build without one.
foreach(STEM hart_frame hart_data hart_units hart_line)
	add_test(NAME wasm/${STEM} COMMAND ${WASM_CLANG} --target=wasm32 -std=c17 -Oz -ffreestanding -nostdlibinc
		-isystem ${PROJECT_SOURCE_DIR}/server/wasm/include -Wall -Wextra -Wshadow -Werror
		-c ${PROJECT_SOURCE_DIR}/server/field/${STEM}.c -o ${CMAKE_CURRENT_BINARY_DIR}/${STEM}.wasm.o)
endforeach()
