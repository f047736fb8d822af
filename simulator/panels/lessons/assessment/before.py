"""What stands before a sitting: its rules in plain words, the figures behind them, work that was done without a name.

``rule``: by which a sitting is decided.
"""

from __future__ import annotations

import math

from simulator.attempt.pressed import STEPPED_BACK
from simulator.marking.decision import Rule
from simulator.marking.safety_gate import CHARGES
from simulator.marking.sheet import PASS
from simulator.panels.learner.session import LearnerSession
from simulator.panels.lessons.assessment.words import AREA, said
from simulator.panels.lessons.registry import LESSONS
from simulator.panels.page.blocks import Block, folded
from simulator.records import nameless
from simulator.texts import entry


def rules(rule: Rule) -> list[str]:
    """The rules of a sitting, a line each."""
    averages = _averages(rule)
    return [str(line).format(**averages) for line in entry(f"{AREA}.rules")]


def figures(rule: Rule) -> Block:
    """The averages that decide, folded away: the rule itself takes three sentences."""
    averages = _averages(rule)
    source = said("no_source" if rule.pass_mark == PASS else "own_mark", **averages)
    lines = [str(line).format(**averages) for line in entry(f"{AREA}.figures")]
    return folded("figures", said("figures_title"), *lines, source)


def _averages(rule: Rule) -> dict[str, str]:
    out = {"mark": f"{rule.pass_mark:g}", "stepped_back": f"{CHARGES[STEPPED_BACK]:g}"}
    for when, cases in (("first", rule.least), ("last", rule.most)):
        margin = rule.z * rule.error(cases)
        out[f"{when}_pass"] = f"{math.ceil(rule.pass_mark + margin)}"
        out[f"{when}_fail"] = f"{math.ceil(rule.pass_mark - margin) - 1}"
    return out


def way_to_nameless(session: LearnerSession) -> list[Block]:
    """The way to work that was done here without a name, for who has given one since; in a class there is none.

    Parameters
    ----------
    session : of the learner.
    """
    if not session.name or session.given or not nameless(session.store):
        return []
    link = {"file": LESSONS["00"].notebook, "label": said("nameless_link")}
    notice = {"id": "nameless", "kind": "notice", "tone": "quiet", "paragraphs": [said("nameless")]}
    return [notice | {"link": link}]
