unit_test(unit test_compute api)
