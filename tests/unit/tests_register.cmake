unit_test(unit test_procedure_document domain)
