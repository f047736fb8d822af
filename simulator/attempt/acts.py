"""What each act does once it is allowed: it changes the yard and the run and returns what is to be logged.

Arguments, the same throughout: ``state`` is changed in place; ``args`` what the page sent with the act, not yet
looked at; ``action`` the act's id. Each gives the result for the log, with its notes.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from simulator.attempt import calls, proof
from simulator.attempt.hints import hint_note
from simulator.attempt.looking import check_at, make_check, shown_points
from simulator.attempt.notes import note, suspect_name
from simulator.attempt.open_parts import beside_it, minutes_now
from simulator.attempt.safety import act_here, added_needs, grade, missing, undo, worst_danger
from simulator.attempt.state import AttemptState
from simulator.attempt.timeline import Timeline, tick_of
from simulator.attempt.yard import PRECAUTION_MINUTES, PRECAUTIONS, SPEEDS
from simulator.errors import InputError, RefusedAct
from simulator.rig.remedies import REMEDIES, Remedy
from simulator.run import State, layout, rest_state
from simulator.run.parameters import pack
from simulator.texts import text

Result = dict[str, Any]
LONGEST_REST = 6000  # [0.1 s] of standing still that is followed; after it nothing moves
PACKING = 1200  # [0.1 s] while the van is packed beside the running pump
LONGEST_WAIT = 3600.0  # [s]
FREEZING = 273.15  # [K]


def remedy_at(state: AttemptState, args: dict[str, Any]) -> tuple[Remedy, str]:
    """The remedy and place an act names; the only place where it has but one.

    Raises
    ------
    InputError : there is no such remedy, or not there on this rig.
    """
    name = str(args.get("remedy", ""))
    if name not in REMEDIES:
        raise InputError(f"there is no remedy {name!r}", "remedy", ", ".join(REMEDIES))
    remedy = REMEDIES[name]
    places = remedy.places(state.case.sound_rig)
    place = str(args.get("place") or ("" if remedy.per_joint or not places else places[0]))
    if place not in places:
        raise InputError(f"there is no place {place!r} for this work", name, ", ".join(places))
    return remedy, place


def needs_of(state: AttemptState, action: str, args: dict[str, Any]) -> tuple[str, ...]:
    """What an act waits for: states of the table of safe work, then what the lesson asks for.

    Raises
    ------
    InputError : there is no such act, check, remedy or place.
    """
    if action not in HANDLERS:
        raise InputError(f"there is no act {action!r}", "act", ", ".join(HANDLERS))
    more = added_needs(action)
    if action == "check":
        check, _ = check_at(state, args)
        more = ("first_call",) if check.opens else ()
    elif action == "remedy":
        remedy_at(state, args)
        more = ("second_call",)
    return (*act_here(state, action, args).needs(), *more)


def precaution(state: AttemptState, action: str) -> Result:
    """Make something safe, or close up again.

    Raises
    ------
    RefusedAct : it is done already, or there is nothing to close.
    """
    yard = state.yard
    done = {
        "put_on_ppe": "ppe",
        "secure_discharge": "discharge_secured",
        "isolate_and_tag": "tagged",
        "bleed_air": "air_bled",
        "relieve_line": "line_relieved",
        "vent_hose": "hose_vented",
        "take_rated_plate": "plate_rated",
        "guard_edge": "edge_safe",
        "call_second_person": "second_person",
        "tie_down_air_line": "line_held",
    }
    did = action
    if action == "untag_and_close_up":
        if yard.rules > 1:
            if not yard.tagged and not yard.opened:
                raise RefusedAct("nothing_to_close", text("attempt.refused.nothing_to_close"))
            did = action if yard.tagged and yard.opened else "untag" if yard.tagged else "close_up"
        yard.tagged = False
        yard.opened.clear()
    else:
        if getattr(yard, done[action]):
            raise RefusedAct("done_already", text("attempt.refused.done_already"))
        setattr(yard, done[action], True)
    state.spend(PRECAUTION_MINUTES[action])
    return {"minutes": PRECAUTION_MINUTES[action], "notes": [note("act", f"attempt.did.{did}")]}


def start_engine(state: AttemptState, args: dict[str, Any]) -> Result:
    """A new run, from what the last one left behind."""
    yard = state.yard
    _take_speed(state, args)
    start = rest_before_start(state)
    number = state.timeline.number + 1 if state.timeline else 1
    state.timelines.append(
        Timeline(
            number,
            state.case.rig,
            state.case.site,
            start,
            SPEEDS[yard.speed],
            state.terms.seed,
            yard.cock_open,
        )
    )
    yard.engine_on, yard.shown, yard.rested, yard.emptied = True, 0, 0, False
    yard.air_bled = yard.line_relieved = yard.hose_vented = False
    notes = [note("engine", f"attempt.did.start_engine_{yard.speed}")]
    if not proof.counts(state):
        notes.append(note("act", "attempt.did.start_from_full"))
    return {"run": number, "speed": yard.speed, "notes": notes}


def rest_before_start(state: AttemptState) -> State | None:
    """The state the next start begins in: the last run's, after standing as long as it did; None for dry."""
    timeline, yard = state.timeline, state.yard
    if timeline is None or timeline.stopped_at is None:
        return None
    tick = timeline.stopped_at + min(yard.rested, LONGEST_REST)
    timeline.extend_to(tick)
    left = timeline.state_at(tick)
    left.y[layout.CLOCK] = 0.0  # what drifts while it runs falls back at rest
    if not (yard.hose_vented or yard.air_bled or yard.line_relieved or yard.emptied):
        return left
    casing = 0.0 if yard.emptied else float(left.y[layout.CASING_WATER])
    line = 0.0 if yard.line_relieved else float(left.y[layout.LINE_WATER])
    case = state.case
    return rest_state(case.rig, case.site, pack(case.rig, case.site), casing, line)


