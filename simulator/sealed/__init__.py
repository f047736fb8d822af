"""Sealed calls, played at the service of a class: rig, truth and marks stay there, a learner's page gets what it shows."""
