"""Lesson 06: water cannot come."""
