"""Sittings of simulated people: counted right, and nobody who tries to trick the certificate passes it."""

from __future__ import annotations

import pytest

from simulator.marking.bank import bank
from simulator.studies.bank_plays import (
    FIRST_SEED,
    ORDER,
    missing,
    new_table,
    play_case,
    read_table,
    write_table,
)
from simulator.studies.sitters import COMER, SITTERS, TRICKS
from simulator.studies.sittings import (
    EXPERT,
    TOLD,
    WORKS_LIKE,
    Sitter,
    misses,
    page,
    rate,
    rate_of_comer,
    rates_of,
)

SEED = 11  # one for all: the forms of a seed take longer to draw than to be sat


def test_sittings_are_counted_right() -> None:
    good = {case.id: [(95.0, False, True)] for case in bank()[0]}
    bad = {case.id: [(95.0, True, True), (95.0, False, True)] for case in bank()[0]}
    rates = {name: rate(Sitter(name, good), 20, SEED) for name in (EXPERT, *TRICKS)}
    rates[COMER] = rate(Sitter(COMER, bad), 40, SEED)
    assert rates[EXPERT].passes == 1.0
    assert rates[EXPERT].cases == 5.0
    assert 0.0 <= rates[COMER].passes < 0.3  # (1/2)^5 without a grave breach
    assert "20 simulated sittings" in page(rates, SEED)
    assert len(misses(rates)) == len(TRICKS) - 1 + (rates[COMER].passes > 0.05)
    assert len(misses({})) == len(TRICKS) + 1


def test_who_comes_again_has_six_sittings_and_no_more() -> None:
    """Somebody whose cases go well one time in two would need luck five times over."""
    evens = {case.id: [(95.0, False, True), (10.0, False, False)] for case in bank()[0]}
    once, again = rate(Sitter("once", evens), 60, SEED), rate_of_comer(Sitter("again", evens), 60, SEED)
    assert again.cases < 6 * 10
    assert again.passes > once.passes, "coming again helps luck: it must be tried"


def test_a_case_not_played_is_stood_in_for_by_one_of_its_kind() -> None:
    kinds = {case.slot: case.id for case in bank()[0]}
    few = {case: [(95.0, False, True)] for case in kinds.values()}
    assert rate(Sitter("few", few), 5, SEED).passes == 1.0
    assert rates_of({EXPERT: dict(list(few.items())[:4])}, 5, SEED) == {}


def test_a_table_goes_on_where_it_was_stopped(tmp_path) -> None:
    cases = bank()[0][:3]
    table = new_table(7)
    jobs = missing(table, cases, 2, ["expert", "one start"])
    assert [(name, seed) for _, name, seed in jobs[::3]] == [
        ("expert", 7), ("one start", 7), ("expert", 8), ("one start", 8),
    ]  # fmt: skip
    table["plays"]["expert"] = {cases[0].id: [[90.0, False, True]]}
    assert len(missing(table, cases, 1, ["expert"])) == 2
    write_table(table, tmp_path / "plays.json")
    assert read_table(tmp_path / "plays.json") == table
    assert set(ORDER) <= set(SITTERS)


def test_the_table_that_comes_with_the_package_is_of_its_bank_and_holds() -> None:
    """What the published figures rest on; the full tier plays some of it again."""
    known = {case.id for case in bank()[0]}
    plays = read_table()["plays"]
    assert {case for own in plays.values() for case in own} <= known
    assert misses(rates_of(plays, 300, SEED)) == []


@pytest.mark.full
@pytest.mark.parametrize("person", ["expert", "one start", "slips 30", "kind known"])
def test_a_play_of_the_table_played_again_is_the_same(person: str) -> None:
    table = read_table()
    known = {case.id: case for case in bank()[0]}
    case = sorted(table["plays"][person])[0]
    again = play_case((known[case], person, int(table["seed"])))
    assert again == (case, person, table["plays"][person][case][0])
    assert table["seed"] == FIRST_SEED


@pytest.mark.full
def test_on_other_chance_too_nobody_tricks_it() -> None:
    table = new_table(90_000)
    own = [
        case for kind in {c.slot for c in bank()[0]} for case in [c for c in bank()[0] if c.slot == kind][:4]
    ]
    for job in missing(
        table, own, 1, [*dict.fromkeys(WORKS_LIKE.get(name, name) for name in (EXPERT, *TRICKS, TOLD))]
    ):
        case, name, play = play_case(job)
        table["plays"].setdefault(name, {}).setdefault(case, []).append(play)
    assert misses(rates_of(table["plays"], 1000, 5)) == []
