"""What the records say the learner can do by now, skill by skill, for the home page."""

from __future__ import annotations

from datetime import datetime

from simulator.marking.mastery import Skill, shown_in, trace_all
from simulator.panels.learner.session import LearnerSession
from simulator.panels.page.blocks import Block
from simulator.texts import entry, text

ORDER = ("due", "weak", "learning", "known", "new")  # what to do first stands first


def skills_block(session: LearnerSession) -> list[Block]:
    """The skills with how they stand and when they come back; nothing before the first call is marked.

    Parameters
    ----------
    session : of the learner.
    """
    if not session.name:
        return []
    now = session.now()
    skills = trace_all(shown_in(session.store, session.name), now)
    if all(skill.state == "new" for skill in skills.values()):
        return []
    ranked = sorted(skills.values(), key=lambda skill: ORDER.index(skill.state))
    rows = [
        {
            "cells": [
                text(f"skills.names.{skill.id}"),
                text(f"skills.states.{skill.state}"),
                when_words(skill, now),
            ]
        }
        for skill in ranked
    ]
    return [
        {
            "id": "skills",
            "kind": "compare",
            "title": text("skills.title"),
            "columns": list(entry("skills.columns")),
            "rows": rows,
        }
    ]


def when_words(skill: Skill, now: datetime) -> str:
    """When a skill comes back, in words."""
    if skill.due is None or skill.last is None:
        return text("skills.when.never")
    days = (skill.due - now).total_seconds() / 86400.0
    if days <= 0.5 or skill.state in ("due", "weak"):
        return text("skills.when.now")
    whole = max(round(days), 1)
    return text("skills.when.tomorrow") if whole == 1 else text("skills.when.days", n=whole)
