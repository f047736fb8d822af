"""Every act of the catalogue on the page: its place, words, icon and care, on every rig."""

from __future__ import annotations

import re

import pytest

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.expert import make_ready
from simulator.attempt.rules_of_thumb import Step
from simulator.attempt.yard import PRECAUTIONS
from simulator.instruments.checks import CHECKS, VACUUM_RUNS, check_places
from simulator.panels.exercise.offers import QUICK_MINUTES, TRIED_BY_HAND
from simulator.panels.exercise.page_model import build_page
from simulator.panels.page import assets
from simulator.rig.presets import load_rig, rig_names
from simulator.rig.record_files import GROUPS
from simulator.rig.remedies import REMEDIES
from simulator.scenario import Scenario, SiteChoice
from simulator.texts import entry
from tests.conftest import thin

RIGS = rig_names()


def page_of(rig: str) -> dict[str, object]:
    call = Scenario(title="A call", brief="It will not draw.", rig=rig, site=SiteChoice(lift_m=3.0))
    return build_page(Attempt(call, MemoryStore(), seed=1))


def icons_drawn() -> set[str]:
    source = (assets.SCREEN / "src" / "exercise" / "icons.js").read_text(encoding="utf-8")
    table = source[source.index("ACT_ICONS") : source.index("};")]
    return set(re.findall(r"^  (\w+):\s+\"M", table, re.MULTILINE))


@pytest.mark.parametrize("rig", RIGS)
def test_every_act_has_a_place_words_an_icon_and_its_care(rig: str) -> None:
    places = page_of(rig)["places"]
    assert [place["id"] for place in places] == list(GROUPS)  # type: ignore[attr-defined]
    items = {item["id"]: (place["id"], item) for place in places for item in place["items"]}  # type: ignore[attr-defined]
    fitted = load_rig(rig)
    wanted = {f"check:{c.id}:{place}" for c in CHECKS.values() for place in check_places(c, fitted)}
    wanted |= {f"remedy:{r.id}:{place}" for r in REMEDIES.values() for place in r.places(fitted)}
    wanted |= {name for name in PRECAUTIONS if name != "untag_and_close_up"}  # nothing is open yet
    wanted |= {"shut_cock"} if fitted.has_isolating_cock else set()
    assert set(items) == wanted
    drawn = icons_drawn()
    for place, item in items.values():
        assert (place == "before") == (item["kind"] == "precaution"), item["id"]
        assert item["icon"] in drawn, item
        assert len(item["label"]) > 5, item
        assert item["label"][0].isupper(), item
        assert item["label"].strip() == item["label"], item
        assert "{" not in item["label"] + item["care"], item
        if item["kind"] in ("check", "remedy"):
            assert item["care"].endswith("."), item
            assert item["minutes"] > 0.0 or item["args"].get("check") == "gauges"
        assert all(wait in entry("panel.needs").values() for wait in item["waits"]), item
        assert len(item["first"]) <= len(item["waits"])


@pytest.mark.parametrize("rig", RIGS)
def test_the_same_act_at_several_joints_shares_one_line(rig: str) -> None:
    items = [item for place in page_of(rig)["places"] for item in place["items"]]  # type: ignore[attr-defined]
    joints = len(load_rig(rig).suction_hose.joints)
    series = [item["series"] for item in items if "series" in item]
    assert {name: series.count(name) for name in series} == dict.fromkeys(entry("panel.acts.series"), joints)
    shorts = [item["short"] for item in items if item.get("series") == "joint_apart"]
    assert shorts == [f"joint {n}" for n in range(1, joints + 1)]


def test_after_the_walk_round_the_drain_can_be_looked_at_and_tried_again_among_the_first_looks() -> None:
    call = Scenario(title="A call", brief="It will not draw.", rig="osier", site=SiteChoice(lift_m=3.0))
    attempt = Attempt(call, MemoryStore(), seed=1)
    before = [i for p in build_page(attempt)["places"] for i in p["items"] if i["quick"]]  # type: ignore[attr-defined]
    assert all(item["kind"] == "check" for item in before)
    attempt.act("put_on_ppe")
    attempt.act("check", {"check": "walk_round"})
    after = [i for p in build_page(attempt)["places"] for i in p["items"] if i["quick"]]  # type: ignore[attr-defined]
    assert [item["args"]["remedy"] for item in after if item["kind"] == "remedy"] == list(TRIED_BY_HAND)
    walk = next(item for item in after if item["args"].get("check") == "walk_round")
    assert "again" in walk["label"]


def test_first_looks_are_few_cheap_and_open_nothing() -> None:
    first = [i for p in page_of("osier")["places"] for i in p["items"] if i["quick"]]  # type: ignore[attr-defined]
    assert 6 <= len(first) <= 12
    for item in first:
        assert item["minutes"] <= QUICK_MINUTES
        assert not CHECKS[item["args"]["check"]].opens


def test_care_is_taken_from_looks_that_there_are() -> None:
    assert all(remedy.protects for remedy in REMEDIES.values())


def test_no_act_leads_to_a_sign_that_is_not_drawn() -> None:
    drawn = icons_drawn()
    assert {"quick", "now", "along", *(name for name in GROUPS if name != "hose")} <= drawn


@pytest.mark.parametrize("rig", thin(*RIGS))
def test_every_act_of_the_catalogue_can_be_done_and_tells_in_a_sentence(rig: str) -> None:
    """Each act after what it waits for, one after the other, as the page would offer them."""
    call = Scenario(title="A call", brief="It will not draw.", rig=rig, site=SiteChoice(lift_m=3.0))
    attempt = Attempt(call, MemoryStore(), seed=5)
    done = set()
    offered = [view for view in attempt.available_actions() if view.kind in ("check", "remedy")]
    offered.sort(key=lambda view: view.kind)  # looks first: work closes the calls
    for view in offered:
        make_ready(attempt, Step(view.action, view.args, ""))
        reply = attempt.act(view.action, view.args)
        assert reply.accepted, (view.id, reply.sentence)
        assert reply.sentence.endswith("."), (view.id, reply.sentence)
        assert not re.search(r"[{}]|\bNone\b|\bnan\b", reply.sentence), (view.id, reply.sentence)
        done.add(view.id)
    page = build_page(attempt)
    items = {item["id"]: item for place in page["places"] for item in place["items"]}
    assert all(items[name]["done"] for name in done)
    assert page["rig"]["parts"]["line"] == "good"
    assert attempt.yard.ended == ""


def test_a_dry_pump_runs_no_longer_for_a_look_than_the_line_below_says() -> None:
    said = entry("panel.next")
    assert all("three minutes at most" in said[key] for key in ("overdue", "overdue_lost"))
    looks = [check for check in CHECKS.values() if "running" in check.needs and check.id not in VACUUM_RUNS]
    assert max(check.minutes for check in looks) == 3.0
