"""The own pump's desk without a browser: fields, units, a start pasted, the fit, into class and back, every place."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simulator.errors import InputError
from simulator.measured.figures import MEASURES
from simulator.measured.fit import with_factors
from simulator.measured.judging import Refusal
from simulator.measured.start import TimedStart, needle_of
from simulator.panels.learner.next_call import next_rig
from simulator.panels.lessons.registry import DESKS, LESSONS, lesson
from simulator.panels.trainer.own_pump.draft import Draft, new_fields, read_fields, written_fields
from simulator.panels.trainer.own_pump.keeping import MEASURED, legal_name
from simulator.panels.trainer.own_pump.outcome import refusal_words
from simulator.panels.trainer.own_pump.page import OwnPump
from simulator.panels.trainer.own_pump.typing import beside, shown
from simulator.rig.own_rigs import ENDING, OWN_RIGS, read_own_rig, rig_text
from simulator.rig.presets import load_rig, rig_names, shipped_rig_names, standard_site

FORM = {"hose_bore_mm": "150", "hose_length_m": "12", "joints": "4", "casing_volume_l": "45", "cock": "yes"}
START = {"start.lift_m": "4.5", "start.hose_length_m": "16"}
NAME = "pump_7"
Click = Callable[..., dict[str, object]]


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "rigs"
    monkeypatch.setenv(OWN_RIGS, str(folder))
    return folder


@pytest.fixture(scope="module")
def measured() -> tuple[str, str]:
    """A start of a rig that draws a tenth less than its size would say: table and prime time, as written down."""
    rig = with_factors(load_rig("osier"), (0.9, 1.0, 1.0))
    place = TimedStart(4.5, 16.0, 0.15, math.nan, (), ())
    needle = needle_of(rig, place, 200.0, 1.1)
    times = tuple(float(t) for t in np.arange(10.0, needle.prime_time, 10.0))
    rows = [f"{t:.0f};{v / 1e3:.0f}" for t, v in zip(times, needle.at(times), strict=True)]
    return "\n".join(["time;kPa", *rows]), f"{needle.prime_time:.0f}"


@pytest.fixture
def page(new_session: Callable[[], object]) -> OwnPump:
    made = OwnPump(new_session())
    made.desk()
    return made


def fill(page: OwnPump, click: Click, measured: tuple[str, str], **more: str) -> None:
    for field, value in {**FORM, **START, "start.prime_s": measured[1], **more}.items():
        click(page, "edit", field=field, value=value)
    click(page, "paste", text=measured[0])


def said(page: OwnPump) -> str:
    return " ".join(" ".join(b.get("paragraphs", ())) for b in page.desk().content["blocks"])


def field(page: OwnPump, name: str) -> dict[str, object]:
    groups = page.desk().block("form")["groups"]
    return next(each for group in groups for each in group["fields"] if each["id"] == name)


def test_the_desk_stands_beside_the_lessons_and_in_no_learners_list() -> None:
    assert not set(DESKS) & set(LESSONS)
    links = [link["file"] for link in lesson("00").what_next().block("desks")["links"]]
    assert DESKS["pump"].notebook in links
    assert DESKS["pump"].notebook not in [
        item["file"] for item in lesson("00").welcome().block("lessons")["items"]
    ]


def test_at_most_fifteen_things_are_measured_each_with_a_picture_that_is_drawn(page: OwnPump) -> None:
    groups = page.desk().block("form")["groups"]
    asked = [each for group in groups if group["id"] not in ("start", "readings") for each in group["fields"]]
    assert {each["id"] for each in asked} == set(MEASURES)
    assert len(asked) <= 15
    source = (
        Path(__file__).parents[3] / "simulator/panels/screen/src/lesson/measure_pictures.js"
    ).read_text()
    for each in (*asked, *groups[-2]["fields"]):
        drawing = str(each["drawing"])
        assert f"{drawing}:" in source or f'"{drawing}":' in source, drawing


def test_what_is_not_asked_is_told_with_why(page: OwnPump, click: Click) -> None:
    click(page, "edit", field="hose_bore_mm", value="310")
    block = page.desk().block("stays")
    assert "Reed" in block["title"]
    assert len(block["rows"]) > 8
    assert all(all(cell for cell in row) for row in block["rows"])
    assert "Empty: as Reed, 240 L." in str(field(page, "casing_volume_l")["hint"])


def test_a_start_is_fitted_and_the_rig_stands_in_class(
    page: OwnPump, click: Click, measured: tuple[str, str], own: Path
) -> None:
    fill(page, click, measured)
    click(page, "fit")
    assert "It can be used in class." in said(page)
    chart = page.desk().block("curve")
    assert [line["style"] for line in chart["lines"]] == ["main", "other", "third"]
    assert len(page.desk().block("factors")["rows"]) == 3
    assert page.desk().block("places")["items"]
    first = click(page, "save", name="Pump 7")
    assert "is in class now" in str(first["sentence"])
    written = (own / f"{NAME}{ENDING}").read_bytes()
    assert (
        rig_text(read_own_rig(written, NAME), "an own pump: measured, and fitted to one timed start").encode()
        == written
    )
    kept = (own / f"{NAME}{MEASURED}").read_bytes()
    assert written_fields(read_fields(kept, NAME)) == kept
    rig = load_rig(NAME)
    assert len(rig.suction_hose.joints) == 4
    assert rig.has_isolating_cock
    assert page.desk().block("use")["state"] == "in class"


def test_opened_again_it_fits_the_same_and_saves_the_same_bytes(
    page: OwnPump, click: Click, measured: tuple[str, str], own: Path, new_session: Callable[[], object]
) -> None:
    fill(page, click, measured)
    click(page, "fit")
    click(page, "save", name="Pump 7")
    before = {path.name: path.read_bytes() for path in own.iterdir()}
    again = OwnPump(new_session())
    again.desk()
    click(again, "open", which=NAME)
    assert again.draft.fields == page.draft.fields
    click(again, "fit")
    click(again, "save", name="Pump 7")
    assert {path.name: path.read_bytes() for path in own.iterdir()} == before


def test_no_name_is_written_over_unasked_and_the_last_use_is_taken_back(
    page: OwnPump, click: Click, measured: tuple[str, str], own: Path
) -> None:
    own.mkdir()
    old = rig_text(replace(load_rig("reed"), name=NAME, title="Another")).encode()
    (own / f"{NAME}{ENDING}").write_bytes(old)
    fill(page, click, measured)
    click(page, "fit")
    asked = click(page, "save", name="Pump 7")
    assert "already" in str(asked["sentence"])
    assert (own / f"{NAME}{ENDING}").read_bytes() == old
    assert page.desk().block("use")["button"] == "Write over it"
    click(page, "save", name="Pump 7")
    assert load_rig(NAME).title == "Pump 7"
    click(page, "take_back")
    assert (own / f"{NAME}{ENDING}").read_bytes() == old
    assert not (own / f"{NAME}{MEASURED}").exists()
    refused = click(page, "save", name="Osier")
    assert "came with the lessons" in str(refused["sentence"])


def test_nothing_goes_into_class_without_a_fit_that_holds(
    page: OwnPump, click: Click, measured: tuple[str, str], own: Path
) -> None:
    fill(page, click, measured)
    assert "First fit" in str(click(page, "save", name="Pump 7")["sentence"])
    click(page, "edit", field="start.prime_s", value="400")
    assert "The last reading is at" in said(page)
    click(page, "fit")
    click(page, "save", name="Pump 7")
    assert not own.exists()


def test_pasted_lines_that_cannot_be_read_are_told_and_stay_in_their_box(page: OwnPump, click: Click) -> None:
    written = "time;kPa\n10;7\n20;much\n0:30;21,5\n"
    click(page, "edit", field="paste", value=written)
    click(page, "take_paste")
    assert page.draft.fields["paste"] == written
    assert "Line 3 (20;much): the second figure is no vacuum." in str(field(page, "paste")["problem"])
    rows = page.desk().block("form")["groups"][-1]["readings"]["rows"]
    assert [cell["value"] for cell in rows[1]["cells"]] == ["30", "21.5"]
    click(page, "undo")
    assert page.draft.fields["r.1.v"] == ""


def test_a_row_that_cannot_be_read_is_told_at_the_row(page: OwnPump, click: Click) -> None:
    click(page, "edit", field="r.0.v", value="8")
    click(page, "edit", field="r.1.v", value="deep")
    rows = page.desk().block("form")["groups"][-1]["readings"]["rows"]
    assert rows[1]["problem"] == "Row 2: the second figure is no vacuum."
    assert rows[0]["problem"] == ""


#: Field, what is typed, words of what is said.
IMPOSSIBLE = [
    ("hose_bore_mm", "wide", "this is no figure. Legal: 50 to 400 mm"),
    ("hose_bore_mm", "6 bar", "this is no figure. Legal: 50 to 400 mm"),
    ("hose_bore_mm", "20", "this is out of range. Legal: 50 to 400 mm"),
    ("hose_length_m", "3", "this is out of range. Legal: 7 to 60 m"),
    ("joints", "2.5", "this is no whole number. Legal: 1 to 12"),
    ("joints", "40", "this is out of range. Legal: 1 to 12"),
    ("casing_volume_l", "-4", "this is out of range. Legal: 4 to 800 L"),
    ("casing_height_m", "9", "this is out of range. Legal: 0.2 to 2 m"),
    ("engine_speed_rpm", "60", "this is out of range. Legal: 900 to 3600 rpm"),
    ("engine_power_kw", "0", "this is out of range. Legal: 3 to 800 kW"),
    ("pump_head_m", "500", "this is out of range. Legal: 8 to 120 m"),
    ("pump_flow_l_s", "1", "this is out of range. Legal: 3 to 1500 L/s"),
    ("compressor_l_s", "500", "this is out of range. Legal: 1.5 to 95 L/s"),
    ("motive_bar", "40", "this is out of range. Legal: 1.5 to 12 bar"),
    ("start.lift_m", "11", "this is out of range. Legal: 0.5 to 9 m"),
    ("start.hose_length_m", "4", "the hose is too short for the lift"),
    ("start.prime_s", "1:75", "this is no figure. Legal: 5 to 900 s"),
    ("start.altitude_m", "9000", "this is out of range. Legal: -400 to 4000 m"),
]


@pytest.mark.parametrize(("name", "typed", "words"), IMPOSSIBLE)
def test_what_cannot_be_is_said_at_its_field_with_what_would_be_legal(
    page: OwnPump, click: Click, name: str, typed: str, words: str
) -> None:
    for each, value in {**FORM, **START, name: typed}.items():
        click(page, "edit", field=each, value=value)
    assert words in str(field(page, name)["problem"])
    assert page.desk().block("form")["problems"] == "1 thing to put right: see the field marked."


def test_the_other_units_say_the_same_and_back_again(
    page: OwnPump, click: Click, measured: tuple[str, str]
) -> None:
    fill(page, click, measured)
    before = page.draft.taken()
    click(page, "units", value="us")
    after = page.draft.taken()
    assert page.draft.fields["hose_bore_mm"] == "5.906"
    assert field(page, "casing_volume_l")["unit"] == "gal"
    assert after.values == pytest.approx(before.values, rel=2e-3)
    assert after.start is not None
    assert before.start is not None
    assert after.start.vacuums == pytest.approx(before.start.vacuums, rel=5e-3)
    click(page, "units", value="metric")
    assert page.draft.taken().values == pytest.approx(before.values, rel=2e-3)


def test_another_nearest_rig_is_told_loudly_with_what_it_changes(page: OwnPump, click: Click) -> None:
    click(page, "edit", field="compressor_l_s", value="8")
    asides = {block["id"]: block for block in page.desk().content["blocks"]}
    said = " ".join(asides["other_rig"]["paragraphs"])
    assert asides["other_rig"]["tone"] == "wait"
    assert "Sedge" in said
    assert "Osier" in said
    assert "12 kW" in said  # what an empty field comes to now
    click(page, "edit", field="hose_bore_mm", value="150")
    said = " ".join(page.desk().block("other_rig")["paragraphs"])
    assert said.index("Osier") < said.index("Sedge")
    click(page, "edit", field="hose_length_m", value="8")
    click(page, "edit", field="casing_volume_l", value="20")
    assert "Osier" in " ".join(page.desk().block("beside")["paragraphs"])
    click(page, "heard_other_rig")
    assert "other_rig" not in {block["id"] for block in page.desk().content["blocks"]}


def test_figures_read_as_a_pump_man_writes_them() -> None:
    assert beside("65", "pump_flow_l_s", "metric") == "1030 gpm"
    assert beside("1500", "pump_flow_l_s", "metric") == "23800 gpm"
    assert beside("0.01", "casing_height_m", "metric") == "0.0328 ft"
    for key, measure in MEASURES.items():
        for value in (measure.low, measure.high):
            for system in ("metric", "us"):
                typed = shown(value, key, system)
                assert "e" not in typed + beside(typed, key, system).split(" ")[0], key


def test_every_step_can_be_taken_back(page: OwnPump, click: Click) -> None:
    for n in range(35):
        click(page, "edit", field="hose_bore_mm", value=str(100 + n))
    for n in reversed(range(34)):
        click(page, "undo")
        assert page.draft.fields["hose_bore_mm"] == str(100 + n)
    click(page, "redo")
    assert page.draft.fields["hose_bore_mm"] == "101"


def test_a_file_of_figures_that_is_none_is_refused_and_a_foreign_key_left_out() -> None:
    with pytest.raises(InputError, match="measured figures"):
        read_fields(b"format: pump-rig\nversion: 1\n", "a file")
    written = written_fields({**new_fields(), "hose_bore_mm": "150"}).replace(
        b"fields:\n", b"fields:\n  evil: '1'\n"
    )
    assert read_fields(written, "a file") == {**new_fields(), "hose_bore_mm": "150"}
    assert Draft(read_fields(written, "a file")).taken().values == {"hose_bore_mm": 150.0}
    more = {**new_fields(), "r.30.t": "45", "r.30.v": "38"}  # a row further than the form begins with
    assert read_fields(written_fields(more), "a file").items() >= more.items()
    for title in ("", "  ", "??", "osier"):
        with pytest.raises(InputError):
            legal_name(title)


# every place that a rig of the class is offered in


@pytest.fixture
def in_class(own: Path) -> str:
    """An own rig in class, with a hose and a name of its own."""
    own.mkdir()
    rig = with_factors(load_rig("osier"), (0.9, 1.1, 1.0))
    rig = replace(rig, name=NAME, title="Pump 7 & <b>sons</b>", has_isolating_cock=True)
    (own / f"{NAME}{ENDING}").write_text(rig_text(rig), encoding="utf-8")
    return NAME


def test_it_is_offered_in_the_call_builder_and_a_call_on_it_is_saved_and_played(
    in_class: str,
    new_session: Callable[[], object],
    click: Click,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from simulator.attempt import Attempt, MemoryStore
    from simulator.panels.trainer.call_builder.page import CallBuilder
    from simulator.scenario import load_scenario

    monkeypatch.setenv("SIMULATOR_CALLS_DIR", str(tmp_path / "calls"))
    builder = CallBuilder(new_session())
    builder.desk()
    options = next(f for f in builder.desk().block("form")["groups"][0]["fields"] if f["id"] == "rig")[
        "options"
    ]
    assert in_class in [option["id"] for option in options]
    click(builder, "edit", field="rig", value=in_class)
    click(builder, "add", fault="drain_open")
    assert builder.problems == []
    assert "it primes after" in builder.desk().block("starts")["paragraphs"][0]
    click(builder, "save", name="Own pump call")
    call = load_scenario(tmp_path / "calls" / "own_pump_call.scenario.yaml")
    assert call.rig == in_class
    assert Attempt(call, MemoryStore(), seed=1).snapshot().rig


def test_it_is_offered_on_the_bench_and_runs_there(in_class: str) -> None:
    from simulator.panels.trainer.bench.panel import BenchPanel
    from simulator.panels.trainer.bench.run import Act, BenchRun, Setting

    panel = BenchPanel()
    assert in_class in str(panel.page)
    run = BenchRun(Setting(rig=in_class), (Act(0, "start", {}),))
    assert np.isfinite(run.samples(1, 0, 300, inside=True).data).any()


def test_it_is_offered_in_the_planner_with_its_own_times(in_class: str) -> None:
    from simulator.panels.lessons.how_long_should_it_take.planning import SetUp, expected, expected_run

    ours, theirs = (SetUp(rig=name, length=10.0, lift=3.0) for name in (in_class, "osier"))
    assert expected_run(ours).prime_time > expected_run(theirs).prime_time + 1.0
    plan = expected(ours)
    assert plan.low < plan.time < plan.high
    rigs = lesson("02").planning.block()["rigs"]
    assert in_class in [each["value"] for each in rigs]


def test_its_yard_card_is_offered_among_the_papers(in_class: str) -> None:
    from simulator.panels.papers.__main__ import sheets
    from simulator.panels.papers.shelf import Shelf

    assert f"yard-card-{in_class}.html" in [name for name, _, _ in sheets()]
    buttons = next(block for block in Shelf().part().content["blocks"] if block["id"] == "make")["buttons"]
    assert in_class in [button["args"]["sheet"] for button in buttons]


@pytest.mark.full
def test_its_yard_card_is_made(in_class: str) -> None:
    from simulator.panels.papers.shelf import Shelf

    card = Shelf().sheet(in_class)
    assert "Pump 7 &amp; &lt;b&gt;sons" in card
    assert "<b>sons" not in card


def test_a_field_sheet_is_filled_in_for_it(in_class: str, new_session: Callable[[], object]) -> None:
    from simulator.panels.lessons.field_sheet.form import blank_form, clean_form, parse_form

    form = clean_form(blank_form() | {"rig": in_class, "rows": [["20", "18", ""]]})
    assert form["rig"] == in_class
    sheet, problems = parse_form(form)
    assert problems == []
    assert sheet is not None
    assert sheet.rig.name == in_class


def test_practice_calls_are_drawn_on_it(in_class: str) -> None:
    from simulator.scenario import build, random_scenario

    drawn = {next_rig("usual", Counter(), random.Random(seed)) for seed in range(60)}
    assert in_class in drawn
    assert drawn <= set(rig_names())
    for seed in range(4):
        call = random_scenario(seed, "usual", rig=in_class)
        assert call.rig == in_class
        assert build(call)[0].name == in_class


def test_a_practice_call_is_drawn_though_an_own_rig_cannot_stand_there(own: Path) -> None:
    from simulator.attempt import MemoryStore
    from simulator.panels.learner.next_call import next_scenario
    from simulator.rig.hose_length import with_hose_length

    own.mkdir()
    short = with_hose_length(replace(load_rig("osier"), name="short", title="Short"), 3.0)
    (own / f"short{ENDING}").write_text(rig_text(short), encoding="utf-8")
    assert "short" in rig_names()
    for seed in range(12):
        assert next_scenario(MemoryStore(), "Ada", "usual", random.Random(seed)).rig in rig_names()


def test_what_came_with_the_lessons_is_as_it_was(in_class: str) -> None:
    assert rig_names()[:4] == shipped_rig_names()
    assert standard_site(in_class) == standard_site("osier")


def test_a_near_miss_is_told_a_way_on_in_ones_own_units() -> None:
    said = {"share": 0.131, "most": 0.12, "every": 5.0, "length": 19.0, "would": 0.081}
    why, then = refusal_words(Refusal("wide", dict(said)), "us")
    assert "unsure by 13 %. The most is 12 %" in why
    assert "with 62 ft of hose, and read every 5 s. That should bring it to about 8 %" in then
    assert "longer hose" in refusal_words(Refusal("wide", {"share": 0.2, "most": 0.12}), "metric")[1]
