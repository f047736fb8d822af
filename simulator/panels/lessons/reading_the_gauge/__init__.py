"""Lesson 03: reading the gauge."""
