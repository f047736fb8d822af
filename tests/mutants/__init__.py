"""Mistakes put into the code by a seed, and the tests that catch them: ``python -m tests.mutants --help``."""
