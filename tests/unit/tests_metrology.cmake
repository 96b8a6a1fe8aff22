unit_test(unit test_number metrology)
unit_test(unit test_format metrology)
unit_test(unit test_judge metrology)
unit_test(unit test_evaluation metrology)
unit_test(unit test_diagnosis metrology)
unit_test(unit test_sentences metrology)
unit_test(unit test_sentences_true metrology)
unit_test(unit test_characteristic metrology)
unit_test(unit test_characteristic_kinds metrology)
unit_test(unit test_properties metrology)
unit_test(unit test_points metrology)
unit_test(unit test_switch metrology)
unit_test(unit test_uncertainty metrology)
unit_test(unit test_unit metrology)
unit_test(unit test_fit metrology)

# Only what is exact by IEEE 754, and what compilers insert on their own: else the WebAssembly build gives other bits.
add_test(NAME unit/metrology_calls_no_library COMMAND ${CMAKE_COMMAND} -DNM=${CMAKE_NM} -DLIBRARY=$<TARGET_FILE:metrology>
	-P ${CMAKE_CURRENT_LIST_DIR}/metrology_symbols.cmake)
