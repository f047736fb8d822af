"""Lesson 00: start here."""
