"""Starts that the page warned of at that moment: a debrief praises none of them, whatever an expert would have done.

Throughout: ``step`` is a start that was watched; ``story`` what the attempt holds.
"""

from __future__ import annotations

from typing import Any

from simulator.diagnosis.evidence import Step, Story
from simulator.diagnosis.option import REMEDY, Option
from simulator.instruments.checks import CHECKS
from simulator.rig.remedies import REMEDIES


def warned_of(step: Step, story: Story, *, dry: bool) -> str:
    """What the page warned of: "" for nothing; slow (the lever at half speed), full (water in the hose at a start that
    was to be a proof), vain (nothing put right since the start before) or dry (it should have been stopped).

    Parameters
    ----------
    dry : whether it ran on long without water.

    Examples
    --------
    >>> from types import SimpleNamespace as Log
    >>> start = {"act": "start_engine", "accepted": True, "result": {"speed": "slow"}, "notes": []}
    >>> warned_of(Log(seq=0), Log(log=(start,)), dry=True)
    'slow'
    """
    event = story.log[step.seq]
    if event["result"].get("speed") == "slow":
        return "slow"
    since = [each for each in story.log[: step.seq] if each["accepted"]]
    works = [each for each in since if "finding" in each["result"]]
    if works and any(note["key"] == "attempt.did.start_from_full" for note in event["notes"]):
        return "full"
    starts = [number for number, each in enumerate(since) if each["act"] == "start_engine"]
    if starts and _in_vain([each for each in since[starts[-1] :] if "finding" in each["result"]]):
        return "vain"
    return "dry" if dry else ""


def found_before(step: Step, story: Story) -> Option | None:
    """The work that a look before the start called for and that was still to be done; None where there was none.

    Parameters
    ----------
    step, story : as above.
    """
    open_work: dict[tuple[str, str], Option] = {}
    for event in story.log[: step.seq]:
        if not event["accepted"]:
            continue
        result = event["result"]
        place = str(result.get("place") or "")
        if event["act"] == "check":
            work = dict(CHECKS[result["check"]].calls_for).get(result["outcome"], "")
            if work:
                open_work[work, place] = Option(REMEDY, work, place, REMEDIES[work].minutes)
        elif "finding" in result:
            done = REMEDIES[result["remedy"]]
            for key in [key for key in open_work if _settles(done.id, place, *key)]:
                del open_work[key]
    return next(iter(open_work.values()), None)


def _settles(done: str, at: str, work: str, place: str) -> bool:
    """Whether work done at a place settles what another was called for: the same part, of several alike the same one."""
    return REMEDIES[done].part == REMEDIES[work].part and (at == place or ":" not in place)


def _in_vain(works: list[dict[str, Any]]) -> bool:
    """Whether there were works, and who did them could see that none put anything right."""
    return bool(works) and all(
        REMEDIES[str(each["result"]["remedy"])].seen_in_vain(str(each["result"]["finding"])) for each in works
    )
