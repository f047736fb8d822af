"""The form for a real job that somebody watched: filled in by hand beside the pump, typed back afterwards."""

from __future__ import annotations

from simulator.marking.sheet import OUT_OF
from simulator.panels.papers.sheet import sheet
from simulator.texts import text

STEPS = 10  # lines for what was done


def job_form() -> str:
    """The form as HTML that prints on one page of A4 or Letter."""
    parts = [(text(f"marking.{name}.label"), f"{points:g}") for name, points in OUT_OF.items()]
    return sheet("job_form.html", text("papers.job.title"), steps=STEPS, parts=parts)
