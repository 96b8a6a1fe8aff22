unit_test(unit test_compute api)
unit_test(unit test_compute_reach api)
unit_test(unit test_shown api)
