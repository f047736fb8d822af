"""A pump of one's own: figures of plate and tape, one timed start, and the rig that both make."""
