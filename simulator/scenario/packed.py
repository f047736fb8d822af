"""How a record names a call-out that it does not hold."""

#: In place of a packed call-out: it stays where it is played, and is in the records once it was begun.
NOT_PACKED = "at-service"
