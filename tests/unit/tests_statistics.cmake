unit_test(unit test_mathfn metrology)
unit_test(unit test_statistics metrology)
