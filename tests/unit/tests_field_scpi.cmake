unit_test(unit test_scpi field)
unit_test(unit test_scpi_transcript field)
