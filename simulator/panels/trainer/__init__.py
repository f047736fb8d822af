"""The trainer's desks: pages beside the lessons, for who trains others and does not program."""
