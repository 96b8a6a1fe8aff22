unit_test(unit test_modbus_data field)
unit_test(unit test_modbus_frame field)
unit_test(unit test_modbus field)
