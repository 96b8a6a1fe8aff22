# Test records: each test runs on the small plant of plant.c.
foreach(NAME test_test_records test_readings test_sign test_certificates test_findings)
	unit_test(api ${NAME} api_fixture)
	target_sources(${NAME} PRIVATE ${CMAKE_CURRENT_LIST_DIR}/plant.c)
endforeach()
