"""Physics of air and water as plain scalar functions of SI floats, one subject a file."""
