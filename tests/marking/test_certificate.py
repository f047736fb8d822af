"""A certificate sitting: forms by the blueprint, sealed until its end, resumed after a killed kernel."""

from __future__ import annotations

import itertools
import json
import threading
from datetime import UTC, datetime, timedelta

import pytest

from simulator.attempt import Attempt
from simulator.diagnosis import shipped
from simulator.diagnosis.hypothesis_set import StoppedError, forget
from simulator.errors import InputError, RefusedAct
from simulator.marking.bank import KINDS, BankCase, bank, pack
from simulator.marking.case_result import worked_out
from simulator.marking.certificate import Sitting, history
from simulator.marking.certificate_forms import FIRST, draw_form, form_fits, mean_difficulty
from simulator.marking.certificate_page import certificate_html
from simulator.marking.decision import FIVE, Rule, rule_of
from simulator.marking.rig_state import proves
from simulator.marking.signed import sign_marks
from simulator.records import Store
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig
from simulator.scenario import Scenario, build, sound_rig
from simulator.scenario.choices import SiteChoice, choose_fault
from simulator.signing.ring import make_key

FAULT_OF = {
    "air_gets_in": ("drain_open", 1.0),
    "air_not_drawn_out": ("belt_loose", 0.7),
    "water_cannot_come": ("strainer_plugged", 0.99),
    "good_or_gauge": ("", 0.0),
    "loses_it": ("strainer_clogs", 0.96),
}


def small_bank(each: int = 2) -> tuple[BankCase, ...]:
    """A few cases of each kind, all at one site, so that all tests share one set of hypotheses."""
    out = []
    for slot, (fault, size) in FAULT_OF.items():
        for number in range(each):
            faults = (choose_fault(fault, size),) if fault else ()
            scenario = Scenario(
                title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0), faults=faults,
                mode="assessment", seed=number,
            )  # fmt: skip
            out.append(BankCase(f"{slot}{number}", slot, 10.0, pack(scenario)))
    return tuple(out)


@pytest.fixture
def store(tmp_path):
    ticks = itertools.count()
    begun = datetime(2026, 3, 2, 8, tzinfo=UTC)
    with Store.open(
        tmp_path / "records.sqlite3", now=lambda: begun + timedelta(seconds=next(ticks))
    ) as found:
        yield found


def begin(store, learner: str = "Ash", seed: int = 1) -> Sitting:
    return Sitting.begin(store, learner, seed=seed, cases=small_bank(4), target=50.0)


def give_up_all(sitting: Sitting) -> None:
    while not sitting.over:
        sitting.attempt().act("give_up")


def test_every_form_of_the_bank_keeps_both_blueprints_the_minutes_and_the_difficulty() -> None:
    cases, target = bank()
    mean = mean_difficulty(cases)
    totals, kinds = [], set()
    for seed in range(40):
        form = draw_form(seed)
        assert sorted(case.slot for case in form[:5]) == sorted(FIRST)
        more = [case.slot for case in form[5:]]
        assert max(more.count(kind) for kind in more) <= 2
        kinds.add(tuple(sorted(more)))
        assert form_fits(form, target, mean)
        totals.append(sum(case.minutes for case in form[:5]))
    assert max(totals) / min(totals) <= 1.10
    assert len(kinds) >= 6, "who counts the kinds cannot tell what is left"
    assert len({tuple(case.id for case in draw_form(seed)) for seed in range(40)}) > 20
    assert len({case.id for case in cases}) == len(cases)


def test_a_form_that_somebody_has_put_together_does_not_fit() -> None:
    cases, target = bank()
    mean, form = mean_difficulty(cases), draw_form(3)
    assert not form_fits(form[5:] + form[:5], target, mean)
    assert not form_fits((*form[:9], form[0]), target, mean)
    easiest = {
        kind: sorted((c for c in cases if c.slot == kind), key=lambda c: c.difficulty) for kind in KINDS
    }
    easy = [easiest[kind].pop(0) for _ in range(2) for kind in FIRST]
    assert not form_fits(easy, target, mean, slack=2.0)
    assert not form_fits(
        (*form[:5], *[case for case in cases if case.slot == "good_or_gauge"][:5]), target, mean
    )


