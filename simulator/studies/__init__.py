"""What shows that beliefs and marks hold.

Simulated trainees, sittings, rigs a few percent off, how hard a case is. Nothing of the product imports it.
"""
