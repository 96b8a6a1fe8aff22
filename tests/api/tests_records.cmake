# Test records: each test runs on the small plant of plant.c.
foreach(NAME test_test_records test_readings test_sign test_certificates test_findings test_bad_bodies test_verify test_amend test_batches test_live test_fed test_channels_modbus)
	unit_test(api ${NAME} api_fixture)
	target_sources(${NAME} PRIVATE ${CMAKE_CURRENT_LIST_DIR}/plant.c)
endforeach()

# docs/worked-example.md, run as it stands against a demo plant; needs curl, jq and poppler-utils.
add_test(NAME api/worked_example COMMAND ${CMAKE_CURRENT_LIST_DIR}/worked_example.sh $<TARGET_FILE:loopledger>
	${PROJECT_SOURCE_DIR}/docs/worked-example.md)

# Keys of a company and of a device, time stamps, and each of them failing; needs openssl, softhsm2, node and poppler-utils.
add_test(NAME api/sealing COMMAND ${CMAKE_CURRENT_LIST_DIR}/sealing.sh $<TARGET_FILE:loopledger>)
add_test(NAME api/guard COMMAND ${CMAKE_CURRENT_LIST_DIR}/guard.sh $<TARGET_FILE:loopledger>)
