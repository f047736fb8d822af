"""All tests; a package, as that of the browser is, so that each file has one name."""
