"""What the page of a call-out says beside the acts: where a suspect is put right, what a press costs, the log."""

from __future__ import annotations

from simulator.attempt import Attempt, MemoryStore
from simulator.marking.safety_gate import CHARGES
from simulator.panels.exercise.page_model import _once, build_page
from simulator.scenario import Scenario, SiteChoice, choose_fault, random_scenario


def opened(mode: str = "practice") -> Attempt:
    return Attempt(random_scenario(1), MemoryStore(), mode=mode, seed=1)


def test_every_suspect_leads_to_a_place_where_work_on_it_stands() -> None:
    page = build_page(opened())
    works = {p["id"] for p in page["places"] if any(item["kind"] == "remedy" for item in p["items"])}
    for suspect in page["call"]["suspects"]:
        if suspect["id"] in ("sound", "something_else"):
            assert suspect["mended_at"] == ""
        else:
            assert suspect["mended_at"] in works, suspect["id"]


def test_a_line_that_says_the_same_again_takes_the_place_of_the_one_before() -> None:
    notes = [{"kind": "refused", "text": said, "seq": seq} for seq, said in enumerate("aabab")]
    assert [note["seq"] for note in _once(notes)] == [1, 2, 3, 4]
    assert _once([]) == []


def test_what_a_press_costs_is_said_before_it_counts_but_not_in_an_assessment() -> None:
    attempt = opened()
    lapse = build_page(attempt)["lapse"]
    assert lapse == {"minor": CHARGES["minor"], "serious": CHARGES["serious"], "grave": CHARGES["serious"]}
    assert (
        attempt.act("check", {"check": "walk_round"}).breach == "minor"
    )  # no gear on: charged at the first press
    assert build_page(opened("assessment"))["lapse"] is None


def test_where_foam_was_drawn_in_is_what_is_opened_next() -> None:
    fault = choose_fault("joint_ring", 0.006, "joint:2")
    call = Scenario(title="A", brief="B", site=SiteChoice(lift_m=3.0), faults=(fault,))
    for mode in ("practice", "assessment"):
        attempt = Attempt(call, MemoryStore(), mode=mode, seed=1)
        for act in ("put_on_ppe", "secure_discharge"):
            assert attempt.act(act).accepted
        assert attempt.act("predict", {"question": "sound_prime_time", "answer": 40}).accepted
        assert attempt.act("start_engine", {"speed": "rated"}).accepted
        assert attempt.act("wait", {"seconds": 20}).accepted
        assert build_page(attempt)["pointed"] == ""
        seen = {}
        for place in ("joint:2", "joint:1"):
            assert attempt.act("check", {"check": "foam_joint", "place": place}).accepted
            seen[place] = attempt.log[-1]["result"]["outcome"]
        assert seen == {"joint:2": "drawn_in", "joint:1": "stays"}
        assert build_page(attempt)["pointed"] == ("joint:2" if mode == "practice" else "")


def test_two_works_on_the_flange_say_how_they_are_told_apart_but_not_in_an_assessment() -> None:
    """Foam at the flange tells neither bolts nor gasket, and the first guess was charged: the page says what does."""

    def said(mode: str) -> dict[str, str]:
        items = [item for place in build_page(opened(mode))["places"] for item in place["items"]]
        return {item["args"]["remedy"]: item.get("choose", "") for item in items if item["kind"] == "remedy"}

    practice, alone = said("practice"), said("assessment")
    assert "turns by hand is loose" in practice["tighten_flange"]
    assert "first" in practice["renew_gasket"]
    assert not any(alone.values())
