unit_test(unit test_procedure_document domain)
unit_test(unit test_demo domain)
unit_test(unit test_frozen_cache domain)
