unit_test(unit test_sim_plant field)
unit_test(unit test_sim_server field)
