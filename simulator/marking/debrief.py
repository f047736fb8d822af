"""The debrief: marks with their evidence, every step with what it told and what an expert would have done,
three curves.

Throughout: ``story`` is what an attempt holds; ``cases`` are the hypotheses of the rig in good order; ``units`` is a
unit system; ``item`` a step as it was judged; ``step`` a step and ``run`` the number of its run; ``end`` the belief
at the end; ``faults`` are what was wrong; ``value`` is a number.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from simulator.attempt.calls import BLANK_QUESTION, PRIME_QUESTION, SOMETHING_ELSE
from simulator.attempt.hint_costs import kept_share
from simulator.attempt.hints import hint_steps
from simulator.attempt.notes import clock_words, figure, render
from simulator.attempt.open_parts import NOTHING_OFF, minutes_now, saved_minutes
from simulator.charts.curves import curve_figure
from simulator.diagnosis.belief import Belief, Start
from simulator.diagnosis.ending import FAILED_ENDS
from simulator.diagnosis.evidence import RunSeen, Step, Story
from simulator.diagnosis.hypotheses import Hypothesis
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.option import CHECK, REMEDY, Option
from simulator.diagnosis.outlook import EVERY, SPAN, which_way
from simulator.diagnosis.second_trouble import found_bad
from simulator.diagnosis.words import (
    SURE,
    fault_name,
    joint_field,
    mended_chance,
    minutes_words,
    option_label,
    told_label,
    what_changed,
)
from simulator.instruments.checks import CHECKS
from simulator.instruments.checks_from_outside import static_lift
from simulator.instruments.gauges import GAUGES, needle
from simulator.marking.between_steps import moved_between
from simulator.marking.dry_running import DryRun, dry_at, dry_runs
from simulator.marking.economy import SLACK, Judged, called_for, told_better, waited
from simulator.marking.found import CERTAINTY
from simulator.marking.mark import Marked
from simulator.marking.rig_state import run_of
from simulator.marking.sheet import ECONOMY, FOUND, MarkSheet, weights
from simulator.marking.telling_sign import needle_words, telling_sign
from simulator.marking.warned import found_before, warned_of
from simulator.rig.faults import FAULTS
from simulator.rig.parts import GaugeState
from simulator.rig.rig import Rig, Site
from simulator.texts import entry, knows, text
from simulator.units import SYSTEMS, UNITS

SHOWN = 0.03  # [-] chance from which a suspect is listed
MAX_SHOWN = 5
NEAR = 0.08  # [-] of a good rig's figure, or
STANDS, RISES = 10, 0.5e3  # [s] in which a needle that stands climbs by less than this [Pa]
SHAKE = 4  # [s] over which a needle is read where two moments are compared
TURNED = 0.1e5  # [Pa] by which a discharge needle has plainly gone: a mark of a usual gauge
BITES = 15.0  # [s] after the prime in which the needles swing, while the discharge line fills
NEAR_VACUUM = 2e3  # [Pa], within which a needle counts as the same
USUAL_MOTIVE = (
    0.15  # [-] by which motive gauges and rigs differ: beyond it is high or low, as lesson 05 has it
)
ODD_NEEDLE = 0.5  # [-] of what a good rig shows, below which a needle is odd where the pump took its prime in good time
ODD_LOOK = 0.05  # [-] chance of what a look showed, below which it fits none of the likely suspects
HINTED = 0.4  # [-] of what was earned that hints took, from which doing without them is what to practise
WEAK = 0.6  # [-] share of a part's points below which it is worth practising


def debrief_of(story: Story, cases: HypothesisSet, marked: Marked, units: str = "metric") -> dict[str, Any]:
    """The debrief as plain data for a page.

    Parameters
    ----------
    story, cases, marked : of the same attempt.
    units : "metric" or "us".
    """
    sheet, dry = marked.sheet, dry_runs(story, marked.trail)
    return {
        "total": sheet.total,
        "out_of": sheet.out_of,
        "passed": sheet.passed,
        "gate": text("marking.gate.grave") if sheet.grave else "",
        "version": sheet.version,
        "model": sheet.model,
        "parts": [
            {
                "id": part.id,
                "label": part.label,
                "points": part.points,
                "out_of": part.out_of,
                "evidence": [item.sentence for item in part.evidence],
                "evidence_points": in_tenths([item.points for item in part.evidence], part.points),
            }
            for part in sheet.parts
        ],
        "steps": [
            step_words(
                item, story, cases, units, dry, then.step if then else None, last.step if last else None
            )
            for last, item, then in zip(
                (None, *marked.judged), marked.judged, (*marked.judged[1:], None), strict=False
            )
        ],
        "curves": curves(story, marked.trail.end),
        "truth": truth_words(story),
        "truth_names": [fault_name(name) for name in story.fault_ids],
        "practise": practise(story, marked),
    }


def in_tenths(points: Sequence[float], total: float | None) -> list[float]:
    """Points [-] as they are shown, in tenths that add up to the total shown: the largest remainders round up.

    Parameters
    ----------
    points : of each reason, unrounded.
    total : of the part; None where it does not count.

    Examples
    --------
    >>> in_tenths([40.0, -6.34, -2.54, -0.84], 30.3)
    [40.0, -6.3, -2.5, -0.9]
    """
    tenths = [math.floor(10.0 * value + 1e-9) for value in points]
    whole = round(10.0 * (sum(points) if total is None else total))
    spare = sorted(range(len(points)), key=lambda n: tenths[n] - 10.0 * points[n])
    for number in range(max(whole - sum(tenths), 0)):
        tenths[spare[number % len(spare)]] += 1
    return [value / 10.0 for value in tenths]


def step_words(
    item: Judged,
    story: Story,
    cases: HypothesisSet,
    units: str,
    dry: Sequence[DryRun] = (),
    then: Step | None = None,
    last: Step | None = None,
) -> dict[str, Any]:
    """One step: what was done and read, the belief before and after, the expert's choice and why.

    Parameters
    ----------
    dry : starts that ran long without water.
    then, last : what was done next, and before.
    """
    step = item.step
    event = story.log[step.seq]
    reading = sign = ""
    act = option_label(step.option)
    if step.option.kind == "watch":
        act = did = text("marking.steps.watched")
        reading = reading_words(step, story, cases, event["result"]["run"], units)
        ran = dry_at(dry, step.seq)
        sign = telling_sign(step, story.runs[event["result"]["run"]], units)
        long_dry = text("marking.steps.ran_dry", minutes=minutes_words(ran.dry)) if ran else ""
        did = " ".join(part for part in (did, reading, long_dry) if part)
    else:
        did = " ".join(render(note, units) for note in event["notes"]) or option_label(step.option)
        reading = did
    before, after = step.before.by_fault(), step.after.by_fault()
    names = sorted(before, key=lambda name: -max(before[name], after[name]))
    names = [name for name in names if max(before[name], after[name]) >= SHOWN][:MAX_SHOWN]
    if step.after.proved:  # it is proven: what might come later is no suspect of this call
        names = []
    since = moved_between(last, step) if names else ""
    same, why = item.same, item.reason
    found = found_before(step, story) if step.option.kind == "watch" else None
    warned = (
        warned_of(step, story, dry=dry_at(dry, step.seq) is not None)
        if same and step.option.kind == "watch"
        else ""
    )
    if item.ran_on_for is not None and warned == "vain":
        warned = ""  # it was started for a look, not to see what the work had done
    if found is not None:
        why = text("marking.steps.warned_found_why")
    elif first_found(item):
        why = text("marking.steps.expert_found_why")
    if item.lost > 0.0:
        key = "too_long" if same else "lost_again" if item.again > SLACK else "lost"
        key = f"marking.steps.{key}"
        why = f"{why} {text(key, minutes=minutes_words(item.lost))}"
    saved = less_when_open(story, item)
    if saved:
        why = f"{why} {saved}"
    return {
        "clock": clock_words(round(step.clock * 10.0)),
        "act": act.rstrip("."),
        "did": did,
        "reading": reading,
        "changed": " ".join(part for part in (since, what_it_told(item, then), sign) if part),
        "before": [[fault_name(name), round(before[name], 4)] for name in names],
        "after": [[fault_name(name), round(after[name], 4)] for name in names],
        "expert": option_label(found)
        if found is not None
        else text("marking.steps.the_same")
        if same or first_found(item)
        else option_label(item.better),
        "expert_line": expert_line(item, found, warned),
        "same": same and found is None and not warned,
        "why": why,
        "lost_minutes": round(item.lost, 2),
    }


def expert_line(item: Judged, found: Option | None, warned: str) -> str:
    """What an expert would have done, as a sentence.

    Parameters
    ----------
    found : work that a look before a start had called for.
    warned : what the page warned of at a start, as :func:`~simulator.marking.warned.warned_of` names it.
    """
    if found is not None:
        return text("marking.steps.warned_found", act=told_label(found))
    if warned:
        return text(f"marking.steps.warned_{warned}")
    if first_found(item):
        return text("marking.steps.expert_found")
    if item.same:
        return text(f"marking.steps.expert_{'too_long' if item.lost > 0.0 else 'same'}")
    if item.too_late:
        return text("marking.steps.expert_too_late")
    as_well = item.lost <= 0.0 and item.step.option.kind == item.better.kind == CHECK
    return text(f"marking.steps.expert_{'as_well' if as_well else 'other'}", act=told_better(item))


def first_found(item: Judged) -> bool:
    """Whether a step is work that a look had called for, though an expert would have gone on another way: what is found
    comes first."""
    return not item.same and item.lost <= 0.0 and called_for(item.step)


def less_when_open(story: Story, item: Judged) -> str:
    """That the work which was best takes fewer minutes, its part being open already; "" where it is not."""
    best = item.better
    opened: set[str] = set()
    for event in story.log[: item.step.seq]:
        if not event["accepted"]:
            continue
        if event["act"] in ("start_engine", "untag_and_close_up"):
            opened.clear()
        elif event["act"] == "check":
            check = CHECKS[event["result"]["check"]]
            if check.opens and check.id not in NOTHING_OFF:
                opened.add(event["result"].get("place") or check.place)
    if best.kind != REMEDY or not saved_minutes(best.id, best.place, opened):
        return ""
    return text("marking.steps.open_already", minutes=minutes_words(minutes_now(best.id, best.place, opened)))


def what_it_told(item: Judged, then: Step | None = None) -> str:
    """What a step told; where that was nothing, and an old hand would have done the same, that it was right all the same.

    Parameters
    ----------
    then : what was done next.
    """
    said = told_by(item.step, then)
    if item.same and item.step.option.kind in (CHECK, "watch") and said == text("diagnosis.changed.nothing"):
        return text("diagnosis.changed.still_right")
    return said


def told_by(step: Step, then: Step | None = None) -> str:
    """What a step told. A start that was not from dry tells little by its time, but that it pumped badly tells a lot; one
    made for a look at the running rig is told by that look.

    Parameters
    ----------
    then : what was done next.
    """
    said = what_changed(step.before, step.after)
    new = step.after.starts[len(step.before.starts) :]
    if step.option.kind == "watch" and new and new[-1].proof and then is not None:
        later = [start for start in then.before.starts if start.run == new[-1].run]
        if later and later[-1].end in FAILED_ENDS:
            return text("diagnosis.changed.proof_lost")
    if found_bad(step) and said == text("diagnosis.changed.nothing"):
        return text("diagnosis.changed.one_mended")
    if step.option.kind == CHECK and said == text("diagnosis.changed.nothing"):
        if _surprised(step):
            return text("diagnosis.changed.odd")
        if _seen_bad(step):
            return text("diagnosis.changed.seen")
    if step.option.kind != "watch" or said != text("diagnosis.changed.nothing"):
        return said
    if any(start.end in FAILED_ENDS for start in new):
        return text("diagnosis.changed.still_wrong")
    if then is not None and then.option.kind == CHECK and "running" in CHECKS[then.option.id].needs:
        return text("diagnosis.changed.for_a_look", look=option_label(then.option))
    return text("diagnosis.changed.warm") if new and all(start.warm for start in new) else said


def _seen_bad(step: Step) -> bool:
    """Whether a look showed something that calls for work: however sure one was, now it is seen."""
    (*_, seen) = step.after.looks
    return bool(dict(CHECKS[seen.check].calls_for).get(seen.outcome))


def _surprised(step: Step) -> bool:
    """Whether a look showed what hardly any of the likely suspects shows."""
    (*_, seen) = step.after.looks
    chances = seen.chances[:, CHECKS[seen.check].outcomes.index(seen.outcome)]
    return float(step.before.weights @ chances) < ODD_LOOK


def reading_words(step: Step, story: Story, cases: HypothesisSet, run: int, units: str) -> str:
    """What the needles said in a watched start, beside a good rig at the same moment."""
    starts = [start for start in step.after.starts if start.run == run]
    seen = story.runs[run]
    if not starts or not seen.plain:
        primed = any(start.primed_at is not None for start in starts)
        return text("marking.steps.primed" if primed else "marking.steps.not_primed") if starts else ""
    until = starts[0].watched
    said = []
    if starts[0].primed_at is not None:
        said.append(text("marking.steps.primed_at", seconds=round(starts[0].primed_at)))
        said += _since_its_prime(starts[0], seen, units)
        until = max(starts[0].primed_at - 5.0, 0.0)
    sound_prime = float(cases.prime_times[0])
    at = int(
        min(until, SPAN, sound_prime - 5.0 if np.isfinite(sound_prime) else SPAN, seen.needles.shape[1] - 1)
    )
    if at < 2:
        return " ".join(said)
    for number, name in enumerate(("suction", "motive")):
        value, good = float(seen.needles[number, at]), float(cases.needles[0, number, at])
        if not np.isfinite(value):
            continue
        slack = max(NEAR * abs(good), NEAR_VACUUM if name == "suction" else NEAR * abs(good))
        word = "same" if abs(value - good) <= slack else "more" if value > good else "less"
        odd = starts[0].proof and (word != "same" if name == "motive" else value < ODD_NEEDLE * good)
        if name == "motive" and word != "same" and abs(value - good) <= USUAL_MOTIVE * abs(good):
            word = f"bit_{word}"
        elif odd:
            word = "odd"
        fields = {"shown": needle_words(name, value, units), "good": needle_words(name, good, units)}
        said.append(text(f"marking.steps.{name}_{word}", seconds=at, **fields))
    last = int(min(until, SPAN, seen.needles.shape[1] - 1))
    lift = static_lift(story.sound[1])
    if starts[0].primed_at is None and last > at:
        level = float(seen.needles[0, last])
        fields = {"shown": needle_words("suction", level, units), "lift": figure("vacuum", lift, units)}
        # Over some seconds: a needle trembles, and a shake up must not be told as a rise.
        now, before = (
            float(np.mean(seen.needles[0, max(n - SHAKE, 0) : n + 1])) for n in (last, max(last - STANDS, 0))
        )
        word = on_its_way(now - before, level, lift) or beside_the_lift(level, lift)
        said.append(text(f"marking.steps.end_{word}", seconds=last, **fields))
    return " ".join(said)


def on_its_way(gone: float, level: float, lift: float) -> str:
    """How a needle that does not stand is told; "" where it stands. Where it will stand is not told yet, but one that is
    above the static lift [Pa] already says that the water is held back.

    Parameters
    ----------
    gone : what it has moved in the last STANDS seconds [Pa].
    level : where it is [Pa].

    Examples
    --------
    >>> [on_its_way(gone, level, 29e3) for gone, level in ((2e3, 20e3), (2e3, 80e3), (-2e3, 20e3), (0.2e3, 80e3))]
    ['rising', 'above_rising', 'falling', '']
    """
    if abs(gone) <= RISES:
        return ""
    if gone < 0.0:
        return "falling"
    return "rising" if level < lift + 2.0 * NEAR_VACUUM else "above_rising"


def beside_the_lift(level: float, lift: float) -> str:
    """How a needle that stands is told beside the static lift [Pa]: a little off it can be the gauge.

    Examples
    --------
    >>> [beside_the_lift(level, 21e3) for level in (14e3, 17.5e3, 20e3, 24.5e3, 40e3)]
    ['below', 'little_below', 'at', 'little_above', 'above']
    """
    side = "above" if level > lift else "below"
    off = abs(level - lift)
    return "at" if off <= NEAR_VACUUM else side if off > 2.0 * NEAR_VACUUM else f"little_{side}"


def _since_its_prime(start: Start, seen: RunSeen, units: str) -> list[str]:
    """How a start that did not go on well went on, and from where to where its needles have gone since it last did."""
    if start.end not in ("pumps_badly", "lost_prime"):
        return []
    last = min(int(start.watched), seen.needles.shape[1] - 1)
    well = seen.last_well(start.watched)
    since = int(seen.prime_time + BITES) if well is None else well
    said = [] if well is None else [text("marking.steps.well_up_to", seconds=well)]
    said.append(
        text(f"marking.steps.{start.end if well is None or start.end == 'lost_prime' else 'then_badly'}")
    )
    if since >= last or len(seen.discharge) <= last:
        return [
            *said,
            text(
                "marking.steps.needle_shows",
                shown=needle_words("suction", float(seen.needles[0, last]), units),
            ),
        ]
    said.append(
        text(
            "marking.steps.since_seconds" if well is None else "marking.steps.since_then",
            seconds=since,
            suction=_way_gone("suction", float(seen.needles[0, since]), float(seen.needles[0, last]), units),
            discharge=_way_gone("discharge", seen.discharge[since], seen.discharge[last], units),
        )
    )
    way = which_way(seen.needles[0], seen.prime_time, last, float(since))
    gone = float(seen.discharge[last] - seen.discharge[since])
    means = what_it_means(way, gone, lost=start.end == "lost_prime")
    return [*said, text(f"marking.steps.means_{means}")] if means else said


def what_it_means(way: int, discharge: float, *, lost: bool) -> str:
    """What both needles and the water say together, as lesson 08 has it: a key under ``marking.steps.means_``; "" where
    the suction needle has gone nowhere.

    Parameters
    ----------
    way : of the suction needle since it pumped well: 1 up, -1 down, 0 neither.
    discharge : by how much the discharge needle has gone [Pa].
    lost : whether next to no water comes.

    Examples
    --------
    >>> [what_it_means(1, -0.5e5, lost=lost) for lost in (True, False)], what_it_means(1, 0.0, lost=False)
    (['up_lost', 'up_fell'], 'up')
    >>> what_it_means(-1, -0.5e5, lost=True), what_it_means(-1, 0.5e5, lost=False), what_it_means(0, 0.0, lost=False)
    ('down_lost', 'down_rose', '')
    """
    if way == 0:
        return ""
    if way < 0 and discharge > TURNED:
        return "down_rose"
    if lost:
        return "up_lost" if way > 0 else "down_lost"
    if way > 0:
        return "up_fell" if discharge < -TURNED else "up"
    return "down"


def _way_gone(gauge: str, before: float, after: float, units: str) -> str:
    """From where to where a needle has gone [Pa], or that it stayed."""
    was, shown = (needle_words(gauge, value, units) for value in (before, after))
    key = "stayed" if was == shown else "went"
    return text(f"marking.steps.{key}", was=was, shown=shown)


def curves(story: Story, end: Belief) -> dict[str, Any]:
    """Vacuum against time [[s, Pa], ...] of the true rig, of the trainee's suspect and of a good rig."""
    cases = end.cases
    out: dict[str, Any] = {"true": _curve(*story.true), "sound": _curve(*story.sound), "suspect": None}
    labels = {"true": text("marking.curves.this_rig", fault=_truth_names(story))}
    calls = [
        event["result"]["markers"] for event in story.log if event["act"] == "call" and event["accepted"]
    ]
    if calls:
        named = {
            name: count
            for name, count in calls[-1].items()
            if name != SOMETHING_ELSE and name in cases.faults
        }
        suspect = max(named, key=lambda name: named[name]) if named else ""
        same = story.fault_ids == (suspect,)
        # Rightly called sound, or right before any needle told how bad: its curve stands there already.
        if suspect and not (same and (not story.faults or _untold(end))):
            weights = Belief(cases, end.readings).weights * (cases.fault_index == cases.faults.index(suspect))
            likeliest = int(np.argmax(weights))
            out["suspect"] = _curve(*cases.situations.rows[int(cases.situations.start[likeliest])])
            labels["suspect"] = text("marking.curves.suspect", fault=fault_name(suspect))
            if same:  # what differs is its size or place, as the gauges have it
                labels = _told_apart(story, cases.hypotheses[likeliest])
    out["labels"] = labels
    out["static_lift_pa"] = round(static_lift(story.sound[1]))
    out["figures"] = {units: curve_figure(_chart(out, units)) for units in SYSTEMS}
    return out