def stop_engine(state: AttemptState, args: dict[str, Any]) -> Result:
    """The engine off; the run goes on while the column falls back."""
    timeline, yard = state.running_timeline(), state.yard
    yard.earlier.append({"run": timeline.number, "points": shown_points(state, timeline, yard.shown)})
    timeline.change(yard.shown, speed=0.0)
    yard.engine_on, yard.rested = False, 0
    return {"notes": [note("engine", "attempt.did.stop_engine")]}


def turn_cock(state: AttemptState, open_it: bool) -> Result:
    """The isolating cock between casing and ejector, running or not: ``open_it``, or shut it.

    Raises
    ------
    RefusedAct : the rig has none, or it stands so already.
    """
    yard = state.yard
    if not state.case.sound_rig.has_isolating_cock:
        raise RefusedAct("no_cock", text("attempt.refused.no_cock"))
    if yard.cock_open == open_it:
        raise RefusedAct("done_already", text("attempt.refused.done_already"))
    yard.cock_open = open_it
    if yard.engine_on:
        state.running_timeline().change(yard.shown, cock_open=open_it)
    return {
        "open": open_it,
        "notes": [note("act", f"attempt.did.{'reopen_cock' if open_it else 'shut_cock'}")],
    }


def set_speed(state: AttemptState, args: dict[str, Any]) -> Result:
    """The speed lever, running or not."""
    _take_speed(state, args, must=True)
    if state.yard.engine_on:
        state.running_timeline().change(state.yard.shown, speed=SPEEDS[state.yard.speed])
    return {
        "speed": state.yard.speed,
        "notes": [note("engine", f"attempt.did.set_speed_{state.yard.speed}")],
    }


def _take_speed(state: AttemptState, args: dict[str, Any], *, must: bool = False) -> None:
    speed = args.get("speed", None if must else state.yard.speed)
    if speed not in SPEEDS:
        raise InputError(f"there is no engine speed {speed!r}", "speed", ", ".join(SPEEDS))
    state.yard.speed = speed


def wait(state: AttemptState, args: dict[str, Any]) -> Result:
    """Let ``seconds`` [s] go by.

    Raises
    ------
    InputError : no number above 0 and up to an hour.
    """
    seconds = args.get("seconds")
    if (
        isinstance(seconds, bool)
        or not isinstance(seconds, (int, float))
        or not 0.0 < seconds <= LONGEST_WAIT
    ):
        raise InputError(f"waiting {seconds!r} s makes no sense", "seconds", f"above 0 to {LONGEST_WAIT:g} s")
    state.spend(tick_of(float(seconds)) / 600.0)
    return {"minutes": tick_of(float(seconds)) / 600.0, "notes": []}


