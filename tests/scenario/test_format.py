"""The scenario format: whatever does not fit gets a sentence with its line and what would be legal."""

from __future__ import annotations

import json
import pickle
import string
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

import simulator.scenario.files as files_module
from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.onset import COMES_LATER
from simulator.rig.presets import load_rig, standard_site
from simulator.scenario import (
    Scenario,
    SiteChoice,
    build,
    choose_fault,
    load_scenario,
    read_scenario,
    scenario_from,
    scenario_hash,
    scenario_text,
    sound_rig,
)
from simulator.scenario.publish import SCHEMA_FILE, json_schema, schema_text

GOOD = """\
format: callout-scenario
version: 3
title: A call
brief: It will not draw.
rig: osier
hose_length_m: 10
site:
  name: Teal Pond
  lift_m: 3.0
  submergence_m: 1.0
  water_temperature_c: 12
faults:
  - fault: joint_ring
    hole_diameter_mm: 6
    place: joint:2
  - fault: belt_loose
    slip_percent: 70
mode: practice
see_through: false
allowed_checks: [walk_round, belt]
seed: 7
"""


def test_good_file_is_read() -> None:
    call = read_scenario(GOOD)
    assert call.fault_ids == ("joint_ring", "belt_loose")
    assert [choice.size for choice in call.faults] == [0.006, 0.7]
    assert (call.faults[0].place, call.faults[0].rig_place) == ("joint:2", "joint:1")
    assert call.what_is_wrong()[0]["place"] == "joint:1"
    assert call.allowed_checks == ("walk_round", "belt")
    rig, site = build(call)
    assert rig.suction_hose.joints[1].hole_diameter == 0.006
    assert rig.compressor.belt_slip == 0.7
    assert site.water_temperature == pytest.approx(285.15, rel=1e-12)
    assert sound_rig(call)[0] == load_rig("osier")


def test_a_fault_that_comes_while_it_runs_can_come_later() -> None:
    call = read_scenario(GOOD.replace(BELT, CLOGS + "start_s: 200\n    end_s: 260"))
    (ramp,) = build(call)[0].ramps
    assert (ramp.target, ramp.start_time, ramp.end_time, ramp.last) == (
        "strainer_blocked",
        200.0,
        260.0,
        0.98,
    )
    usual = read_scenario(GOOD.replace(BELT, CLOGS))
    assert build(usual)[0].ramps[0].start_time < 200.0
    assert "start_s" not in usual.content()["faults"][1]
    assert scenario_hash(usual) != scenario_hash(call)
    later = [n for n, item in FAULTS.items() if item.places(load_rig()) and item.apply(
        load_rig(), standard_site(), *_middle(n))[0].ramps]  # fmt: skip
    assert later == [n for n, item in FAULTS.items() if item.family == COMES_LATER]


