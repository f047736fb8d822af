"""The demonstration bench: a run that the trainer changes before the class, and the wall that shows it."""
