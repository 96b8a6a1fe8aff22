# poppler-utils and zbar-tools look at what was drawn.
unit_test(unit test_certificate report)
unit_test(unit test_certificate_words report)
unit_test(unit test_certificate_file report)
unit_test(unit test_certificate_outside report)
unit_test(unit test_certificate_pages report)
unit_test(unit test_label report)
# LOOPLEDGER_DCC_SCHEMA names the published schema (dcc.xsd); without it these check by our own rules only.
unit_test(unit test_dcc_unit report)
unit_test(unit test_dcc report)
unit_test(unit test_dcc_demo report)
# xmlsec1 looks at what was sealed.
unit_test(unit test_dcc_seal report)
unit_test(unit test_dcc_seal_changes report)
