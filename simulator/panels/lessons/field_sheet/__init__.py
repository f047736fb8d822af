"""The field sheet."""
