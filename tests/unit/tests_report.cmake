# poppler-utils and zbar-tools look at what was drawn.
unit_test(unit test_certificate report)
unit_test(unit test_certificate_words report)
unit_test(unit test_certificate_file report)
