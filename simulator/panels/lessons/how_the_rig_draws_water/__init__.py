"""Lesson 01: how the rig draws water."""
