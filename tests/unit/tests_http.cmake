unit_test(unit test_dispatch http)
unit_test(unit test_server http)
unit_test(unit test_server_worker http)
unit_test(unit test_server_stream http)