def make_remedy(state: AttemptState, args: dict[str, Any]) -> Result:
    """Mend a part as it stands now; what the hands find is told."""
    remedy, place = remedy_at(state, args)
    yard, case = state.yard, state.case
    if len(yard.calls) == 1:
        yard.calls.append({**yard.calls[0], "stage": 2, "carried": True})
    before = case.rig
    finding = case.mend(remedy, place)
    if state.timeline is not None:
        state.timeline.change(yard.shown, rig=case.rig, site=case.site)
    if yard.question == calls.BLANK_QUESTION:
        yard.question = ""
    if remedy.id == "close_drain":
        yard.drain_seen = 0.0
    yard.remedies.append(f"{remedy.id}@{place}")
    again = undo(state, remedy.id, finding)
    where = place or remedy.part
    minutes = minutes_now(remedy.id, place, yard.opened)
    if {"stopped", "isolated"} & set(remedy.needs) and where not in yard.opened:
        yard.opened.append(where)
    state.spend(minutes)
    fields = {"joint": int(place.partition(":")[2]) + 1} if remedy.per_joint else {}
    beside = beside_it(remedy.id, before)
    # Who has felt the belt, or worked on it, is not told that it takes a look of its own.
    known = beside == "belt_on" and any(
        each.partition("@")[0] in ("belt", "renew_belt", "tighten_belt")
        for each in (*yard.checks, *yard.remedies)
    )
    key = f"remedies.{remedy.id}.found.{finding}"
    prefix = note(
        "remedy", "attempt.did.remedy_joint" if fields else "attempt.did.remedy", found={"key": key}, **fields
    )
    return {
        "remedy": remedy.id,
        "place": place,
        "finding": finding,
        "minutes": minutes,
        "already_open": minutes < remedy.minutes,
        "running": yard.engine_on,
        **({"beside": beside} if beside else {}),
        **({"undone": again} if again else {}),
        "notes": [
            prefix,
            *([note("remedy", f"attempt.beside.{beside}")] if beside and not known else []),
            *(note("remedy", f"attempt.undone.{name}") for name in again),  # the work did it: no lapse
        ],
    }


def predict(state: AttemptState, args: dict[str, Any]) -> Result:
    """Answer the question that is open.

    Raises
    ------
    RefusedAct : another question is open or none, or the answer does not fit it.
    """
    yard = state.yard
    question = str(args.get("question", ""))
    if not question or question != yard.question:
        raise RefusedAct("no_such_question", text("attempt.refused.no_such_question"))
    answer = calls.checked_answer(question, args.get("answer"))
    yard.answers[question] = answer
    yard.question = ""
    if answer is None:
        said = note("said", "attempt.did.do_not_know")
    elif question == calls.PRIME_QUESTION:
        said = note("said", "attempt.did.predict_time", seconds=round(answer))
    else:
        said = note(
            "said",
            "attempt.did.predict_blank",
            answer={"key": f"attempt.questions.blank_off_options.{answer}"},
        )
    if question == calls.FROST_QUESTION and answer is not None:
        said = note(
            "said",
            "attempt.did.predict_frost",
            answer={"key": f"attempt.questions.frost_end_options.{answer}"},
        )
    suspect = calls.top_suspect(yard.calls[-1]["markers"]) if yard.calls else ""
    return {"question": question, "answer": answer, "suspect": suspect, "notes": [said]}


def call(state: AttemptState, args: dict[str, Any]) -> Result:
    """Lock a call in markers, the first or the second.

    Raises
    ------
    RefusedAct : both calls are made, work has begun, or the markers break the rules.
    """
    yard = state.yard
    if len(yard.calls) >= 2:
        raise RefusedAct("call_locked", text("attempt.refused.call_locked"))
    if yard.remedies:
        raise RefusedAct("too_late_to_call", text("attempt.refused.too_late_to_call"))
    markers, places = calls.checked_markers(args)
    stage = len(yard.calls) + 1
    yard.calls.append({"stage": stage, "markers": markers, "places": places, "carried": False})
    yard.checks_since_call = 0
    top = calls.blank_suspect(markers)
    if (
        stage == 1
        and top
        and not any(k.startswith("blank_off@") for k in yard.checks)
        and state.terms.allows("blank_off")
    ):
        yard.question = yard.question or calls.BLANK_QUESTION
    parts = [
        {"key": "attempt.call.part", "fields": {"n": count, "suspect": suspect_name(name)}}
        for name, count in sorted(markers.items(), key=lambda item: (-item[1], item[0]))
    ]
    return {
        "stage": stage,
        "markers": markers,
        "places": places,
        "notes": [note("call", "attempt.did.call", parts=parts)],
    }