def _untold(end: Belief) -> bool:
    """Whether no needle was read while the rig was as it was found."""
    return not any(np.array_equal(one.rows, end.cases.situations.start) for one in end.readings)


def _told_apart(story: Story, guess: Hypothesis) -> dict[str, str]:
    """Labels of the true curve and of a suspect of the same name, by how bad each is and where."""
    size = FAULTS[guess.fault].size
    as_file = {} if size is None else {size.key: size.in_file(guess.size)}
    true = how_bad(story.faults[0])
    here = how_bad({"fault": guess.fault, "place": guess.place, **as_file})
    told = text(
        "marking.curves.suspect_same" if here == true else "marking.curves.suspect_size",
        size=here.rstrip("."),
    )
    return {"true": text("marking.curves.this_rig", fault=true.rstrip(".")), "suspect": told}


def _chart(curves: Mapping[str, Any], units: str) -> dict[str, Any]:
    """The curves as a chart in one system of units; they are sent in both, for the switch is the page's own."""
    unit = UNITS[SYSTEMS[units]["vacuum"]]
    words = "panel.debrief"
    lines = [
        {
            "style": style,
            "label": curves["labels"].get(kind) or text(f"{words}.curve_{kind}"),
            "points": curves[kind],
        }
        for kind, style in (("true", "main"), ("sound", "other"), ("suspect", "third"))
        if curves[kind]
    ]
    lift = float(curves["static_lift_pa"])
    highest = max(point[1] for line in lines for point in line["points"])
    return {
        "lines": lines,
        "levels": [{"pa": lift, "label": text(f"{words}.curve_lift")}] if lift > 0.0 else [],
        "unit": {"name": unit.name, "size": unit.size},
        "span_s": SPAN,
        "high_pa": max(highest, 4e4, 1.1 * lift),
        "axis_x": text(f"{words}.curves_x"),
        "axis_y": text(f"{words}.curves_title", unit=unit.name),
        "spoken": text(f"{words}.curves_spoken"),
    }