def _middle(name: str) -> tuple[float, str]:
    item = FAULTS[name]
    return item.sizes[len(item.sizes) // 2], item.places(load_rig())[0]


@pytest.mark.parametrize("version", [1, 2])
def test_an_old_file_is_the_same_call_out(version: int) -> None:
    written = GOOD.replace("version: 3", f"version: {version}").replace("joint:2", "joint:1")
    old = read_scenario(written)
    assert old == read_scenario(GOOD)
    assert old.version == 3
    jsonschema.validate(
        yaml.safe_load(written),
        json.loads((SCHEMA_FILE.parent / f"scenario-{version}.schema.json").read_text(encoding="utf-8")),
    )
    # as version 1 hashed it: an open attempt of the older version goes on
    assert scenario_hash(old) == "7b9ea2de6eb9681c88258eae480608d74b991ac45ba2a70202f54f2b39386996"


def test_places_are_counted_from_one_and_from_zero_in_old_files() -> None:
    """The page calls the joint nearest to the water number 1; a message speaks in the numbers of its file."""
    with pytest.raises(InputError, match=r"no place 'joint:4'") as caught:
        read_scenario(GOOD.replace("joint:2", "joint:4"))
    assert caught.value.legal == "joint:1, joint:2, joint:3"
    with pytest.raises(InputError, match=r"'joint:0' has characters") as caught:
        read_scenario(GOOD.replace("joint:2", "joint:0"))
    old = GOOD.replace("version: 3", "version: 2")
    with pytest.raises(InputError, match=r"no place 'joint:3'") as caught:
        read_scenario(old.replace("joint:2", "joint:3"))
    assert caught.value.legal == "joint:0, joint:1, joint:2; version 2 of the format counts from 0"
    with pytest.raises(InputError, match=r"'joint:100' has characters") as caught:
        read_scenario(old.replace("joint:2", "joint:100"))
    assert "joint:0, joint:1" in caught.value.legal
    first = read_scenario(old.replace("joint:2", "joint:0"))
    assert build(first)[0].suction_hose.joints[0].hole_diameter == 0.006
    assert "joint:1" in scenario_text(first)


def test_level_cause_and_discharge_line() -> None:
    call = read_scenario(
        GOOD + "level: 4\ncause: own_mistake\ndischarge_length_m: 80\ndischarge_rise_m: 12\n"
    )
    assert (call.level, call.cause) == (4, "own_mistake")
    line = build(call)[0].discharge
    assert (line.length, line.rise) == (80.0, 12.0)
    plain = call.model_copy(update={"level": None, "cause": ""})
    assert scenario_hash(plain) == scenario_hash(call)  # both are words about it, not part of it
    assert scenario_hash(plain) != scenario_hash(plain.model_copy(update={"discharge_rise_m": 6.0}))
    assert not {"level", "cause"} & set(plain.content())


def test_the_least_file_is_read() -> None:
    call = read_scenario("format: callout-scenario\nversion: 1\ntitle: A\nbrief: B\nsite:\n  lift_m: 3\n")
    assert call.fault_ids == ("sound",)
    assert build(call)[0] == load_rig("osier")
    assert call.site.site() == SiteChoice(lift_m=standard_site().lift).site()


BELT = "- fault: belt_loose\n    slip_percent: 70"
CLOGS = "- fault: strainer_clogs\n    blocked_percent: 98\n    "

# old text, new text, line (of the new file), key in the place, in the sentence, in what is legal
SENTENCES: dict[str, tuple[str, str, int, str, str, str]] = {
    "feet": ("  lift_m: 3.0", "  lift_ft: 10", 9, "site.lift_ft", "not a key", "lift_m"),
    "inches": ("hole_diameter_mm: 6", "hole_diameter_in: 0.25", 14, "hole_diameter_in", "not a key", "diameter_mm"),
    "no unit": ("slip_percent: 70", "slip: 0.7", 17, "faults[2].slip", "not a key", "slip_percent"),
    "slip of the pen": ("see_through", "see_thru", 19, "see_thru", "did you mean 'see_through'", "see_through"),
    "unknown": ("seed: 7", "answer: 7", 21, "answer", "not a key", "title, brief"),
    "too high": ("lift_m: 3.0", "lift_m: 30", 9, "site.lift_m", "30 is out of range", "-5 to 12 m"),
    "too deep": ("submergence_m: 1.0", "submergence_m: -2", 10, "submergence_m", "-2 is out", "-0.5 to 10 m"),
    "ice": ("water_temperature_c: 12", "water_temperature_c: -3", 11, "water_temp", "-3 is out", "0 to 60 C"),
    "hose": ("hose_length_m: 10", "hose_length_m: 500", 6, "hose_length_m", "500 is out", "1 to 100 m"),
    "size": ("slip_percent: 70", "slip_percent: 0.7", 17, "slip_percent", "0.7 is out", "10 to 100 %"),
    "hole": ("hole_diameter_mm: 6", "hole_diameter_mm: 60", 14, "hole_diameter_mm", "60 is out", "1 to 12 mm"),
    "words": ("lift_m: 3.0", "lift_m: three", 9, "site.lift_m", "'three' is not a number", "-5 to 12 m"),
    "quoted": ("lift_m: 3.0", "lift_m: '3.0'", 9, "site.lift_m", "'3.0' is not a number", "-5 to 12 m"),
    "true": ("lift_m: 3.0", "lift_m: yes", 9, "site.lift_m", "true is not a number", "-5 to 12 m"),
    "nothing": ("lift_m: 3.0", "lift_m:", 9, "site.lift_m", "nothing is not a number", "-5 to 12 m"),
    "nan": ("lift_m: 3.0", "lift_m: .nan", 9, "site.lift_m", ".nan is not a number", "finite"),
    "inf": ("slip_percent: 70", "slip_percent: .inf", 17, "slip_percent", ".inf is not a number", "finite"),
    "seed": ("seed: 7", "seed: 7.5", 21, "seed", "7.5 is not a number", "a whole number, 0 to"),
    "negative seed": ("seed: 7", "seed: -1", 21, "seed", "-1 is out of range", "a whole number, 0 to 2147483647"),
    "mode": ("mode: practice", "mode: exam", 18, "mode", "'exam' does not fit", "guided or practice or assessment"),
    "flag": ("see_through: false", "see_through: 0", 19, "see_through", "0 does not fit", "true or false"),
    "title": ("title: A call", "title: [a]", 3, "title", "a list does not fit", "1 to 80"),
    "empty title": ("title: A call", "title: ''", 3, "title", "nothing here", "1 to 80"),
    "long title": ("title: A call", "title: " + "a" * 81, 3, "title", "too much", "1 to 80"),
    "title lines": ("title: A call", 'title: "a\\nb"', 3, "title", "characters", "one line"),
    "fault": ("fault: joint_ring", "fault: gremlins", 13, "faults[1]", "no fault 'gremlins'", "drain_open"),
    "sound": ("fault: joint_ring", "fault: sound", 13, "faults[1]", "sound rig has no fault", "faults: []"),
    "no fault": ("- fault: joint_ring", "- {}\n  - fault: joint_ring", 13, "faults[1]", "'fault' is missing", "drain"),
    "words as fault": ("- fault: joint_ring\n", "- drain_open\n  - fault: joint_ring\n", 13, "faults[1]", "", ""),
    "place": ("place: joint:2", "place: joint:7", 15, "faults[1].place", "no place 'joint:7'", "joint:1, joint:2"),
    "odd place": ("place: joint:2", "place: left", 15, "faults[1].place", "'left'", "joint:1"),
    "no place": ("    place: joint:2\n", "", 13, "faults[1].place", "'place' is missing", "joint:1"),
    "needless place": ("slip_percent: 70", "slip_percent: 70\n    place: joint:0", 18, "place", "'joint:0'", "left out"),
    "missing": ("title: A call\n", "", 1, "title", "'title' is missing", "title"),
    "no lift": ("  lift_m: 3.0\n", "", 7, "site.lift_m", "'lift_m' is missing", "-5 to 12 m"),
    "no site": (GOOD[GOOD.index("site:") : GOOD.index("faults:")], "", 1, "site", "'site' is missing", "lift_m"),
    "site": ("site:\n", "site: pond\nother:\n", 7, "site", "'pond' does not fit", "lift_m"),
    "rig": ("rig: osier", "rig: willow", 5, "rig", "no rig 'willow'", "osier"),
    "rig path": ("rig: osier", "rig: ../osier", 5, "rig", "'../osier'", "osier"),
    "checks": ("[walk_round, belt]", "some", 20, "allowed_checks", "'some' does not fit", "all, or a list"),
    "checks empty": ("[walk_round, belt]", "[]", 20, "allowed_checks", "", "all, or a list"),
    "twice": ("rig: osier", "rig: osier\nrig: osier", 6, "rig", "stands twice", "once"),
    "too new": ("version: 3", "version: 4", 2, "version", "newer program", "version 3"),
    "much too new": ("version: 3", "version: 999", 2, "version", "newer program", "version 3"),
    "too old": ("version: 3", "version: 0", 2, "version", "0 does not fit", "1 to 3"),
    "text version": ("version: 3", "version: '3'", 2, "version", "'3' does not fit", "1 to 3"),
    "true version": ("version: 3", "version: true", 2, "version", "true is no version", "3"),
    "no version": ("version: 3\n", "", 1, "version", "'version' is missing", "3"),
    "level": ("seed: 7", "level: 6", 21, "level", "6 is out of range", "a whole number, 1 to 5"),
    "half a level": ("seed: 7", "level: 2.5", 21, "level", "2.5 is not a number", "a whole number, 1 to 5"),
    "cause": ("seed: 7", "cause: gremlins", 21, "cause", "'gremlins' does not fit", "wear or dirt or weather"),
    "rise": ("seed: 7", "discharge_rise_m: -1", 21, "discharge_rise_m", "-1 is out", "0 to 100 m"),
    "far away": ("seed: 7", "discharge_length_m: 9000", 21, "discharge_length_m", "9000 is out", "0.5 to 2000 m"),
    "when": ("slip_percent: 70", "slip_percent: 70\n    start_s: 9", 18, "start_s", "without end_s", "both, or none"),
    "too late": (BELT, CLOGS + "start_s: 9000\n    end_s: 9100", 18, "start_s", "9000 is out", "0 to 1800 s"),
    "half a time": (BELT, CLOGS + "start_s: 60", 18, "start_s", "without end_s", "both, or none"),
    "back in time": (BELT, CLOGS + "start_s: 60\n    end_s: 60", 19, "end_s", "before it starts", "more than 60 s"),
    "another format": ("format: callout-scenario", "format: pump-rig", 1, "format", "'pump-rig'", "callout-scenario"),
    "no format": ("format: callout-scenario\n", "", 1, "format", "missing", "callout-scenario"),
    "impossible climb": ("lift_m: 3.0", "lift_m: 9", 9, "site.lift_m", "cannot climb 10 m", "at most 9.5 m"),
    "see through": ("see_through: false", "see_through: true", 19, "see_through", "cannot show", "guided"),
    "same fault": ("- fault: belt_loose", "- {fault: drain_open, opening_percent: 9}\n  - fault: belt_loose", 12,
                   "faults", "too much", "at most 2"),
    "tag": ("seed: 7", "seed: !!python/name:os.system 7", 21, "", "tag", "plain"),
    "anchor": ("seed: 7", "seed: &a 7", 21, "", "anchors", "write the values out"),
    "tab": ("  lift_m: 3.0", "\tlift_m: 3.0", 9, "", "not YAML", "lift_m"),
}  # fmt: skip


@pytest.mark.parametrize("name", SENTENCES)
def test_sentence_names_line_and_legal_range(name: str) -> None:
    old, new, line, place, what, legal = SENTENCES[name]
    assert old in GOOD
    with pytest.raises(InputError) as caught:
        read_scenario(GOOD.replace(old, new, 1), "mine")
    error = caught.value
    assert error.where.startswith(f"mine, line {line}"), str(error)
    assert place in error.where, str(error)
    assert what in error.what, str(error)
    assert legal in error.legal, str(error)
    if legal:
        assert error.legal


def test_same_fault_twice() -> None:
    twice = GOOD.replace(
        "  - fault: belt_loose\n    slip_percent: 70\n",
        "  - {fault: joint_ring, hole_diameter_mm: 3, place: 'joint:2'}\n",
    )
    with pytest.raises(InputError, match=r"line 16, faults\[2\]\.fault.*stands twice"):
        read_scenario(twice)
    other = read_scenario(twice.replace("'joint:2'", "'joint:3'"))
    assert build(other)[0].suction_hose.joints[2].hole_diameter == 0.003


@pytest.mark.parametrize(
    "raw", [b"", b"\n\n", b"\x00\x01\x02", b"\xff\xfe\x00", b"[]", b"words", b"- a\n- b\n", b"42"]
)
def test_what_is_no_scenario_at_all(raw: bytes, tmp_path: Path) -> None:
    path = tmp_path / "odd.scenario.yaml"
    path.write_bytes(raw)
    with pytest.raises(InputError, match=r"odd\.scenario\.yaml, line \d") as caught:
        load_scenario(path)
    assert caught.value.legal


def test_a_huge_file_and_a_missing_one(tmp_path: Path) -> None:
    path = tmp_path / "huge.scenario.yaml"
    path.write_bytes(GOOD.encode() + b"# filler\n" * 40_000)
    with pytest.raises(InputError, match="too large"):
        load_scenario(path)
    with pytest.raises(InputError, match="cannot be opened"):
        load_scenario(tmp_path / "none.scenario.yaml")


FINITE = {"allow_nan": False, "allow_infinity": False, "width": 32}
LINE = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Zl", "Zp", "Cs"]), min_size=1, max_size=40
)


