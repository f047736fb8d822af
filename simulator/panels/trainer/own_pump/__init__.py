"""The desk "Our own pump": plate, tape and one timed start make a rig of the class."""
