unit_test(unit test_db store)
unit_test(unit test_store store)
unit_test(unit test_store_migrate store)
