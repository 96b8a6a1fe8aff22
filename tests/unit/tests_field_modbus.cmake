unit_test(unit test_modbus_data field)
unit_test(unit test_modbus_frame field)
unit_test(unit test_modbus field)
unit_test(unit test_modbus_line field)
unit_test(unit test_modbus_outside field)

# Another library's device; only tests link to it.
pkg_check_modules(MODBUS REQUIRED IMPORTED_TARGET libmodbus)
unit_test(unit test_modbus_peer field PkgConfig::MODBUS)
