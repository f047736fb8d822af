"""After class: marks, remarks, what was hard, sign-offs, files to take away."""
