"""Lesson 05: air is not drawn out."""