def _curve(rig: Rig, site: Site) -> list[list[float]]:
    run = run_of(rig, site)
    shown = needle(run, GAUGES["suction"], GaugeState(), 0, tremble=False)[::EVERY]
    return [[float(second), round(float(shown[second]))] for second in range(int(SPAN) + 1)]


def _truth_names(story: Story) -> str:
    return text("diagnosis.and").join(fault_name(name) for name in story.fault_ids)


def truth_words(story: Story) -> str:
    """What was wrong, how bad and where, in words."""
    return truth_of(story.faults)


def truth_of(faults: Sequence[Mapping[str, Any]]) -> str:
    """Faults as :meth:`Scenario.what_is_wrong` gives them, in words.

    Examples
    --------
    >>> truth_of(())
    'Nothing was wrong. The rig is in good order. It takes as long as its hose and lift need.'
    >>> late = {"fault": "joint_ring", "place": "joint:0", "hole_diameter_mm": 11.0, "start_s": 40.0, "end_s": 340.0}
    >>> truth_of([late]).partition("from the water. ")[2]
    'At each start it came after 40 s, and was as bad as this after 340 s.'
    """
    if not faults:
        return text("marking.truth.sound")
    return " ".join(_one_truth(item) for item in faults)


def _one_truth(item: Mapping[str, Any]) -> str:
    said = text("marking.truth.fault", fault=fault_name(item["fault"]), size=how_bad(item))
    if item.get("end_s") is None:
        return said
    start, end = (f"{float(item[key]):.0f}" for key in ("start_s", "end_s"))
    return f"{said} " + text("marking.truth.late", start=start, end=end)


