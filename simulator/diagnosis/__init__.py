"""Reasoning about faults: what could be wrong, how likely each is after what was seen, and what to do
next."""
