"""The table of safe work: every act with everything that protects in it, tried without (refused, with why) and with."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import simulator
from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.acts import HANDLERS, needs_of
from simulator.attempt.expert import ACT_FOR, make_ready
from simulator.attempt.rules_of_thumb import Step
from simulator.attempt.safety import GUARDED
from simulator.attempt.yard import PRECAUTIONS
from simulator.diagnosis.evidence import story_of
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, check_places
from simulator.marking.safety_gate import mark_safety
from simulator.rig import safe_work
from simulator.rig.presets import load_rig, water_line
from simulator.rig.record_files import record_file
from simulator.rig.remedies import REMEDIES
from simulator.texts import catalogue, text
from tests.attempt.conftest import look_round, markers
from tests.attempt.test_safety_rules import on_rig

FULL_MARKS = 25.0
OLD = Path(__file__).parent / "data" / "first_rules.json"
BREACH = {"slight": "minor", "serious": "serious", "grave": "grave"}
#: Acts that touch nobody: they are said, asked or waited for.
HARMLESS = {"wait", "check", "remedy", "predict", "call", "ask_hint", "give_up", "nearly"}


def rig_for(name: str) -> str:
    item = CHECKS.get(name) or REMEDIES.get(name)
    return "reed" if item is not None and item.fitted == "float" else "alder"


def act_args(name: str, place: str = "") -> tuple[str, dict[str, Any]]:
    if name in CHECKS:
        rig = load_rig(rig_for(name))
        return "check", {"check": name, "place": place or check_places(CHECKS[name], rig)[0]}
    if name in REMEDIES:
        return "remedy", {"remedy": name, "place": place or REMEDIES[name].places(load_rig(rig_for(name)))[0]}
    return name, {"speed": "slow"} if name == "set_speed" else {}


def fresh(name: str) -> Attempt:
    attempt = on_rig(rig_for(name), ("screen_plugged", 0.985, ""))
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    attempt.act("call", markers(screen_plugged=10))
    attempt.act("call", markers(screen_plugged=10))
    attempt.yard.question = ""
    return attempt


def at_work(name: str, fault: tuple[str, float, str], rules: int) -> Attempt:
    """As :func:`fresh`, on a rig with a fault, under a version of the rules."""
    attempt = on_rig(rig_for(name), fault)
    begun = attempt.log[0]["result"]
    begun["rules"] = rules
    store = MemoryStore()
    attempt_id = store.create_attempt(attempt.store.attempt_record(attempt.id))
    store.append_event(attempt_id, 0, attempt.log[0], None)
    attempt = Attempt.resume(store, attempt_id)
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    for _ in range(2):
        attempt.act("call", markers(screen_plugged=10))
    attempt.yard.question = ""
    return attempt


def all_pairs() -> list[tuple[str, str]]:
    """Every act with every state that protects in it on a rig with a heavy hose."""
    out = []
    for kind, acts in safe_work.table().acts.items():
        for name in acts:
            if kind in (safe_work.TOLD, safe_work.SAFE):
                continue  # lessons alone speak of the first; what makes safe is refused and marks nothing: below
            states = {state for d in safe_work.dangers_of(kind, name).values() for state in d.protects}
            out += [(name, state) for state in sorted(states, key=safe_work.ORDER.index)]
    return out


@pytest.mark.parametrize(("name", "state"), all_pairs())
def test_without_what_protects_it_is_refused_with_its_reason_and_marked(name: str, state: str) -> None:
    attempt = fresh(name)
    place = "length:0" if name in ("foam_length", "light_through") else ""
    action, args = act_args(name, place)
    needs = needs_of(attempt.state, action, args)
    if state not in needs:
        pytest.skip("only with a heavy hose or at the water")
    if state == "closed_up":
        make_ready(attempt, Step("check", {"check": "belt"}, ""))
        assert attempt.act("check", {"check": "belt"}).accepted
    for need in needs:
        if state == "ppe":
            break
        if need == "running":
            make_ready(attempt, Step("start_engine", {}, ""))
            attempt.act("start_engine")
        elif need in ACT_FOR and need != state and not attempt.yard.has(need):
            if state in safe_work.needs(safe_work.SAFE, ACT_FOR[need]):
                continue  # it cannot be had either
            make_ready(attempt, Step(ACT_FOR[need], {}, ""))
            assert attempt.act(ACT_FOR[need]).accepted, need
    if state == "free_to_start":
        assert attempt.act("isolate_and_tag").accepted
    if "running" in needs and state == "ppe":
        pytest.skip("nothing runs without gear: the start is refused")
    assert not attempt.yard.has(state)
    reply = attempt.act(action, args)
    assert not reply.accepted
    event = attempt.log[-1]
    assert state in event["result"]["lacking"]
    here = safe_work.conditions(attempt.case.sound_rig, attempt.case.sound_site, args.get("place", ""))
    kind = next(k for k, acts in safe_work.table().acts.items() if name in acts)
    found = safe_work.lacking_dangers(kind, name, event["result"]["lacking"], here)
    worst = max((safe_work.table().dangers[d].harm for d in found), key=safe_work.HARMS.index)
    if state == "closed_up":
        worst = "grave"  # the belt lies open
    assert reply.breach == BREACH[worst]
    assert text(f"safe_work.dangers.{event['result']['danger']}") in reply.sentence  # why
    safety = mark_safety(story_of(attempt.state))
    assert safety.points is not None
    assert safety.points < FULL_MARKS
    assert text("marking.safety.clean") not in [item.sentence for item in safety.evidence]


@pytest.mark.parametrize("name", sorted({name for name, _ in all_pairs()}))
def test_with_all_that_protects_it_is_done_and_costs_nothing(name: str) -> None:
    attempt = fresh(name)
    look_round(attempt)
    action, args = act_args(name)
    if action == "reopen_cock":
        make_ready(attempt, Step("shut_cock", {}, ""))
        attempt.act("shut_cock")
    make_ready(attempt, Step(action, args, ""))
    reply = attempt.act(action, args)
    assert reply.accepted, reply.sentence
    assert not any(event["breach"] for event in attempt.log)
    assert mark_safety(story_of(attempt.state)).points in (FULL_MARKS, None, 0.0) or action not in (
        "check",
        "remedy",
    )


@pytest.mark.parametrize(
    "name", [p for p in PRECAUTIONS if p not in ("put_on_ppe", "call_second_person", "take_rated_plate")]
)
def test_what_makes_safe_takes_gear_first_and_marks_nothing(name: str) -> None:
    attempt = fresh("belt")
    reply = attempt.act(name)
    assert not reply.accepted
    assert reply.breach == ""
    assert text("attempt.needs.ppe") in reply.sentence


def test_every_act_stands_in_the_table() -> None:
    acts = safe_work.table().acts
    assert set(acts["checks"]) == set(CHECKS)
    assert set(acts["remedies"]) == set(REMEDIES)
    assert set(acts["safe"]) == set(PRECAUTIONS)
    assert set(HANDLERS) - set(PRECAUTIONS) - HARMLESS == set(acts["engine"])
    for state, protection in safe_work.table().protections.items():
        assert protection.by == ACT_FOR[state]


def test_what_opens_lifts_reaches_or_goes_near_is_protected() -> None:
    """Judged by what an act touches, not by the table: common practice, no source, and the standards named there."""
    turning = ("belt", "intake", "compressor", "nrv", "impeller", "seal")
    pressed = ("nozzle", "mixing_tube", "relief", "air_line", "motive_gauge", "compressor", "screen", "float")
    wet = ("strainer", "rope", "weed", "hose", "hose_lay")
    works = [*(c for c in CHECKS.values() if c.opens), *(r for r in REMEDIES.values())]
    by_handle = ("open_cock", "close_drain", "close_frost_drain", "open_discharge", "raise_speed")
    for item in works:
        if item.id in by_handle:
            assert "ppe" in item.needs
            continue
        assert {"ppe", "isolated"} <= set(item.needs), item.id
        if item.place in pressed and item.id != "relief_listen":
            assert "air_bled" in item.needs, item.id
        if item.place in wet:
            assert {"hose_vented", "edge_safe", "second_person"} <= set(item.needs), item.id
        if item.place in ("joint", "flange", "suction_flange", "suction_gauge", "length"):
            assert "hose_vented" in item.needs, item.id
        if item.place in ("nrv", "impeller", "discharge_line"):
            assert "line_relieved" in item.needs, item.id
        if item.place in turning:
            kind = safe_work.CHECKS if item.id in CHECKS else safe_work.REMEDIES
            found = safe_work.dangers_of(kind, item.id).values()
            assert any(danger.harm_of(True) == "grave" for danger in found), item.id
    for name in ("blank_off", "hold_test", "capped_hose", "clear_plate"):
        assert "plate_rated" in CHECKS[name].needs
    for name in ("blank_off", "hold_test", "capped_hose", "receiver_test"):  # these run the engine
        assert {"closed_up", "discharge_secured"} <= set(CHECKS[name].needs), name
    assert {"edge_safe", "second_person"} <= set(CHECKS["dip_water"].needs)
    assert "isolated" in CHECKS["walk_discharge"].needs  # a torn line whips
    for check in CHECKS.values():
        if check.id != "gauges":
            assert "ppe" in check.needs, check.id
        assert check.protects


def test_every_word_of_the_table_is_in_the_catalogue_and_none_is_left_over() -> None:
    words = catalogue()["safe_work"]
    cares = {care for d in safe_work.table().dangers.values() for care in d.care}
    cares |= {care for acts in safe_work.table().acts.values() for act in acts.values() for care in act.care}
    assert set(words["care"]) == cares
    assert set(words["dangers"]) == set(safe_work.table().dangers)
    assert {
        d for acts in safe_work.table().acts.values() for act in acts.values() for d in act.dangers
    } == set(safe_work.table().dangers)
    follows = {name for d in safe_work.table().dangers.values() for name in d.follows}
    assert follows | {"scale"} == set(safe_work.table().sources)


def test_a_table_that_does_not_fit_is_refused_with_its_place(tmp_path: Path) -> None:
    path = tmp_path / "safe_work.yaml"
    good = (Path(safe_work.__file__).parent / "data" / "safe_work" / "rules.yaml").read_text("utf-8")
    for old, new, said in (
        ("set_speed: {dangers: [lever_near]}", "set_speed: {dangers: [lever_neer]}", "lever_neer"),
        ("yard: {protects: [ppe]", "yard: {protects: [pppe]", "pppe"),
        ("harm: grave", "harm: deadly", "harm"),
        ("running, dangers: [water_hammer", "running, dangers: [started, water_hammer", "stops the engine"),
    ):  # fmt: skip
        assert old in good
        path.write_text(good.replace(old, new, 1), "utf-8")
        with pytest.raises(InputError) as caught:
            safe_work.read_table(path)
        assert said in str(caught.value)


def test_a_danger_there_is_not_is_told_at_its_record(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = {kind: dict(safe_work.rows_of_safe_work(kind)) for kind in ("checks", "remedies")}
    rows["checks"]["gauges"] = {"dangers": ["hat"]}
    monkeypatch.setattr(safe_work, "rows_of_safe_work", rows.__getitem__)
    with pytest.raises(InputError) as caught:
        safe_work.read_table(Path(safe_work.__file__).parent / "data" / "safe_work" / "rules.yaml")
    line = record_file("checks").line(("gauges", "safe", "dangers"))
    assert caught.value.where == f"simulator/rig/data/checks.yaml, line {line}, gauges.safe.dangers"
    assert caught.value.what.startswith("'hat' is not in the table; legal: ")


# --- what was found, and its relatives ---


def test_no_tag_comes_off_where_none_hangs() -> None:
    attempt = fresh("belt")
    attempt.act("put_on_ppe")
    assert not attempt.act("untag_and_close_up").accepted
    attempt.act("isolate_and_tag")
    assert attempt.act("untag_and_close_up").sentence == text("attempt.did.untag")
    make_ready(attempt, Step("check", {"check": "belt"}, ""))
    attempt.act("check", {"check": "belt"})
    assert attempt.act("untag_and_close_up").sentence == text("attempt.did.untag_and_close_up")


def test_a_start_with_the_tag_on_says_why() -> None:
    attempt = fresh("belt")
    for action in ("put_on_ppe", "secure_discharge", "isolate_and_tag"):
        attempt.act(action)
    reply = attempt.act("start_engine")
    assert reply.breach == "grave"
    assert text("safe_work.dangers.somebody_at_it") in reply.sentence
    said = [item.sentence for item in mark_safety(story_of(attempt.state)).evidence]
    assert text("marking.safety.clean") not in said
    assert any(text("safe_work.dangers.somebody_at_it") in sentence for sentence in said)


def test_a_grave_act_tried_and_let_be_is_noted_with_its_reason() -> None:
    attempt = fresh("belt")
    for action in ("put_on_ppe", "secure_discharge", "isolate_and_tag"):
        attempt.act(action)
    reply = attempt.act("nearly", {"act": "start_engine", "args": {}})
    assert reply.breach == "minor"
    assert text("safe_work.dangers.somebody_at_it") in reply.sentence
    assert not attempt.yard.ended
    attempt.act("untag_and_close_up")
    assert not attempt.act("nearly", {"act": "start_engine", "args": {}}).accepted
    said = [item.sentence for item in mark_safety(story_of(attempt.state)).evidence]
    assert text("marking.safety.clean") not in said
    assert any(text("attempt.actions.start_engine") in sentence for sentence in said)
    again = Attempt.resume(attempt.store, attempt.id)
    assert again.log == attempt.log


def test_a_test_run_leaves_the_tag_on() -> None:
    attempt = fresh("blank_off")
    make_ready(attempt, Step("check", {"check": "blank_off"}, ""))
    assert attempt.yard.tagged
    assert attempt.act("check", {"check": "blank_off"}).accepted
    assert attempt.yard.tagged
    assert not attempt.act("start_engine").accepted


def test_guarded_places_are_places_of_the_rig() -> None:
    parts = {c.place for c in CHECKS.values()}
    assert set(GUARDED) <= parts


#: Work, on a rig where the hands find what it is for, and the state it undoes: what was tied down or guarded lies anew.
LAID_ANEW = [
    ("renew_line", ("line_bursts", 0.9, ""), "discharge_secured", "start_engine"),
    ("straighten_line", ("line_kinked", 0.9, ""), "discharge_secured", "start_engine"),
    ("lower_pump", ("pump_high", 7.8, ""), "discharge_secured", "start_engine"),
    ("renew_air_line", ("air_line_holed", 0.0034, ""), "line_held", "receiver_test"),
]


@pytest.mark.parametrize(("work", "fault", "state", "later"), LAID_ANEW)
def test_what_is_laid_anew_is_tied_down_anew(
    work: str, fault: tuple[str, float, str], state: str, later: str
) -> None:
    """Common practice, no source: a tie-down goes with the line or end that it held."""
    attempt = at_work(work, fault, safe_work.RULES)
    step = Step("check", {"check": later}, "") if later in CHECKS else Step(later, {}, "")
    make_ready(attempt, step)
    assert attempt.yard.has(state)
    make_ready(attempt, Step(*act_args(work), ""))
    assert attempt.yard.has(state)
    done = attempt.act(*act_args(work))
    assert done.accepted, done.sentence
    assert not attempt.yard.has(state)
    assert text(f"attempt.undone.{state}") in done.notes
    make_ready(attempt, Step("stop_engine", {}, "")) if attempt.yard.engine_on else None
    if attempt.yard.tagged or attempt.yard.opened:
        attempt.act("untag_and_close_up")
    refused = attempt.act(step.action, step.args)
    assert not refused.accepted
    assert state in attempt.log[-1]["result"]["lacking"]
    make_ready(attempt, step)
    assert attempt.yard.has(state)
    assert Attempt.resume(attempt.store, attempt.id).log == attempt.log
    before = at_work(work, fault, 2)
    make_ready(before, step)
    make_ready(before, Step(*act_args(work), ""))
    assert before.act(*act_args(work)).accepted
    assert before.yard.has(state)  # an attempt of older rules goes on under them
    assert Attempt.resume(before.store, before.id).log == before.log


def test_work_that_moved_nothing_undoes_nothing() -> None:
    attempt = at_work("straighten_line", ("screen_plugged", 0.985, ""), safe_work.RULES)
    make_ready(attempt, Step("start_engine", {}, ""))
    make_ready(attempt, Step(*act_args("straighten_line"), ""))
    assert attempt.act(*act_args("straighten_line")).accepted
    assert attempt.yard.discharge_secured


@pytest.mark.parametrize("name", ["foam_joint", "joint_apart", "renew_joint_ring"])
def test_a_joint_at_the_edge_asks_for_what_a_length_there_asks_for(name: str) -> None:
    """Common practice, no source: within 2 m of the water one works at its edge, with vest, guard and a second person."""
    attempt = fresh(name)
    rig, site = attempt.case.sound_rig, attempt.case.sound_site
    kind = safe_work.CHECKS if name in CHECKS else safe_work.REMEDIES
    asked = []
    for number, joint in enumerate(rig.suction_hose.joints):
        here = safe_work.conditions(rig, site, f"joint:{number}")
        wanted = {"edge_safe", "second_person"} <= set(safe_work.needs(kind, name, here))
        assert wanted == (joint.position <= water_line(rig, site) + safe_work.AT_THE_EDGE), number
        asked.append(wanted)
    assert asked[0]  # it lies where the hose leaves the water
    assert not asked[-1]  # it lies at the pump
    assert "in_water" in safe_work.conditions(rig, site, "length:1")  # its lower end is that first joint
    assert "in_water" not in safe_work.conditions(rig, site, "joint:2", version=2)


# --- attempts of the first rules ---


def old_attempt() -> tuple[MemoryStore, str, dict[str, Any]]:
    kept = json.loads(OLD.read_text("utf-8"))
    store = MemoryStore()
    attempt_id = store.create_attempt(kept["record"])
    for event in kept["events"]:
        store.append_event(attempt_id, event["seq"], event, event["click_id"])
    return store, attempt_id, kept


def test_an_attempt_of_the_first_rules_replays_under_them() -> None:
    store, attempt_id, kept = old_attempt()
    attempt = Attempt.resume(store, attempt_id)
    assert attempt.state.terms.rules == attempt.yard.rules == 1
    assert attempt.log == kept["events"]
    done = [event["args"].get("check") for event in attempt.log if event["accepted"]]
    assert "strainer_out" in done  # with the engine only stopped: it was allowed then
    assert attempt.yard.ended == "stopped_for_safety"
    assert mark_safety(story_of(attempt.state)).evidence[-1].key == "marking.safety.grave_fails"


def test_an_open_attempt_of_the_first_rules_goes_on_under_them() -> None:
    _, _, kept = old_attempt()
    store = MemoryStore()
    attempt_id = store.create_attempt(kept["record"])
    for event in kept["events"][:10]:
        store.append_event(attempt_id, event["seq"], event, event["click_id"])
    attempt = Attempt.resume(store, attempt_id)
    assert attempt.act("check", {"check": "strainer_out"}).accepted
    assert Attempt.resume(store, attempt_id).log == attempt.log


def test_a_new_attempt_says_which_rules_it_is_made_under() -> None:
    attempt = fresh("belt")
    assert attempt.log[0]["result"]["rules"] == safe_work.RULES
    assert Attempt.resume(attempt.store, attempt.id).state.terms.rules == safe_work.RULES


def test_the_page_of_the_assessment_names_what_is_grave_while_it_runs() -> None:
    grave = {name for name, danger in safe_work.table().dangers.items() if danger.running == "grave"}
    assert grave == {"moving_open", "air_pressed", "line_pressed"}, "lesson 10 names these and no more"
    page = Path(simulator.__file__).parent / "panels" / "lessons" / "assessment" / "words.yaml"
    (said,) = [line for line in page.read_text(encoding="utf-8").splitlines() if "Grave is" in line]
    assert "you open what turns, or what holds air or water under pressure" in said
    assert "tagged, or with a guard or a lid off" in said


def test_a_line_under_pressure_is_not_tied_down_and_before_the_fourth_rules_it_was() -> None:
    attempt = fresh("belt")
    look_round(attempt)
    attempt.act("secure_discharge")
    assert attempt.act("start_engine").accepted
    reply = attempt.act("tie_down_air_line")
    assert not reply.accepted
    assert text("attempt.needs.isolated") in reply.sentence
    for act in ("stop_engine", "isolate_and_tag", "bleed_air", "tie_down_air_line"):
        assert attempt.act(act).accepted, act
    old = at_work("belt", ("screen_plugged", 0.985, ""), 3)
    old.act("put_on_ppe")
    assert old.act("tie_down_air_line").accepted


@pytest.mark.parametrize(("looks", "rules", "points"), [(0, 4, -5.0), (1, 4, 0.0), (0, 3, 0.0)])
def test_a_start_before_anybody_looked_round_costs_points_and_is_not_called_safe(
    looks: int, rules: int, points: float
) -> None:
    attempt = at_work("belt", ("screen_plugged", 0.985, ""), rules)
    attempt.act("put_on_ppe")
    attempt.act("secure_discharge")
    for _ in range(looks):
        look_round(attempt)
    assert attempt.act("start_engine").accepted
    safety = mark_safety(story_of(attempt.state))
    assert safety.points == points
    kept = text("marking.safety.kept")
    assert (kept in [item.sentence for item in safety.evidence]) == (points == 0.0)
