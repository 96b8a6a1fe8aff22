# A plant with its crew, called without a socket: for every test of the API.
add_library(api_fixture STATIC ${CMAKE_CURRENT_SOURCE_DIR}/support/api_fixture.c ${CMAKE_CURRENT_SOURCE_DIR}/support/openapi.c)
target_include_directories(api_fixture PUBLIC ${CMAKE_CURRENT_SOURCE_DIR})
target_compile_definitions(api_fixture PRIVATE SOURCE_DIR="${PROJECT_SOURCE_DIR}")
target_link_libraries(api_fixture PUBLIC api PkgConfig::CMOCKA PkgConfig::CJSON PkgConfig::SQLITE m)

unit_test(api test_session api_fixture)
unit_test(api test_people api_fixture)
unit_test(api test_permissions api_fixture)
unit_test(api test_ledger api_fixture)
unit_test(api test_ledger_tampering api_fixture)
unit_test(api test_pages api_fixture)

unit_test(api test_command_line PkgConfig::SQLITE)
target_compile_definitions(test_command_line PRIVATE LOOPLEDGER="$<TARGET_FILE:loopledger>")
add_dependencies(test_command_line loopledger)
