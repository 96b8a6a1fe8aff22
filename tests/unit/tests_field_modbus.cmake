unit_test(unit test_modbus_data field)
