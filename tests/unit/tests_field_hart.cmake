unit_test(unit test_hart_frame field metrology)
unit_test(unit test_hart_ip field)
unit_test(unit test_hart_outside field)
unit_test(unit test_hart_serial field)
