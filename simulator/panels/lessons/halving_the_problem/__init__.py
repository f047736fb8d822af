"""Lesson 07: halving the problem."""