HERE = [name for name, item in FAULTS.items() if name != "sound" and item.places(load_rig())]


@st.composite
def scenarios(draw: st.DrawFn) -> Scenario:
    names = draw(st.lists(st.sampled_from(HERE), max_size=2, unique=True))
    faults = []
    for name in names:
        size = FAULTS[name].size
        faults.append(
            choose_fault(
                name,
                draw(st.floats(size.low, size.high)) if size else 0.0,
                draw(st.sampled_from(FAULTS[name].places(load_rig()))),
            )
        )
    mode = draw(st.sampled_from(["guided", "practice", "assessment"]))
    return Scenario(
        title=draw(LINE),
        brief=draw(st.lists(LINE, min_size=1, max_size=3).map("\n".join))
        + draw(st.sampled_from(["", "\n", "\n\n"])),
        hose_length_m=draw(st.none() | st.floats(12.0, 100.0)),
        site=SiteChoice(
            name=draw(st.just("") | LINE),
            lift_m=draw(st.floats(-5.0, 7.5)),
            submergence_m=draw(st.floats(-0.5, 2.0)),
            altitude_m=draw(st.floats(-400.0, 5000.0)),
            air_temperature_c=draw(st.floats(-30.0, 50.0)),
            water_temperature_c=draw(st.floats(0.0, 60.0)),
        ),
        faults=tuple(faults),
        mode=mode,
        see_through=draw(st.booleans()) if mode == "guided" else False,
        allowed_checks=draw(
            st.just("all")
            | st.lists(st.text(string.ascii_lowercase, min_size=1, max_size=40), min_size=1, max_size=3).map(
                tuple
            )
        ),
        seed=draw(st.integers(0, 2**31 - 1)),
    )