@pytest.mark.parametrize("learner", range(3))
def test_the_bank_covers_six_sittings_of_ten_without_a_case_twice(learner: int) -> None:
    used: list[str] = []
    for sitting in range(6):
        used += [case.id for case in draw_form(100 * learner + sitting, used)]
    assert len(set(used)) == 60
    seventh = draw_form(learner, used)
    assert len({case.id for case in seventh}) == 10
    oldest = [used.index(case.id) for case in seventh]
    assert sorted(oldest)[5] < 40, "of those met the longest ago come first"


def test_every_case_of_the_bank_loads_fits_its_slot_and_needs_mending() -> None:
    for case in bank()[0]:
        scenario = case.scenario()
        assert scenario.mode == "assessment"
        assert {FAULTS[name].family for name in scenario.fault_ids} <= set(KINDS[case.slot])
        if case.slot != "good_or_gauge":
            assert not proves(*build(scenario), sound_rig(scenario)), case.id


def test_who_calls_names_the_rig_that_is_there() -> None:
    names = {rig: load_rig(rig).title for rig in ("osier", "alder", "reed", "sedge")}
    for case in bank()[0]:
        scenario = case.scenario()
        others = [title for rig, title in names.items() if rig != scenario.rig]
        assert not [title for title in others if f"The {title} " in scenario.brief], scenario.brief


def test_the_file_tells_no_answer_at_a_glance() -> None:
    written = json.dumps([case.sealed for case in bank()[0]])
    assert not any(name in written for name in FAULTS if len(name) > 6)


def test_a_retake_draws_cases_not_met_before() -> None:
    first = draw_form(1, (), small_bank(4), 50.0)
    for seed in range(5):
        again = draw_form(seed, [case.id for case in first], small_bank(4), 50.0)
        assert not {case.id for case in first} & {case.id for case in again}


def test_a_grave_breach_is_never_averaged_away() -> None:
    for rule in (FIVE, Rule()):
        assert rule.decide([99.0] * 5, [False] * 5) == "passed"
        assert rule.decide([20.0] * 5, [False] * 5) == "failed"
        for grave in itertools.product((False, True), repeat=5):
            assert (rule.decide([100.0] * 5, grave) == "passed") == (not any(grave))
        assert rule.decide([100.0] * 9, [True] + [False] * 8) == "failed"


def test_sittings_of_older_releases_keep_their_rule() -> None:
    older = {"pass_mark": 70.0, "least": 5, "most": 10, "z": 1.1, "case_sd": 24.0}
    assert rule_of({"rule": older}) == Rule(z=1.1, as_met=False)
    assert FIVE.decide([70.0] * 5) == "passed"
    assert FIVE.decide([69.9] * 5) == "failed"


def test_one_more_case_is_asked_for_as_long_as_the_mean_is_close() -> None:
    rule = Rule()
    close = rule.pass_mark + 0.9 * rule.z * rule.error(10)
    assert [rule.decide([close] * n) for n in range(1, 10)] == ["one_more"] * 9
    assert rule.decide([close] * 10) == "undecided"
    far = rule.z * rule.error(5)
    assert rule.decide([rule.pass_mark + far + 0.01] * 5) == "passed"
    assert rule.decide([rule.pass_mark - far - 0.01] * 5) == "failed"


def test_nothing_is_shown_before_the_end(store) -> None:
    sitting = begin(store)
    assert [case.state for case in sitting.cases] == ["waiting"] * 5
    for number in range(1, 6):
        with pytest.raises(RefusedAct):
            sitting.result()
        attempt = sitting.attempt()
        assert sitting.current == number
        attempt.act("give_up")
        assert attempt.snapshot().truth is None
        assert [store.marks(row.attempt_id) for row in store.list_attempts("Ash")] == [[]] * (number + 1)
    with pytest.raises(RefusedAct):
        sitting.attempt()
    result = sitting.result()
    assert not result.passed
    assert result.complete
    assert all(case.truth and case.parts for case in result.cases)


