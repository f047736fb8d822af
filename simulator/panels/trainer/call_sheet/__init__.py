"""The call sheet: calls in order, signed, handed out to learners."""
