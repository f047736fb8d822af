"""Lesson 02: how long should it take."""
