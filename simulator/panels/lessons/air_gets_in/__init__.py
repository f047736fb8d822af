"""Lesson 04: air gets in."""
