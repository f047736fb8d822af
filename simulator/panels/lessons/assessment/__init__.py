"""Lesson 10: assessment."""
