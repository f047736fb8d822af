"""Checks as acts: what is seen is drawn, noted, and remembered as far as the page may go on showing it.

Arguments, the same throughout: ``state`` where the call-out stands; ``args`` what the page sent with the act.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from simulator.attempt import calls
from simulator.attempt.notes import Note, note, pressure, tape
from simulator.attempt.state import AttemptState
from simulator.attempt.timeline import TICK, Timeline, tick_of
from simulator.errors import InputError
from simulator.instruments.checks import VACUUM_RUNS, check_places, find_check
from simulator.instruments.checks_while_running import tape_read
from simulator.instruments.gauges import GAUGES, gauges_of, needle, read, state_of
from simulator.instruments.look import Check, Look

#: Looks at something that goes on: the page shows it for as long as somebody stands there.
LASTING = ("exhaust_stream", "relief_listen", "listen_pump", "listen_line", "watch_water", "tachometer")


def check_at(state: AttemptState, args: dict[str, Any]) -> tuple[Check, str]:
    """The check and place an act names; the only place where it has but one.

    Raises
    ------
    InputError : there is no such check, not there on this rig, or the call-out does not offer it.
    """
    check = find_check(str(args.get("check", "")))
    places = check_places(check, state.case.sound_rig)
    single = places and not (check.per_joint or check.per_length)
    place = str(args.get("place") or (places[0] if single else ""))
    if place not in places:
        raise InputError(f"there is no place {place!r} for this check", check.id, ", ".join(places))
    if not state.terms.allows(check.id):
        raise InputError("this check is not part of the call-out", check.id)
    return check, place


def shown_points(state: AttemptState, timeline: Timeline, last: int) -> list[list[float]]:
    """The vacuum of a ``timeline`` as shown up to a tick (``last``) [0.1 s], once a second, read to half a graduation:
    rows of [time s, Pa]."""
    values = timeline.needle("suction", last)
    return [[i * TICK, read(float(values[i]), GAUGES["suction"])] for i in range(0, last + 1, 10)]


def make_check(state: AttemptState, args: dict[str, Any]) -> dict[str, Any]:
    """Look, listen, feel, measure or open; what is seen is drawn at once, its minutes go by after.

    The state is changed; gives the result for the log.
    """
    check, place = check_at(state, args)
    yard, case = state.yard, state.case
    where = f"{check.id}@{place}"
    timeline = state.timeline
    look = case.look(timeline, yard.shown, yard.engine_on, place)
    repeat = yard.checks.get(where, 0)
    outcome = case.see(check, look, repeat, inside=state.terms.see_through)
    figures = check.figures(look, state.look_seed(check.id, repeat)) if check.figures else {}
    if check.id == "dip_water":
        figures = tape_read(look, outcome)
    raw = _needles_as_they_stand(state, check, look, repeat)
    yard.checks[where] = repeat + 1
    yard.outcomes[where] = outcome
    yard.checks_since_call += 1
    _remember(state, check, outcome, look, repeat)
    if check.opens and check.id not in (*VACUUM_RUNS, "receiver_test") and place not in yard.opened:
        yard.opened.append(place)
    if check.id == "receiver_test":
        yard.air_bled = False
    if check.id in VACUUM_RUNS:
        yard.air_bled = yard.line_relieved = False
        yard.emptied = True
        if check.id == "blank_off" and yard.question == calls.BLANK_QUESTION:
            yard.question = ""
    begun = yard.shown
    state.spend(check.minutes)
    notes = [_check_note(check, place, outcome, figures, raw)]
    if check.id == "gauges":
        notes += _coaching(state, begun, outcome)
    return {
        "check": check.id,
        "place": place,
        "outcome": outcome,
        "repeat": repeat,
        "figures": figures,
        "minutes": check.minutes,
        "running": yard.engine_on,
        "notes": notes,
    }


def _coaching(state: AttemptState, tick: int, outcome: str) -> list[Note]:
    """In guided work: what a sound rig would show at this tick [0.1 s], and what to ask oneself."""
    if state.terms.mode != "guided":
        return []
    row = next((row for row in state.case.band() if row[0] >= tick * TICK), None)
    said = []
    if row is not None:
        low, high = pressure("vacuum", row[1]), pressure("vacuum", row[2])
        said.append(note("ask", "attempt.coach.expected", low=low, high=high))
    return [*said, note("ask", f"attempt.coach.{outcome}")]


def _remember(state: AttemptState, check: Check, outcome: str, look: Look, repeat: int) -> None:
    """Keep what the page may go on showing of a look."""
    yard = state.yard
    number = state.timeline.number if state.timeline else 0
    span = (number, yard.shown, yard.shown + tick_of(check.minutes * 60.0), outcome)
    if check.id in LASTING:
        yard.stood_by[check.id] = span
    elif check.id == "walk_round":
        shown = {"in_order": 0.0, "drain_ajar": 0.3, "drain_open": 1.0, "drain_spraying": 0.5}
        yard.drain_seen = shown.get(outcome, yard.drain_seen)
    elif check.id in VACUUM_RUNS:
        values = _vacuum_needle(state, check, look, repeat)
        yard.blank_curves.append(
            [[i * TICK, read(float(values[i]), GAUGES["suction"])] for i in range(0, len(values), 10)]
        )


def _vacuum_needle(state: AttemptState, check: Check, look: Look, repeat: int) -> np.ndarray:
    run = {"blank_off": look.blank_run, "capped_hose": look.capped_run, "hold_test": look.hold_run}[check.id]
    assert run is not None
    seed = state.look_seed(check.id, repeat)
    return needle(run(), GAUGES["suction"], state_of(state.case.rig, "suction"), seed)


def _needles_as_they_stand(state: AttemptState, check: Check, look: Look, repeat: int) -> dict[str, float]:
    """The needles a check reads, before anybody rounds them to a dial [Pa]."""
    if check.id == "gauges":
        timeline = state.running_timeline()
        names = [gauge.id for gauge in gauges_of(state.case.sound_rig)]
        return {name: round(float(timeline.needle(name, state.yard.shown)[-1]), 1) for name in names}
    if check.id in ("blank_off", "capped_hose"):
        return {"deepest": round(float(_vacuum_needle(state, check, look, repeat).max()), 1)}
    return {}


def _check_note(
    check: Check, place: str, outcome: str, figures: dict[str, float], raw: dict[str, float]
) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    if check.per_joint or check.per_length:
        fields["joint"] = int(place.partition(":")[2]) + 1
    key = f"checks.{check.id}.outcomes.{outcome}"
    if check.id == "gauges":
        fields = {name: pressure(GAUGES[name].quantity, value, name) for name, value in raw.items()}
        fields.setdefault("motive", {"key": "checks.gauges.no_motive_gauge"})
        return note("look", "checks.gauges.read", saw={"key": key}, **fields)
    if check.id == "dip_water":
        fields = {name: tape(value) for name, value in figures.items()}
        name = "read" if figures["lift"] > 0.0 else "read_flooded"
        return note("look", f"checks.dip_water.{name}", saw={"key": key}, **fields)
    if check.id == "hold_test":
        fields = {name: pressure("vacuum", figures[name]) for name in ("begun", "lost")}
        return note("look", "checks.hold_test.read", saw={"key": key}, **fields)
    if check.id in ("blank_off", "capped_hose"):
        fields = {
            "deepest": pressure("vacuum", raw["deepest"], "suction"),
            "mark": pressure("vacuum", figures["mark"]),
        }
        name = "read" if figures["time_s"] >= 0.0 else "read_never"
        return note(
            "look", f"checks.{check.id}.{name}", saw={"key": key}, seconds=int(figures["time_s"]), **fields
        )
    return note("look", key, **fields)
