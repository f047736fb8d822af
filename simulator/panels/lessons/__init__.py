"""Taught lessons: ideas, predictions, runs, cases that fade, drills and a check, on fresh cases each time."""