def ask_hint(state: AttemptState, args: dict[str, Any]) -> Result:
    """The next step of a hint.

    Raises
    ------
    RefusedAct : an assessment gives none.
    """
    if state.terms.mode == "assessment":
        raise RefusedAct("no_hints", text("attempt.refused.no_hints"))
    step, said = hint_note(state)
    state.yard.hints += 1
    return {"step": step, "notes": [said]}


def give_up(state: AttemptState, args: dict[str, Any]) -> Result:
    """Hand the job over."""
    state.yard.ended = "given_up"
    return {"notes": [note("end", "attempt.did.give_up")]}


def finish(state: AttemptState, args: dict[str, Any]) -> Result:
    """Job done, if the run that is shown proves it.

    With ``as_it_stands``, in an assessment, it is taken at the learner's word: whether it was proven is told with the
    marks, for a button that opens by itself would say so too soon.

    Raises
    ------
    RefusedAct : it does not, it loses its prime while the van is packed, or a freezing night still asks about drains.
    """
    at_word = args.get("as_it_stands") is True and state.terms.mode == "assessment"
    proven = proof.proven(state)
    good = proven and proof.still_pumps(state, PACKING)
    if not proven and not at_word:
        name = proof.why_not(state)
        raise RefusedAct(name, text(f"attempt.refused.{name}"))
    if not good and not at_word:
        state.spend(PACKING / 600.0)
        raise RefusedAct("lost_while_packing", text("attempt.refused.lost_while_packing"))
    freezing = state.case.sound_site.air_temperature < FREEZING
    if freezing and calls.FROST_QUESTION not in state.yard.answers:
        state.yard.question = calls.FROST_QUESTION
        raise RefusedAct("frost_question", text("attempt.refused.frost_question"))
    hazard = calls.left_to_freeze(state.yard.answers, state.yard.rules) if freezing else ""
    notes = [note("warning", f"attempt.warnings.{hazard}")] if hazard else []
    seconds = float(state.running_timeline().history(state.yard.shown).prime_time) if good else math.nan
    state.yard.proven, state.yard.ended = good, "finished" if good else "said_done"
    told = ("attempt.did.said_done", {}) if at_word else ("attempt.did.finish", {"seconds": round(seconds)})
    return {
        "prime_time_s": round(seconds, 1) if math.isfinite(seconds) else None,
        "notes": [*notes, note("end", told[0], **told[1])],
        **({"hazard": hazard} if hazard else {}),
    }


def nearly(state: AttemptState, args: dict[str, Any]) -> Result:
    """The page said what was at stake at the first press; it was tried all the same, and is noted with its reason.

    ``act`` and ``args`` name what was pressed. Refused where it is not grave as things stand.

    Raises
    ------
    InputError : they name no act.
    RefusedAct : it is not grave.
    """
    action, with_args = str(args.get("act", "")), args.get("args") or {}
    if not isinstance(with_args, dict) or action == "nearly":
        raise InputError("what was pressed is not an act", "args", "act and args")
    lacking = missing(needs_of(state, action, with_args), state.yard)
    act = act_here(state, action, with_args)
    if grade(lacking, state.yard, act) != "grave":
        raise RefusedAct("not_at_stake", text("attempt.refused.not_at_stake"))
    why = worst_danger(lacking, state.yard, act)
    said = note("warning", "attempt.warnings.nearly", why={"key": f"safe_work.dangers.{why}"})
    return {"hazard": "nearly", "act": action, "of": with_args, "lacking": lacking, "notes": [said]}


Handler = Callable[[AttemptState, dict[str, Any]], Result]


def _precaution_handler(action: str) -> Handler:
    return lambda state, args: precaution(state, action)


HANDLERS: dict[str, Handler] = {
    **{action: _precaution_handler(action) for action in PRECAUTIONS},
    "start_engine": start_engine,
    "stop_engine": stop_engine,
    "set_speed": set_speed,
    "shut_cock": lambda state, args: turn_cock(state, False),
    "reopen_cock": lambda state, args: turn_cock(state, True),
    "wait": wait,
    "check": make_check,
    "remedy": make_remedy,
    "predict": predict,
    "call": call,
    "ask_hint": ask_hint,
    "give_up": give_up,
    "finish": finish,
    "nearly": nearly,
}
