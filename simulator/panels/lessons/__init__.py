"""The lessons: one folder each, and one line each in the registry."""
