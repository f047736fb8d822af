"""The call-out on the screen: panel, page, what it offers, how it opens, its debrief."""
