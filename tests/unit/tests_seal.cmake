# poppler-utils, libnss3-tools, openssl, mupdf-tools and qpdf look at what was sealed.
unit_test(unit test_seal report)
unit_test(unit test_seal_tamper report)
unit_test(unit test_seal_key report)
unit_test(unit test_seal_stamp report)
unit_test(unit test_seal_mutation report)
unit_test(unit test_seal_finish report)
unit_test(unit test_seal_token report)
