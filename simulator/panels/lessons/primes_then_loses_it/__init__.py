"""Lesson 08: primes then loses it."""
