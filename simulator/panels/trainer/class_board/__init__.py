"""The board: where everybody of the class is now."""