def test_what_is_worked_out_beforehand_is_kept_nowhere_and_gives_the_same_marks(
    store, tmp_path, monkeypatch
) -> None:
    sitting = begin(store)
    for number in range(1, 6):
        attempt = sitting.attempt()
        attempt.act("put_on_ppe")
        worker = threading.Thread(target=sitting.prepare, args=(number,))
        worker.start()
        worker.join()
        attempt.act("give_up")
        before = [store.events(row.attempt_id) for row in store.list_attempts("Ash")]
        page = json.dumps(attempt.snapshot().as_dict())
        sitting.prepare(number)
        assert json.dumps(attempt.snapshot().as_dict()) == page
        assert [store.events(row.attempt_id) for row in store.list_attempts("Ash")] == before
        assert [store.marks(row.attempt_id) for row in store.list_attempts("Ash")] == [[]] * (number + 1)
        if number < 5:
            with pytest.raises(RefusedAct):
                sitting.result()
    ready = sitting.result()
    other = Sitting(store, sitting.id)
    assert other.result() == ready
    for case in ready.cases:
        (kept,) = [marks.sheet for marks in store.marks(case.attempt_id)]
        anew = worked_out(Attempt.resume(store, case.attempt_id))
        assert json.loads(json.dumps(anew)) == kept, "worked out anew, the sheet is the same"
    monkeypatch.setenv("SIMULATOR_CACHE_DIR", str(tmp_path))  # where nothing is worked out yet
    monkeypatch.setattr(shipped, "FOLDER", tmp_path)
    forget()
    with pytest.raises(StoppedError):
        sitting.prepare(1, should_stop=lambda: True)


@pytest.fixture
def always_close(monkeypatch: pytest.MonkeyPatch) -> Rule:
    """A passing mark so close to what giving up earns that five cases never decide."""
    rule = Rule(pass_mark=1.0, z=10.0, case_sd=1.0)
    monkeypatch.setattr("simulator.marking.certificate.rule_now", lambda: rule)
    return rule


def test_where_five_cases_do_not_tell_one_more_is_asked_for_up_to_ten(store, always_close: Rule) -> None:
    sitting = begin(store)
    for number in range(1, 11):
        assert (sitting.current, len(sitting.cases)) == (number, max(number, 5))
        sitting.attempt().act("give_up")
        if number < 5:
            continue
        assert sitting.unmarked
        if number == 7:  # a killed kernel has forgotten that it asked for one more, and asks again
            sitting = Sitting(store, sitting.id)
            assert (sitting.current, sitting.asked) == (None, 7)
        if number < 10:
            with pytest.raises(RefusedAct):
                sitting.result()
            assert [store.marks(row.attempt_id) for row in store.list_attempts("Ash")] == [[]] * (number + 1)
            assert [case.state for case in sitting.cases][-1] == "waiting"
            assert not sitting.unmarked
    result = sitting.result()
    assert (result.decision, result.passed, len(result.cases)) == ("undecided", False, 10)
    assert result.error == pytest.approx(10.0**-0.5)
    assert [line.state for line in history(store, "Ash")] == ["undecided"]
    page = certificate_html(result, history(store, "Ash"))
    assert "No decision: come again after practice" in page
    assert "over 10 cases" in page
    assert "perhaps 0.3 marks more or less" in page
    assert Sitting(store, sitting.id).result() == result


def test_what_is_played_on_beyond_the_decision_does_not_count(store) -> None:
    """A changed kernel plays on after the sitting was failed."""
    sitting = begin(store)
    give_up_all(sitting)
    sitting._asked = 6
    sitting.attempt().act("give_up")
    again = Sitting(store, sitting.id)
    assert again.asked == 6
    assert len(again.result().cases) == 5
    assert again.result().decision == "failed"


def test_a_sitting_of_an_older_release_is_read_and_gone_on_with(store) -> None:
    sitting = begin(store)
    record = store.attempt_record(sitting.id)
    sitting.leave()
    old = {name: record[name] for name in record if name != "rule"} | {"cases": record["cases"][:5]}
    older = Sitting(store, store.create_attempt(old))
    assert older.rule == FIVE
    give_up_all(older)
    result = older.result()
    assert (len(result.cases), result.error, result.decision) == (5, None, "failed")
    page = certificate_html(result, history(store, "Ash"))
    assert "over the five cases" in page
    assert "older rule" in page
    assert "standard error" not in page