FITS = jsonschema.Draft202012Validator(json_schema())  # made once: making it takes longer than asking it


@settings(deadline=None)
@given(scenarios())
def test_round_trip_and_schema(call: Scenario) -> None:
    written = scenario_text(call)
    again = read_scenario(written)
    assert again == call
    assert scenario_hash(again) == scenario_hash(call)
    assert scenario_from(call.content()) == call
    assert yaml.safe_load(written) == call.content()
    FITS.validate(json.loads(json.dumps(call.content())))
    rig, site = build(call)
    for choice in call.faults:
        size = FAULTS[choice.fault].size
        assert size is None or size.low <= choice.size <= size.high
    assert site.lift == call.site.lift_m or "pump_high" in call.fault_ids
    assert site.water_temperature == pytest.approx(call.site.water_temperature_c + 273.15, rel=1e-13)
    assert all(joint.position <= rig.suction_hose.length for joint in rig.suction_hose.joints)


@settings(deadline=None)
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers(-100, 10**9) | st.floats(**FINITE) | st.text(max_size=6),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
        max_leaves=5,
    ),
    st.sampled_from(sorted(yaml.safe_load(GOOD))),
)
def test_any_value_under_any_key_is_read_or_told_in_a_sentence(value: Any, key: str) -> None:
    data = {**yaml.safe_load(GOOD), key: value}
    try:
        scenario_from(data)
    except InputError as error:
        told = error
    else:
        return
    assert told.what
    assert told.where.startswith("scenario, line 1")


