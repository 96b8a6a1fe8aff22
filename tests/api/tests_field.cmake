unit_test(api test_command_field)
target_compile_definitions(test_command_field PRIVATE LOOPLEDGER="$<TARGET_FILE:loopledger>")
add_dependencies(test_command_field loopledger)