def test_a_killed_kernel_goes_on_at_the_same_second(store) -> None:
    first = begin(store)
    first.attempt().act("give_up")
    attempt = first.attempt()
    attempt.act("put_on_ppe")
    again = Sitting.latest(store, "Ash")
    assert again is not None
    assert (again.id, again.current) == (first.id, 2)
    assert again.attempt().id == attempt.id
    assert [event["act"] for event in again.attempt().log] == ["begin", "put_on_ppe"]
    give_up_all(again)
    assert Sitting(store, first.id).result() == again.result()


def test_all_sittings_show_and_none_begins_while_one_is_open(store) -> None:
    first = begin(store)
    with pytest.raises(RefusedAct):
        begin(store)
    first.attempt().act("put_on_ppe")
    first.leave()
    second = begin(store, seed=2)
    met = set(first.met)
    assert len(met) == 1
    assert not met & {case["id"] for case in store.attempt_record(second.id)["cases"]}
    give_up_all(second)
    assert [line.state for line in history(store, "Ash")] == ["left", "unmarked"]
    assert not first.result().complete
    second.result()
    lines = history(store, "Ash")
    assert [line.state for line in lines] == ["left", "not_passed"]
    assert [line.number for line in lines] == [1, 2]
    assert lines[0].total == 0.0


def test_a_trainers_signed_marks_count_and_the_automatic_ones_stay(store, tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("SIMULATOR_KEY_DIR", str(tmp_path / "keys"))
    key = make_key("Rowan", datetime(2026, 3, 1, tzinfo=UTC))
    sitting = begin(store)
    give_up_all(sitting)
    before = sitting.result()
    sign_marks(store, before.cases[0].attempt_id, 88.0, key, datetime(2026, 3, 2, tzinfo=UTC))
    after = Sitting(store, sitting.id).result()
    assert (after.cases[0].total, after.cases[0].trainer) == (88.0, 88.0)
    assert after.cases[0].automatic == before.cases[0].automatic
    assert after.total == pytest.approx(before.total + (88.0 - before.cases[0].automatic) / 5.0, abs=0.06)


def test_a_grave_breach_fails_the_sitting(store) -> None:
    sitting = begin(store)
    attempt = sitting.attempt()
    for act in ("put_on_ppe", "secure_discharge"):
        attempt.act(act)
    attempt.act("predict", {"question": "sound_prime_time", "answer": 40})
    attempt.act("call", {"markers": {"something_else": 10}})
    attempt.act("start_engine", {"speed": "rated"})
    attempt.act("check", {"check": "belt"})  # guard off while it runs
    assert attempt.yard.ended == "stopped_for_safety"
    give_up_all(sitting)
    result = sitting.result()
    assert result.grave
    assert not result.passed


def test_a_name_is_asked_for_and_other_records_are_no_sittings(store) -> None:
    with pytest.raises(InputError):
        begin(store, learner=" ")
    other = Attempt(small_bank()[0].scenario(), store, learner="Ash")
    with pytest.raises(InputError):
        Sitting(store, other.id)


def test_the_sheet_shows_all_sittings_the_evidence_and_what_it_is_not(store) -> None:
    name = "Ash <script>alert(1)</script> & Co"
    begin(store, name).leave()
    sitting = begin(store, name, seed=2)
    give_up_all(sitting)
    result = sitting.result()
    page = certificate_html(result, history(store, name))
    assert "<script" not in page
    assert "Ash &lt;script&gt;" in page
    assert "Training aid only" in page
    assert "Practice only, unsigned." in page
    assert "Sitting 2, 2026-03-02" in page
    assert page.count("left before its end") == 1
    for case in result.cases:
        assert f"Case {case.number}" in page
        for part in case.parts:
            for line in part["evidence"]:
                assert line.split(".")[0].split("'")[0] in page
    assert "http" not in page  # nothing is fetched