def test_schema_is_published_and_judges_as_the_program_does() -> None:
    assert SCHEMA_FILE.read_text(encoding="utf-8") == schema_text()
    jsonschema.Draft202012Validator.check_schema(json_schema())
    validator = jsonschema.Draft202012Validator(json_schema())
    good = yaml.safe_load(GOOD)
    validator.validate(good)
    # what the schema cannot say: other files' names, and what only fits together
    only_program = {
        "place", "rig", "impossible climb", "see through", "twice", "nan", "inf", "true version",
        "half a time", "back in time", "when",
    }  # fmt: skip
    for name, (old, new, *_) in SENTENCES.items():
        try:
            data = yaml.safe_load(GOOD.replace(old, new, 1))
        except yaml.YAMLError:
            continue
        if name in only_program or name == "anchor":
            continue
        assert not validator.is_valid(data), name


def test_hash_says_what_matters() -> None:
    call = read_scenario(GOOD)
    same = call.model_copy(update={"title": "B", "brief": "C", "language": "de"})
    assert scenario_hash(same) == scenario_hash(call)
    assert scenario_hash(read_scenario(GOOD.replace("lift_m: 3.0", "lift_m: 3"))) == scenario_hash(call)
    assert scenario_hash(
        read_scenario(GOOD.replace("[walk_round, belt]", "[belt, walk_round]"))
    ) == scenario_hash(call)
    for old, new in (
        ("lift_m: 3.0", "lift_m: 3.1"),
        ("seed: 7", "seed: 8"),
        ("mode: practice", "mode: assessment"),
        ("hole_diameter_mm: 6", "hole_diameter_mm: 6.5"),
        ("joint:2", "joint:3"),
        ("hose_length_m: 10", "hose_length_m: 11"),
        ("[walk_round, belt]", "all"),
    ):
        assert scenario_hash(read_scenario(GOOD.replace(old, new))) != scenario_hash(call), new
    zero = GOOD.replace("lift_m: 3.0", "lift_m: 0.0")
    assert scenario_hash(read_scenario(zero)) == scenario_hash(read_scenario(zero.replace("0.0", "-0.0")))


