unit_test(unit test_scpi field)
