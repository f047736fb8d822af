"""Lesson 09: practice yard."""
