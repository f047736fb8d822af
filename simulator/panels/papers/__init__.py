"""What is meant for paper: a yard card a rig, the form for an observed job, a session plan a lesson.

``python -m simulator.panels.papers --out papers`` writes them all; each is one HTML file to print from any browser.
"""
