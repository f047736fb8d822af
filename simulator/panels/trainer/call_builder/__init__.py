"""The call builder: a call-out made by pointing and typing."""
