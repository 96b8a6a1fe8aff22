unit_test(unit test_sim_plant field)
