"""A pump of one's own from what can be measured on it: figures of plate and tape, one timed start, and a rig fitted to both."""
