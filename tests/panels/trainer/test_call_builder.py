"""The call builder without a browser: fields and loader, steps back and on, files, and what the page shows."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.panels.lessons.practice_yard.call_book import OWN_FOLDER, book_folder, whole_book
from simulator.panels.lessons.registry import DESKS, LESSONS, lesson
from simulator.panels.papers import call_out_keys
from simulator.panels.trainer.call_builder import outlook
from simulator.panels.trainer.call_builder.draft import Draft, data_of, fields_of, problems_of
from simulator.panels.trainer.call_builder.form import groups
from simulator.panels.trainer.call_builder.own_calls import legal_name, own_names, save_call
from simulator.panels.trainer.call_builder.page import CallBuilder
from simulator.panels.trainer.call_sheet.page import wrong_words
from simulator.panels.trainer.figures.page import Figures
from simulator.panels.trainer.own_pump.page import OwnPump
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, rig_names
from simulator.scenario import load_scenario, random_scenario, scenario_from, scenario_text
from simulator.scenario.files import ENDING
from simulator.texts import text

BOOK = sorted(Path(book_folder() or ".").glob(f"*{ENDING}"))
RING = {"site.lift_m": "5", "hose_length_m": "20"}


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "own"
    monkeypatch.setenv(OWN_FOLDER, str(folder))
    return folder


@pytest.fixture
def page(new_session: Callable[[], object]) -> CallBuilder:
    made = CallBuilder(new_session())
    made.desk()
    return made


def build_ring(page: CallBuilder, click: Callable[..., dict[str, object]]) -> None:
    """The call-out with a torn ring at the second joint of a 200 mm rig, that opens after 40 s and grows for 5 min."""
    click(page, "edit", field="rig", value="alder")
    for field, value in RING.items():
        click(page, "edit", field=field, value=value)
    click(page, "press", parts=["joint", "length", "hose"], name="joint", place="joint:2")
    click(page, "add", fault="joint_ring")
    click(page, "edit", field="faults.0.size", value="9")
    click(page, "edit", field="faults.0.start", value="40")
    click(page, "edit", field="faults.0.grows", value="5 min")


def test_a_desk_stands_beside_the_lessons_and_in_no_learners_list() -> None:
    assert "builder" in DESKS
    assert not set(DESKS) & set(LESSONS)
    home = lesson("00").welcome().block("lessons")["items"]
    assert DESKS["builder"].notebook not in [item["file"] for item in home]
    assert lesson("00").what_next().block("desks")["links"][0]["file"] == DESKS["builder"].notebook
    way = lesson("00").welcome().block("to_trainers")["to"]
    assert getattr(lesson("00"), way["part"])().block(way["block"])


def test_the_call_of_a_ring_that_opens_late_is_built_saved_and_opened_again(
    page: CallBuilder, click: Callable[..., dict[str, object]], own: Path
) -> None:
    build_ring(page, click)
    assert page.problems == []
    form = page.desk().block("form")
    assert form["adding"]["options"]
    said = page.desk().block("starts")["paragraphs"]
    assert "primes after" in said[0]
    assert "loses it again" in said[1]
    first = click(page, "save", name="Ring at the pit")
    assert first["accepted"]
    file = own / f"ring_at_the_pit{ENDING}"
    written = file.read_bytes()
    choice = load_scenario(file).faults[0]
    assert (choice.fault, choice.place, choice.times) == ("joint_ring", "joint:2", (40.0, 340.0))
    again = CallBuilder(page.session)
    again.desk()
    click(again, "open", which="own:ring_at_the_pit")
    assert again.scenario == page.scenario
    assert again.draft.written() == written
    click(again, "save", name="ring_at_the_pit")
    assert file.read_bytes() == written


def test_pressing_a_joint_offers_what_can_be_wrong_there(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    click(page, "press", parts=["joint", "length"], name="joint", place="joint:2")
    adding = page.desk().block("form")["adding"]
    assert [option["id"] for option in adding["options"]] == ["joint_ring"]
    assert "joint 2, 6.6 m from the strainer" in adding["label"]
    click(page, "edit", field="hose_length_m", value="20")
    click(page, "press", parts=["joint"], name="joint", place="joint:2")
    assert "joint 2, 13.2 m from the strainer" in page.desk().block("form")["adding"]["label"]


#: Field, what is typed, field at which it is said, words of what is said, words of what would be legal.
IMPOSSIBLE = [
    ("site.lift_m", "30", "site.lift_m", "30 is out of range", "-5 to 12 m"),
    ("site.lift_m", "five", "site.lift_m", "'five' is not a number", "-5 to 12 m"),
    ("site.lift_m", "", "site.lift_m", "missing", "-5 to 12 m"),
    ("site.lift_m", "11", "site.lift_m", "cannot climb", "at most 8.5 m with this hose"),
    ("hose_length_m", "3", "hose_length_m", "cannot climb 4 m", "at least 4.2 m"),
    ("site.submergence_m", "7", "site.submergence_m", "cannot climb", "at most 6.5 m with this hose"),
    ("site.submergence_m", "-3", "site.submergence_m", "-3 is out of range", "-0.5 to 10 m"),
    ("site.altitude_m", "9000", "site.altitude_m", "9000 is out of range", "-400 to 5000 m"),
    ("site.water_temperature_c", "80", "site.water_temperature_c", "80 is out of range", "0 to 60 C"),
    ("hose_length_m", "0", "hose_length_m", "0 is out of range", "1 to 100 m"),
    ("hose_length_m", "12 furlongs", "hose_length_m", "is not a number", "1 to 100 m"),
    ("title", "", "title", "nothing here", "1 to 80 characters"),
    ("brief", "x" * 1600, "brief", "too much here", "1 to 1500 characters"),
    ("level", "9", "level", "9 is out of range", "1 to 5"),
    ("number", "2.5", "number", "is not a number", "1 to 9999"),
    ("language", "English", "language", "does not fit here|do not fit here", "two small letters"),
    ("rig", "oisier", "rig", "no rig", "osier"),
    ("see_through", "yes", "see_through", "cannot show the inside", "guided"),
    ("allowed_checks", "", "allowed_checks", "does not fit", "all, or a list"),
    ("seed", "-1", "seed", "-1 is out of range", "0 to"),
    ("faults.0.size", "40", "faults.0.size", "40 is out of range", "1 to 12 mm"),
    ("faults.0.size", "", "faults.0.size", "missing", "1 to 12 mm"),
    ("faults.0.place", "joint:7", "faults.0.place", "no place 'joint:7'", "joint:1, joint:2, joint:3"),
    ("faults.0.fault", "joint_rings", "faults.0.fault", "did you mean 'joint_ring'", "joint_ring"),
    ("faults.0.start", "9000", "faults.0.start", "9000 is out of range", "0 to 1800 s"),
    ("faults.0.start", "-4", "faults.0.start", "-4 is out of range", "0 to 1800 s"),
    ("faults.0.grows", "-20", "faults.0.grows", "before it starts|out of range", "more than|0 to 1800"),
    ("faults.0.grows", "long", "faults.0.grows", "'long' is not a number", "0 to 1800 s"),
]


@pytest.mark.parametrize(("field", "typed", "at", "what", "legal"), IMPOSSIBLE)
def test_what_cannot_be_is_said_at_its_field(field: str, typed: str, at: str, what: str, legal: str) -> None:
    draft = Draft.new()
    draft.add_fault("joint_ring", "joint:2")
    draft.set(field, typed)
    scenario, problems = draft.checked()
    assert scenario is None
    told = {problem.field: problem for problem in problems}
    assert at in told, problems
    assert any(words in told[at].what for words in what.split("|")), told[at]
    assert any(words in told[at].legal for words in legal.split("|")), told[at]
    draft.undo()
    assert draft.checked()[1] == []


def test_a_hose_too_short_is_told_once_at_what_was_typed_with_what_would_do() -> None:
    draft = Draft.new()
    draft.set("site.lift_m", "5")
    draft.set("hose_length_m", "3")
    draft.set("title", "A short hose")  # typing on elsewhere leaves it where it stands
    scenario, (problem,) = draft.checked()
    assert scenario is None
    assert (problem.field, problem.nearest) == ("hose_length_m", "6.4")
    draft.set("hose_length_m", problem.nearest)
    assert draft.checked()[1] == []
    draft.set("site.lift_m", "9")
    (problem,) = draft.checked()[1]
    assert problem.field == "site.lift_m"
    draft.set("site.lift_m", problem.nearest)
    assert draft.checked()[1] == []


@pytest.mark.parametrize(
    ("field", "typed"),
    [(field, typed) for field, typed, *_ in IMPOSSIBLE]
    + [
        ("faults.0.grows", "99999999"),
        ("cause", "?"),
        ("mode", "hmm"),
        ("faults.0.place", ""),
        ("faults.1.size", ""),
    ],
)
def test_what_is_wrong_is_said_in_the_words_of_the_page(field: str, typed: str) -> None:
    draft = Draft.new()
    draft.add_fault("joint_ring", "joint:2")
    draft.add_fault("air_line_kinked")
    draft.set(field, typed)
    _, problems = draft.checked()
    for group in groups(draft.fields, problems):
        for each in group["fields"]:
            said = each.get("problem", {}).get("sentence", "")
            told = said.replace(typed, "") if len(typed) > 2 else said
            assert not re.search(r"[a-z]_[a-z]|\b(joint|length):\d|e\+\d|the key|mode", told), said


def test_several_mistakes_are_told_at_once_and_the_nearest_legal_value_is_offered(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    for field, value in {"title": "", "site.lift_m": "30", "level": "9"}.items():
        click(page, "edit", field=field, value=value)
    assert {(each.field, each.nearest) for each in page.problems} == {
        ("title", ""),
        ("site.lift_m", "12"),
        ("level", "5"),
    }
    groups = page.desk().block("form")["groups"]
    told = {
        field["id"]: field["problem"] for group in groups for field in group["fields"] if "problem" in field
    }
    assert set(told) == {"title", "site.lift_m", "level"}
    assert told["site.lift_m"]["sentence"] == "Lift: water to pump: 30 is out of range. Legal: -5 to 12 m."
    assert click(page, "save", name="broken")["sentence"] == "First put right what is marked."
    assert own_names() == []


def test_undo_and_redo_over_forty_steps() -> None:
    draft = Draft.new()
    seen = [draft.fields]
    for number in range(36):
        draft.set("site.lift_m", f"{1 + number / 10:g}")
        seen.append(draft.fields)
    for fault in ("belt_loose", "joint_ring"):
        draft.add_fault(fault)
        seen.append(draft.fields)
    for number in (0, 0):
        draft.drop_fault(number)
        seen.append(draft.fields)
    for fields in reversed(seen[:-1]):
        draft.undo()
        assert draft.fields == fields
    assert not draft.can_undo
    for fields in seen[1:]:
        draft.redo()
        assert draft.fields == fields
    assert not draft.can_redo
    draft.undo()
    draft.set("title", "Another way on")
    assert not draft.can_redo


def test_letters_typed_into_one_field_are_one_step() -> None:
    draft = Draft.new()
    for end in range(1, 6):
        draft.set("title", "Frost"[:end], same_word=end > 1)
    draft.undo()
    assert draft.fields == Draft.new().fields


@pytest.mark.parametrize("path", BOOK[::7], ids=lambda path: path.name)
def test_a_file_of_the_book_comes_back_byte_for_byte(path: Path) -> None:
    draft = Draft.opened(path.read_bytes(), path.name)
    assert draft.written() == path.read_bytes()
    draft.set("site.lift_m", "2.5")
    changed = draft.written()
    assert changed != path.read_bytes()
    assert changed.splitlines()[0] == path.read_bytes().splitlines()[0]  # the remark at its head stays
    again = Draft.opened(changed, "again")
    assert again.written() == changed
    draft.undo()
    assert draft.written() == path.read_bytes()


@pytest.mark.full
@pytest.mark.parametrize("path", BOOK, ids=lambda path: path.name)
def test_every_file_of_the_book_comes_back_byte_for_byte(path: Path) -> None:
    draft = Draft.opened(path.read_bytes(), path.name)
    assert draft.written() == path.read_bytes()
    scenario, problems = draft.checked()
    assert (scenario, problems) == (load_scenario(path), [])


def test_files_of_older_versions_open_with_their_places_counted_from_one() -> None:
    old = "format: callout-scenario\nversion: 1\ntitle: Old\nbrief: It will not draw.\nsite: {lift_m: 3}\nfaults:\n"
    old += "- {fault: joint_ring, hole_diameter_mm: 6, place: 'joint:1'}\n"
    draft = Draft.opened(old.encode(), "old")
    assert draft.fields["faults.0.place"] == "joint:2"
    assert draft.written() == old.encode()
    draft.set("title", "Old, seen again")
    assert b"version: 3" in draft.written()


@settings(max_examples=20, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    rig=st.sampled_from(rig_names()),
    late=st.none() | st.tuples(st.integers(0, 900), st.integers(1, 900)),
)
def test_fields_and_file_say_the_same(seed: int, rig: str, late: tuple[int, int] | None) -> None:
    scenario = random_scenario(seed, rig=rig)
    draft = Draft(scenario)
    if late is not None and scenario.faults:
        draft.set("faults.0.start", str(late[0]))
        draft.set("faults.0.grows", str(late[1]))
    made, problems = draft.checked()
    assert problems == []
    assert made is not None
    written = draft.written()
    by_hand = Draft.opened(written, "by hand")
    assert by_hand.written() == written == scenario_text(made).encode("utf-8")
    assert data_of(fields_of(made)) == made.content()
    assert by_hand.checked()[0] == made


@settings(max_examples=20, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(sorted(Draft.new().fields)), st.text(max_size=12) | st.sampled_from(["1e999", "nan", "٣", "0x1"]),
        max_size=6,
    )
)  # fmt: skip
@example({"seed": "1E100"})
def test_whatever_is_typed_there_is_a_call_out_or_a_sentence_at_a_field(typed: dict[str, str]) -> None:
    fields = Draft.new().fields | typed
    scenario, problems = problems_of(fields)
    assert (scenario is None) == bool(problems)
    assert all(problem.field in fields and problem.what for problem in problems)


def test_a_file_written_by_hand_is_taken_over_and_a_wrong_one_leaves_all_as_it_was(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    build_ring(page, click)
    page.text()
    before = page.draft.written().decode()
    click(page, "text", text=before.replace("lift_m: 5.0", "lift_m: 55"))
    block = page.text().block("hand")
    assert "site.lift_m: 55 is out of range. Legal: -5 to 12 m" in block["problem"]
    assert "lift_m: 55" in block["text"]
    assert page.draft.written().decode() == before
    click(page, "text", text=before.replace("lift_m: 5.0", "lift_m: 4.5"))
    assert page.draft.fields["site.lift_m"] == "4.5"
    assert page.text().block("hand")["problem"] == ""
    click(page, "undo")
    assert page.draft.written().decode() == before


def test_the_lists_tell_titles_not_names_of_files(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    book = page.desk().block("form")["files"]["book"]
    assert len({each["label"] for each in book}) == len(book) == len(BOOK)
    scenario = load_scenario(BOOK[0])
    assert book[0]["label"].startswith(f"{scenario.title}: {load_rig(scenario.rig).title}")
    assert page.desk().block("form")["files"]["state"] == text("desks.said.fresh")
    save_call("torn", b"format: callout-scenario\nversion: 3\ntitle: [")
    page.refresh()  # as a page that is loaded again: what was saved is not on the desk, but in the list
    assert page.desk().block("form")["files"]["state"] == text("desks.said.fresh_of_some")
    for name in ("frost", "frost again"):
        click(page, "save", name=name)
    files = page.desk().block("form")["files"]
    title = page.draft.fields["title"]
    assert [each["label"] for each in files["own"]] == [
        f"{title}: Osier (frost)", f"{title}: Osier (frost_again)", "torn"
    ]  # fmt: skip
    assert files["state"] == "saved as frost_again"


def test_saved_without_a_level_it_is_said_that_no_book_shows_it_yet(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    assert "It has no level yet" in str(click(page, "save", name="frost")["sentence"])
    click(page, "level", level=3)
    assert "no level" not in str(click(page, "save", name="frost")["sentence"])


def test_every_field_of_how_it_is_played_that_takes_a_figure_says_what_it_does(page: CallBuilder) -> None:
    (play,) = (group for group in page.desk().block("form")["groups"] if group["id"] == "play")
    hints = {field["id"]: field.get("hint") for field in play["fields"] if field["kind"] != "choice"}
    assert all(hints[name] for name in ("number", "seed", "language"))


def test_a_pump_that_keeps_its_prime_and_sags_is_said_and_marked(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    build_ring(page, click)
    click(page, "edit", field="faults.0.size", value="7")
    said = page.desk().block("starts")["paragraphs"][1]
    assert "Then it sags: less and less water from second 2" in said
    (mark,) = page.desk().block("curve")["marks"]
    assert 200.0 < mark["t"] < 300.0
    click(page, "edit", field="faults.0.size", value="3")
    assert "sags" not in page.desk().block("starts")["paragraphs"][1]
    assert page.desk().block("curve")["marks"] == []
    for rig in (
        rig_names()
    ):  # in good order: the water that fills the line behind the pump is no more than it should be
        click(page, "new")
        click(page, "new")
        click(page, "edit", field="rig", value=rig)
        assert "sags" not in page.desk().block("curve")["spoken"]
        assert page.desk().block("curve")["marks"] == []


@pytest.mark.parametrize("desk", [CallBuilder, Figures, OwnPump])
def test_what_was_typed_into_a_field_that_has_gone_is_told_to_be_heard(
    desk: type[CallBuilder | Figures | OwnPump],
    new_session: Callable[[], object],
    click: Callable[..., dict[str, object]],
) -> None:
    """Else the page would show it in the next field of that name."""
    there = desk(new_session())
    there.desk()
    click(there, "edit", field="faults.0.size", value="9", n=3)
    heard = next(block["heard"] for block in there.desk().content["blocks"] if "heard" in block)
    assert heard == 3


def test_another_file_is_written_over_only_at_the_second_press(
    page: CallBuilder, click: Callable[..., dict[str, object]], own: Path
) -> None:
    save_call("frost", b"not ours")
    assert "already" in str(click(page, "save", name="frost")["sentence"])
    assert (own / f"frost{ENDING}").read_bytes() == b"not ours"
    assert page.desk().block("form")["files"]["over"]
    assert "Saved" in str(click(page, "save", name="frost")["sentence"])
    assert load_scenario(own / f"frost{ENDING}").title == page.draft.fields["title"]
    click(page, "rename", name="thaw")
    assert own_names() == ["thaw"]


def test_a_call_of_the_book_is_copied_and_never_changed(
    page: CallBuilder, click: Callable[..., dict[str, object]], own: Path
) -> None:
    name = BOOK[0].name.removesuffix(ENDING)
    before = BOOK[0].read_bytes()
    assert "copy" in str(click(page, "open", which=f"book:{name}")["sentence"])
    click(page, "edit", field="site.lift_m", value="2.5")
    click(page, "save", name=name)
    assert BOOK[0].read_bytes() == before
    assert own_names() == [name]


def test_what_is_not_saved_is_left_only_at_the_second_press(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    click(page, "edit", field="site.lift_m", value="4")
    assert "Press again" in str(click(page, "new")["sentence"])
    assert page.draft.fields["site.lift_m"] == "4"
    click(page, "new")
    assert page.draft.fields["site.lift_m"] == "3"


def test_a_damaged_file_of_ones_own_is_said_and_changes_nothing(
    page: CallBuilder, click: Callable[..., dict[str, object]], own: Path
) -> None:
    save_call("torn", b"format: callout-scenario\nversion: 3\ntitle: [")
    before = page.draft.fields
    said = click(page, "open", which="own:torn")
    assert not said["accepted"]
    assert "torn, line" in str(said["sentence"])
    assert page.draft.fields == before


def test_ones_own_calls_with_a_level_stand_in_the_yards_book(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    shipped = len(whole_book().calls)
    click(page, "add", fault="belt_loose")
    click(page, "level", level=2)
    click(page, "edit", field="number", value="1")  # one that the book has already
    click(page, "save", name="slack belt")
    calls = whole_book().calls
    assert len(calls) == shipped + 1
    assert len({call.key for call in calls}) == len(calls)


@pytest.mark.parametrize("name", ["..", "", "con", "???", "\x00"])
def test_a_name_that_no_file_can_have_is_refused(name: str) -> None:
    with pytest.raises(InputError) as caught:
        legal_name(name)
    assert caught.value.legal


def test_no_name_leads_out_of_the_folder(own: Path) -> None:
    assert save_call("../../x", b"here").parent == own


def test_trying_it_is_the_exercise_itself(page: CallBuilder, click: Callable[..., dict[str, object]]) -> None:
    build_ring(page, click)
    stack = page.trial()
    click(page, "trial", open=True)
    panel = stack.children[1]
    assert panel.attempt.state.terms.scenario == page.scenario
    click(page, "trial", open=False)
    assert len(stack.children) == 1


def test_look_alikes_and_level_come_from_the_same_reasoning_as_the_marks(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    from simulator.attempt.level import effort
    from simulator.diagnosis.lookalikes import check_label, refusal

    click(page, "add", fault="drain_open")
    page._judging.begin()  # what the page does once nobody types any more
    scenario = page.scenario
    assert scenario is not None
    found = page._judging.hard(scenario)
    assert found is not None
    assert found["level"] == effort(scenario).level
    alike = page._judging.alike(scenario)
    assert alike is not None
    looks = {check_label((name, "joint:1")): item for name, item in CHECKS.items()}
    with_start = [
        (label, "with the start for it" in said)
        for said in alike["alike"]
        for label in looks
        if f"“{label}”" in said
    ]
    assert with_start
    assert all(said == ("running" in looks[label].needs) for label, said in with_start)
    enough = page._judging.enough(scenario)
    assert enough is not None
    assert enough["suffices"] == (refusal(scenario) is None)
    page.refresh()
    assert page.desk().block("hard")["paragraphs"] == [found["sentence"]]


def test_a_hole_in_the_hose_is_told_by_its_way_along_the_hose_not_by_a_joint() -> None:
    hole = {"fault": "hose_hole", "hole_diameter_mm": 5.0, "place": "length:3"}
    call = scenario_from({"format": "callout-scenario", "version": 3, "title": "A call", "brief": "No water.",
                          "rig": "osier", "site": {"lift_m": 3}, "faults": [hole]})  # fmt: skip
    assert wrong_words(call) == "hole in the suction hose, at hose length 3, 8.2 m from the strainer"
    rings = scenario_from(
        call.content() | {"faults": [{"fault": "joint_ring", "hole_diameter_mm": 5.0, "place": "joint:3"}]}
    )
    said = " ".join(outlook.alike(rings)["alike"])
    assert not re.search(r"hole in the suction hose, at joint", said)


def test_a_site_past_what_the_pump_does_well_is_told_as_the_planner_tells_it() -> None:
    for lift, told in (
        (3.0, False),
        (5.0, False),
        (5.5, True),
    ):  # the planner's warning begins at 5.5 m on the Osier
        call = scenario_from({"format": "callout-scenario", "version": 3, "title": "A call", "brief": "No water.",
                              "rig": "osier", "site": {"lift_m": lift}})  # fmt: skip
        good, _ = outlook.both_runs(call)
        assert bool(outlook.rattles_words(good)) is told, lift
    assert "83 kPa" in outlook.rattles_words(good)


def test_what_was_set_is_told_where_it_was_chosen(
    page: CallBuilder, click: Callable[..., dict[str, object]]
) -> None:
    click(page, "press", place="joint:2", name="joint 2", parts=["joint"])
    click(page, "add", fault="joint_ring")
    assert "1 Torn ring at a hose joint, joint 2, 6.6 m" in page.desk().block("form")["adding"]["set"]
    click(page, "add", fault="belt_loose")
    adding = page.desk().block("form")["adding"]
    assert "full" in adding
    assert "; 2 " in adding["set"]


def test_the_catalogue_has_every_key_place_and_range() -> None:
    rows = call_out_keys.rows()
    keys = " ".join(row[0] for row in rows)
    for item in FAULTS.values():
        if item.id == "sound":
            continue
        (row,) = [
            row
            for row in rows
            if row[0] in (f"fault: {item.id}", f"fault: {item.id}, {item.size and item.size.key}")
        ]
        if item.size is not None:
            assert item.size.legal() in row[2]
        for rig in rig_names():
            for place in item.places(load_rig(rig)):
                assert not place or f"{item.kind}:{int(place[-1]) + 1}" in row[2]
    for key in (
        "title",
        "brief",
        "rig",
        "hose_length_m",
        "site.lift_m",
        "start_s",
        "end_s",
        "allowed_checks",
        "seed",
    ):
        assert key in keys
    assert all(text for row in rows for text in row[:2])
