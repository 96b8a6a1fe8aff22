# What runs in a browser: our own sources compiled by Clang to one module, without a C library or an import.
find_program(WASM_CLANG NAMES clang-14 clang)
find_program(WASM_LD NAMES wasm-ld-14 wasm-ld)
if(NOT WASM_CLANG OR NOT WASM_LD)
	message(FATAL_ERROR "The pages judge readings by WebAssembly, which needs Clang and its linker: install clang-14 and lld-14")
endif()

# Strict arithmetic as in the native build. Small rather than fast: it is sent to tablets and runs once a reading.
set(WASM_FLAGS --target=wasm32 -std=c17 -Oz -flto -DNDEBUG -ffp-contract=off -fno-fast-math -fvisibility=hidden
	-ffunction-sections -fdata-sections -nostdlibinc -isystem ${PROJECT_SOURCE_DIR}/server/wasm/include
	-I${PROJECT_SOURCE_DIR}/include -I${PROJECT_SOURCE_DIR}/server -Wall -Wextra -Wshadow)
if(STRICT)
	list(APPEND WASM_FLAGS -Werror)
endif()

# wasm_module(NAME SOURCES ... [FLAGS ...] [STACK BYTES]): NAME.wasm in the current binary folder. Only what is marked as exported
# is kept, with what it calls. The stack lies first, so that overrunning it traps.
function(wasm_module NAME)
	cmake_parse_arguments(M "" "STACK" "SOURCES;FLAGS" ${ARGN})
	if(NOT M_STACK)
		set(M_STACK 65536)
	endif()
	set(OBJECTS "")
	foreach(SOURCE ${M_SOURCES} ${PROJECT_SOURCE_DIR}/server/wasm/libc.c)
		get_filename_component(STEM ${SOURCE} NAME_WE)
		set(OBJECT ${CMAKE_CURRENT_BINARY_DIR}/${NAME}/${STEM}.o)
		add_custom_command(OUTPUT ${OBJECT} COMMAND ${CMAKE_COMMAND} -E make_directory ${CMAKE_CURRENT_BINARY_DIR}/${NAME}
			COMMAND ${WASM_CLANG} ${WASM_FLAGS} ${M_FLAGS} -MD -MF ${OBJECT}.d -c ${SOURCE} -o ${OBJECT}
			DEPENDS ${SOURCE} DEPFILE ${OBJECT}.d COMMENT "Building ${STEM}.o of ${NAME}.wasm" VERBATIM)
		list(APPEND OBJECTS ${OBJECT})
	endforeach()
	set(MODULE ${CMAKE_CURRENT_BINARY_DIR}/${NAME}.wasm)
	add_custom_command(OUTPUT ${MODULE}
		COMMAND ${WASM_LD} --no-entry --export-dynamic --gc-sections --strip-all --lto-O2 --stack-first -z stack-size=${M_STACK}
			${OBJECTS} -o ${MODULE}
		DEPENDS ${OBJECTS} COMMENT "Linking ${NAME}.wasm" VERBATIM)
endfunction()
