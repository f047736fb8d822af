"""The advice comes to an end: in a proof, or in handing over what fits nothing on the list."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from simulator.diagnosis.advice import LEAVE, next_best, options
from simulator.diagnosis.belief import Belief
from simulator.diagnosis.ending import MISFIT, fits_nothing, still_open, surprise
from simulator.diagnosis.hypothesis_set import HypothesisSet, hypothesis_set
from simulator.diagnosis.option import CHECK, REMEDY, WATCH
from simulator.instruments.checks import CHECKS
from simulator.rig.presets import load_rig, standard_site
from tests.conftest import thin


@pytest.fixture(scope="module")
def cases() -> HypothesisSet:
    """All hypotheses of the rig Osier at its usual site."""
    return hypothesis_set(load_rig("osier"), standard_site())


@pytest.mark.parametrize("seed", thin(1, 2))
def test_it_ends_even_where_everything_comes_out_by_chance_and_nothing_helps(cases, seed: int) -> None:
    chance, belief, time, starts = np.random.default_rng(seed), Belief(cases), math.nan, 0
    done: list[tuple[str, str, str]] = []
    for _ in range(150):
        choice = options(cases, running=not math.isnan(time), started=starts > 0)
        option = next_best(belief, (*choice, LEAVE), time=time).option
        done.append((option.kind, option.id, option.place))
        if option == LEAVE:
            break
        if option.kind == WATCH:
            starts += 1
            time = 60.0 * cases.watch_minutes
            belief = belief.update_restart(starts, time)  # it never primes, whatever is done
        elif option.kind == CHECK:
            outcome = str(chance.choice(CHECKS[option.id].outcomes))
            belief = belief.update_check(option.id, outcome, option.place, time)
        else:
            time = math.nan
            found = np.unique(cases.situations.findings[option.id, option.place])
            belief = belief.update_remedy(option.id, option.place, str(chance.choice(found)))
    assert done[-1][0] == "hand_over", done[-5:]
    works = [each for each in done if each[0] == REMEDY]
    assert len(works) == len(set(works)), "no work is done twice"
    assert max(done.count(each) for each in done if each[0] == CHECK) <= 4


def test_a_start_that_told_all_is_not_watched_a_third_time(cases) -> None:
    belief = Belief(cases)
    watch = next(option for option in options(cases) if option.kind == WATCH)
    for run in (1, 2):
        assert still_open(belief, (watch,)) == (watch,)
        belief = belief.update_restart(run, 60.0 * cases.watch_minutes)
    assert still_open(belief, (watch,)) == ()
    after = belief.update_remedy("renew_belt", "")
    assert still_open(after, (watch,)) == (watch,) or np.array_equal(after.now, belief.now)


def test_a_warm_start_that_pumped_badly_is_as_good_as_watched(cases) -> None:
    from simulator.diagnosis.advice import _Leads

    long = 60.0 * cases.watch_minutes
    badly = Belief(cases).update_restart(1, long, 20.0, warm=True, end="pumps_badly")
    assert not _Leads(badly, None).unwatched
    well = Belief(cases).update_restart(1, long, 20.0, warm=True, end="primed")
    assert _Leads(well, None).unwatched


def test_nothing_fits_is_never_said_while_two_at_once_were_not_thought_of(cases) -> None:
    belief = Belief(cases)
    odd = belief.update_check("belt", "broken")
    for remedy, place in list(cases.situations.after)[:6]:
        found = cases.situations.findings[remedy, place]
        rare = min(np.unique(found), key=lambda name: float(odd.weights[found[odd.now] == name].sum()))
        odd = odd.update_remedy(remedy, place, str(rare))
    assert surprise(belief) == 0.0
    if surprise(odd) >= MISFIT:
        assert not fits_nothing(odd), "single faults only"
    two = replace(cases.hypotheses[1], second=("drain_open", 0.5, ""))
    wide = replace(odd, cases=replace(cases, hypotheses=(*cases.hypotheses[:-1], two)))
    assert fits_nothing(wide) == (surprise(wide) >= MISFIT)