def how_bad(item: Mapping[str, Any]) -> str:
    """How bad a fault is, and where, as a sentence; ``item`` as :meth:`Scenario.what_is_wrong` gives it.

    Examples
    --------
    >>> how_bad({"fault": "belt_loose", "slip_percent": 62.0}), how_bad({"fault": "belt_loose", "slip_percent": 100.0})
    ('The belt slipped by 62 %.', 'The belt was gone.')
    """
    name, size = item["fault"], FAULTS[item["fault"]].size
    value = float(item[size.key]) if size is not None else 0.0
    fields = joint_field(item.get("place", ""))
    gone = size is not None and size.end_share > 0.0 and value >= size.in_file(size.large)
    told = "truth_all" if gone and knows(f"faults.{name}.truth_all") else "truth"
    return text(f"faults.{name}.{told}", n=told_size(value), **fields)


def told_size(value: float) -> str:
    """A size as people say it: two figures, three where the last percent tells.

    Examples
    --------
    >>> told_size(6.87), told_size(52.4), told_size(99.43), told_size(120.0)
    ('6.9', '52', '99.4', '120')
    """
    figures = 3 if 95.0 < value < 100.0 else 2
    return f"{float(f'{value:.{figures}g}'):g}"


def practise(story: Story, marked: Marked) -> str:
    """The one thing to practise next: safety first, then what cost most.

    Parameters
    ----------
    story, marked : of the same attempt.
    """
    sheet = marked.sheet
    breaches = [event["result"].get("hazard", "") for event in story.log if event["breach"]]
    if any(hazard != "ran_dry" for hazard in breaches):
        return _practise_safety(story)
    if breaches or any(run.charged for run in dry_runs(story, marked.trail)):
        return text("marking.practise.dry")
    lost = {
        part.id: 1.0 - (part.points or 0.0) / part.out_of
        for part in sheet.parts
        if part.points is not None and part.out_of > 0.0
    }
    if 1.0 - kept_share(hint_steps(story.log)) > HINTED and story.ended == "finished":
        return text("marking.practise.hinted")
    worst = max(lost, key=lambda name: lost[name] * weights()[name], default="")
    if not worst or (lost[worst] < 1.0 - WEAK and worst != ECONOMY) or lost[worst] < 0.2:
        return text("marking.practise.harder")
    vain = [e for part in sheet.parts for e in part.evidence if e.key.endswith("found.not_needed")]
    dearest = max(marked.judged, key=lambda judged: judged.lost, default=None)
    guessed = dearest is not None and dearest.step.option.kind == REMEDY and dearest.lost > SLACK
    if worst == FOUND and vain and guessed and story.ended == "finished":
        worst = ECONOMY  # work on a guess: markers are not what to practise
    if worst == ECONOMY:
        if story.ended != "finished":
            return text("marking.practise.see_it_through")
        if dearest is None or dearest.lost <= 0.0:
            return text(f"marking.practise.{'waited' if waited(story) > SLACK else 'harder'}")
        return text(f"marking.practise.{_kind_of_loss(dearest)}", expert=told_better(dearest))
    if worst == FOUND:
        if story.ended != "finished":
            return text("marking.practise.see_it_through")
        certain = [
            e.points for part in sheet.parts if part.id == FOUND for e in part.evidence if ".call_" in e.key
        ]
        return text(
            "marking.practise.doubt" if sum(certain) < CERTAINTY / 3.0 else "marking.practise.right_work"
        )
    return text(f"marking.practise.{_what_to_predict(sheet)}")


