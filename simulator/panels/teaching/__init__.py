"""What lessons are made of: the frame of a lesson, drills, rounds, cases, the call done alone."""
