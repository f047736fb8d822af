"""What moved the bars of a debrief between one step and the next, where nothing was done: the rig ran on, or more was
thought of from there on.

Throughout: ``last`` is the step before, ``step`` the one that is told.
"""

from __future__ import annotations

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.evidence import Step
from simulator.diagnosis.second_trouble import went_bad
from simulator.diagnosis.words import chance_words, fault_name
from simulator.texts import text

NAMED = 2  # suspects named
MOVED = 0.02  # [-] by which a bar has to move to be told: else one step ends where the next begins


def moved_between(last: Step | None, step: Step) -> str:
    """Sentences on what moved a suspect's bar since the step before; "" where nothing worth a word did.

    Examples
    --------
    >>> from types import SimpleNamespace as Stand
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> belief = Belief(hypothesis_set(load_rig("osier"), standard_site(), ["belt_loose", "drain_open"]))
    >>> ran_on = belief.update_restart(1, 100.0, None)
    >>> moved_between(Stand(after=belief), Stand(before=belief))
    ''
    >>> moved_between(Stand(after=belief), Stand(before=ran_on)).partition(". ")[0]
    'The pump ran on between the last step and this one, and that moved the bars'
    """
    if last is None:
        return ""
    was, now = last.after.by_fault(), step.before.by_fault()
    apart = {name: abs(now.get(name, 0.0) - was.get(name, 0.0)) for name in {**was, **now}}
    named = sorted((name for name in apart if apart[name] >= MOVED), key=lambda name: -apart[name])[:NAMED]
    if not named:
        return ""
    said = [text(f"marking.steps.between_{_cause(last.after, step.before)}")]
    for name in named:
        fields = {"before": chance_words(was.get(name, 0.0)), "after": chance_words(now.get(name, 0.0))}
        said.append(text("marking.steps.between_moved", suspect=fault_name(name), **fields))
    return " ".join(said)


def _cause(was: Belief, now: Belief) -> str:
    """Why a belief is another one than after the step before: a key under ``marking.steps.between_``."""
    if was.cases is not now.cases:
        two = any(here.second is not None for here in now.cases.hypotheses)
        return "two" if two else "late" if went_bad(now) else "weed"
    return "ran" if _seconds(was) != _seconds(now) else "anew"


def _seconds(belief: Belief) -> list[tuple[int, float]]:
    """For how long [s] each start has been watched."""
    return [(start.run, start.watched) for start in belief.starts]
