unit_test(unit test_sim_plant field)
unit_test(unit test_sim_server field)
unit_test(unit test_field_faults field)
target_sources(test_field_faults PRIVATE ${CMAKE_CURRENT_SOURCE_DIR}/support/fault_proxy.c)