def test_a_longer_hose_takes_its_joints_along() -> None:
    rig, _ = sound_rig(read_scenario(GOOD.replace("hose_length_m: 10", "hose_length_m: 20")))
    assert rig.suction_hose.length == 20.0
    assert [joint.position for joint in rig.suction_hose.joints] == [6.6, 13.2, 19.8]
    assert rig.suction_hose.liner.position == 12.0


def test_plain_data_that_is_none() -> None:
    for data in ({"format": object()}, {"seed": float("nan")}, {"title": {1, 2}}):
        with pytest.raises(InputError, match="plain data"):
            scenario_from(data)


def test_choosing_a_fault() -> None:
    with pytest.raises(InputError, match="empty list"):
        choose_fault("sound", 0.0)
    with pytest.raises(InputError, match="10 to 100 %"):
        choose_fault("belt_loose", 70.0)
    assert files_module.ENDING == ".scenario.yaml"


@pytest.mark.parametrize("faults", [("nrv_stuck", 0.0, ""), ("joint_ring", 0.007, "joint:1")])
def test_a_call_out_goes_to_another_process_whole(faults: tuple[str, float, str]) -> None:
    sent = Scenario(
        title="A call",
        brief="It will not draw.",
        site=SiteChoice(lift_m=3.0),
        faults=(choose_fault(*faults),),
    )
    assert pickle.loads(pickle.dumps(sent)) == sent
