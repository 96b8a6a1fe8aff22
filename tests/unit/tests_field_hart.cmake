unit_test(unit test_hart_frame field metrology)
