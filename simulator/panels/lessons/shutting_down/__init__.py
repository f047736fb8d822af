"""Lesson 11: shutting down."""
