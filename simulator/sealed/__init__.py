"""Sealed calls, played at the service of a class: rig, truth and marks stay there, a page gets what it shows."""