def _practise_safety(story: Story) -> str:
    """What was missing where an act was tried without what protects; the whole order where it was no such slip."""
    lacking = dict.fromkeys(
        need for event in story.log if event["breach"] for need in event["result"].get("lacking", ())
    )
    said = [text(f"safe_work.states.{need}") for need in lacking if need in entry("safe_work.states")]
    return (
        text("marking.practise.safety_of", missing=" ".join(said))
        if said
        else text("marking.practise.safety")
    )


def _what_to_predict(sheet: MarkSheet) -> str:
    """Which of the two guesses was worth less: a key of ``marking.practise``."""
    worth = {
        question: sum(
            e.points for part in sheet.parts for e in part.evidence if f"understanding.{question}." in e.key
        )
        for question in (PRIME_QUESTION, BLANK_QUESTION)
        if any(f"understanding.{question}." in e.key for part in sheet.parts for e in part.evidence)
    }
    return "predict_test" if min(worth, key=worth.__getitem__, default="") == BLANK_QUESTION else "predict"


def _kind_of_loss(item: Judged) -> str:
    """What kind of choice lost most: a key of ``marking.practise`` whose sentence fits what an expert would have done."""
    did, best = item.step.option, item.better
    if best.kind == "finish":
        return "done_already"
    if best.kind == "hand_over":
        return "hand_over"
    if did.kind == "watch":
        return "watch_less"
    if item.same:
        return "too_long"
    if best.kind == "watch":
        return "prove_first" if item.step.before.starts else "watch_first"
    if did.kind == "remedy":
        return "other_work" if best.kind == "remedy" else "look_first"
    if best.kind == "remedy":
        return "enough_known" if mended_chance(item.step.before, best) >= SURE else "work_pays"
    before = [(seen.check, seen.place) for seen in item.step.before.looks]
    return "look_once" if (did.id, did.place) in before else "cheaper_look"
