# Outside libraries that only the tests use: the GNU Scientific Library and R's mathlib.
pkg_check_modules(GSL REQUIRED IMPORTED_TARGET gsl)
pkg_check_modules(RMATH REQUIRED IMPORTED_TARGET libRmath)
unit_test(reference test_reference_distributions metrology PkgConfig::GSL PkgConfig::RMATH)
unit_test(reference test_reference_uncertainty metrology)
unit_test(reference test_reference_fit metrology PkgConfig::GSL)
