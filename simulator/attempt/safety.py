"""What an act waits for, how grave it is to try it without, and why: read off the table of safe work.

An attempt keeps to the version of the rules that it was begun under. Local rules and qualified people come first.

Throughout: ``state`` is the attempt as it stands, ``yard`` the part of it that hands and eyes changed; ``action`` and
``args`` name an act as a click does, ``act`` is the same act as it stands on the rig; ``lacking`` are the needs that
are not met.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from simulator.attempt.safety_rules_1 import NOT_SAFETY, grade_before
from simulator.attempt.state import AttemptState
from simulator.attempt.yard import PRECAUTIONS, Yard
from simulator.rig import safe_work
from simulator.texts import text

GRADES = ("minor", "serious", "grave")
BREACH = dict(zip(safe_work.HARMS, GRADES, strict=True))
#: Places behind a guard or a lid: to start with one of them open is grave.
GUARDED = ("belt", "nrv", "screen", "nozzle", "float", "seal", "impeller")
#: Acts that are done on a rig as it stands or runs; and what is near at any of them with no gear on.
ON_THE_RIG, IN_THE_YARD = (safe_work.CHECKS, safe_work.REMEDIES), "yard"
#: Needs that the lesson adds to those of the table.
_BY_THE_LESSON = {"start_engine": ("question",), "finish": ("first_call",)}


@dataclass(frozen=True)
class ActHere:
    """An act of the table as it stands on this rig: ``kind`` and ``name`` there, ``here`` the conditions that hold,
    ``version`` of the rules; ``kind`` "" for an act that can hurt nobody."""

    kind: str
    name: str
    here: frozenset[str]
    version: int

    def needs(self) -> tuple[str, ...]:
        """The states of the table that it waits for.

        Examples
        --------
        >>> ActHere("checks", "nozzle_out", frozenset(), 2).needs()
        ('ppe', 'isolated', 'air_bled')
        """
        if not self.kind:
            return ()
        return safe_work.needs(self.kind, self.name, self.here, version=self.version)


def act_here(state: AttemptState, action: str, args: dict[str, Any]) -> ActHere:
    """The act that a click names, as it stands on the rig of an attempt."""
    kind, name = "", action
    if action == "check":
        kind, name = safe_work.CHECKS, str(args.get("check", ""))
    elif action == "remedy":
        kind, name = safe_work.REMEDIES, str(args.get("remedy", ""))
    else:
        kind = next((k for k in ("engine", "safe") if action in safe_work.table().acts[k]), "")  # type: ignore[index]
    case = state.case
    here = safe_work.conditions(
        case.sound_rig, case.sound_site, str(args.get("place", "")), version=state.yard.rules
    )
    return ActHere(kind, name, here, state.yard.rules)


def undo(state: AttemptState, remedy: str, found: str) -> list[str]:
    """Take back the precautions that work undid, so that what comes next waits for them anew: those that held.

    Parameters
    ----------
    remedy, found : the work, and what the hands found.
    """
    yard = state.yard
    states = safe_work.undone(safe_work.REMEDIES, remedy, found, version=yard.rules)
    held = [name for name in states if yard.has(name)]
    for name in held:
        setattr(yard, name, False)
    return held


def added_needs(action: str) -> tuple[str, ...]:
    """What the lesson asks for before an act, beside what protects.

    Examples
    --------
    >>> added_needs("finish"), added_needs("wait")
    (('first_call',), ())
    """
    return _BY_THE_LESSON.get(action, ())


def missing(needs: tuple[str, ...], yard: Yard) -> list[str]:
    """The needs that are not met, in order; one that another covers is left out.

    Examples
    --------
    >>> missing(("ppe", "isolated", "stopped"), Yard())
    ['ppe', 'isolated']
    """
    out = [need for need in needs if not yard.has(need)]
    if "isolated" in out and "stopped" in out:
        out.remove("stopped")
    return out


def dangers(lacking: Sequence[str], act: ActHere) -> tuple[str, ...]:
    """The dangers that nothing protects from while these needs are lacking.

    Examples
    --------
    >>> dangers(["air_bled"], ActHere("checks", "nozzle_out", frozenset(), 2))
    ('air_pressed',)
    """
    return safe_work.lacking_dangers(act.kind, act.name, lacking, act.here) if act.kind else ()


def grade(lacking: list[str], yard: Yard, act: ActHere) -> str:
    """How grave it is to try an act that lacks these needs: "", "minor", "serious" or "grave".

    The table says so for each danger. To start with a part open behind which something turns, or with a tag on, is
    grave; with nothing but a hose joint open it is serious. What makes safe is refused, never a breach.

    Examples
    --------
    >>> belt = ActHere("checks", "belt", frozenset(), 2)
    >>> grade(["ppe"], Yard(), belt), grade(["isolated"], Yard(engine_on=True), belt)
    ('minor', 'grave')
    >>> grade(["stopped"], Yard(engine_on=True), ActHere("safe", "bleed_air", frozenset(), 2))
    ''
    """
    if act.name in PRECAUTIONS:
        return ""
    if yard.rules == 1:
        return grade_before(lacking, yard, GUARDED)
    worst = -1
    for name in dangers(lacking, act):
        harm = safe_work.table().dangers[name].harm_of(yard.engine_on)
        guarded_open = bool(set(yard.opened) & set(GUARDED))
        if name == "somebody_at_it":
            harm = "grave" if yard.tagged or guarded_open else "serious"
        elif name == "test_run" and "closed_up" in lacking and guarded_open:
            harm = "grave"
        worst = max(worst, safe_work.HARMS.index(harm))
    return GRADES[worst] if worst >= 0 else ""


def worst_danger(lacking: list[str], yard: Yard, act: ActHere) -> str:
    """The gravest danger that nothing protects from; "" where it is no matter of safety.

    Examples
    --------
    >>> worst_danger(["ppe", "air_bled"], Yard(), ActHere("checks", "nozzle_out", frozenset(), 2))
    'air_pressed'

    Beside a rig that stands nothing turns and nothing burns:

    >>> worst_danger(["ppe"], Yard(), ActHere("checks", "walk_round", frozenset(), 2))
    'edge_near'
    """
    found, levels = dangers(lacking, act), safe_work.HARMS
    stands = act.kind in ON_THE_RIG and not yard.engine_on
    if found and stands and safe_work.act_of(act.kind, act.name).engine != "running":
        known = safe_work.table().dangers
        found = tuple(name for name in found if not known[name].turning) or (IN_THE_YARD,)
    return max(
        found,
        key=lambda name: levels.index(safe_work.table().dangers[name].harm_of(yard.engine_on)),
        default="",
    )


def need_keys(lacking: Sequence[str], yard: Yard, act: ActHere) -> list[str]:
    """The keys of the sentences that say what an act waits for: only what is so (no tag off where none hangs).

    Examples
    --------
    >>> start = ActHere("engine", "start_engine", frozenset(), 2)
    >>> need_keys(["free_to_start"], Yard(opened=["joint:1"]), start)
    ['close_up_first']
    >>> test = ActHere("checks", "receiver_test", frozenset(), 2)
    >>> need_keys(["closed_up"], Yard(tagged=True, opened=["belt"]), test)  # to close up takes the tag off
    ['closed_up_then_tag']
    """
    out = []
    for need in lacking:
        key = need
        if need == "free_to_start" and yard.opened:
            key = "free_to_start_open" if yard.tagged or yard.rules == 1 else "close_up_first"
        elif need == "closed_up" and yard.tagged and yard.rules > 1:
            key = "closed_up_then_tag"
        elif act.kind and yard.rules > 1 and need not in NOT_SAFETY:
            key = safe_work.need_key(need, act.kind, act.name, act.here)
        out.append(key)
    return out


def waits(lacking: Sequence[str], yard: Yard, act: ActHere) -> list[str]:
    """The sentences that say what an act waits for. Who has made no call yet is not asked for a second one.

    Examples
    --------
    >>> mend = ActHere("remedies", "close_drain", frozenset(), 2)
    >>> waits(["second_call"], Yard(), mend), waits(["second_call"], Yard(calls=[{}]), mend)
    (['Your call made, before the first mending.'], ['Your second call made, before the first mending.'])
    """
    keys = need_keys(lacking, yard, act)
    return [
        text(f"attempt.needs.{'call' if key == 'second_call' and not yard.calls else key}") for key in keys
    ]
