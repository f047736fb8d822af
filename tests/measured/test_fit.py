"""A rig fitted to a timed start: the factors that made it are found, unsure ones are told, poor starts are refused."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from simulator.errors import InputError
from simulator.measured.figures import MEASURES, measured_of, measured_rig, nearest_rig, usual_motive
from simulator.measured.fit import BOUNDS, FACTORS, READING, fit_rig, with_factors
from simulator.measured.judging import (
    ALIKE,
    ELSEWHERE,
    MOST_MISFIT,
    foretold,
    why_not,
    why_not_fit,
)
from simulator.measured.start import TimedStart, needle_of, prime_time_at
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.rig.rig import Rig
from simulator.run.simulate import simulate
from simulator.studies.own_pumps import main, summary, trial
from tests.conftest import thin

PLACE = TimedStart(4.5, 16.0, 0.15, math.nan, (), ())
TRUE = (1.15, 1.05, 1.12)


def start_of(rig: Rig, exponent: float = 1.0, place: TimedStart = PLACE, every: float = 10.0) -> TimedStart:
    needle = needle_of(rig, place, 300.0, exponent)
    times = tuple(float(t) for t in np.arange(every, needle.prime_time, every))
    return replace(place, prime_time=needle.prime_time, times=times, vacuums=tuple(needle.at(times)))


def test_what_made_a_start_is_found_and_lies_in_its_intervals() -> None:
    rig = load_rig("osier")
    fit = fit_rig(rig, start_of(with_factors(rig, TRUE), TRUE[2]))
    assert fit.misfit < 0.3
    assert abs(fit.needle.prime_time - fit.start.prime_time) <= 0.5
    for factor, true, (low, high) in zip(fit.factors, TRUE, fit.intervals, strict=True):
        assert low < true < high
        assert low < factor < high
    assert fit.factors[0] == pytest.approx(TRUE[0], rel=0.02)
    assert fit.covariance == pytest.approx(fit.covariance.T)
    assert np.all(np.linalg.eigvalsh(fit.covariance) > 0.0)
    assert why_not_fit(fit) is None
    for (more, longer), told in zip(ELSEWHERE, foretold(fit), strict=True):
        assert (told.lift, told.length) == (PLACE.lift + more, pytest.approx(PLACE.hose_length * longer))
        true_time = prime_time_at(with_factors(rig, TRUE), told.lift, told.length, gas_exponent=TRUE[2])
        assert told.low < true_time < told.high


def test_noisier_readings_make_wider_intervals() -> None:
    rig = load_rig("osier")
    clean = start_of(rig, 1.1)
    assert np.all(fit_rig(rig, shaken(clean, 1.5)).deviations > fit_rig(rig, clean).deviations)


#: What is done to a good start, and why it is refused before anything is fitted.
POOR = {
    "no_prime": lambda s: replace(s, prime_time=math.nan),
    "few": lambda s: replace(s, times=s.times[-3:], vacuums=s.vacuums[-3:]),
    "ends_early": lambda s: replace(s, prime_time=2.0 * s.prime_time),
    "shallow": lambda s: replace(s, vacuums=tuple(0.3 * v for v in s.vacuums)),
    "too_deep": lambda s: replace(s, vacuums=tuple(3.4 * v for v in s.vacuums)),
    "falls": lambda s: replace(s, vacuums=(*s.vacuums[:3], 1e3, *s.vacuums[4:])),
}


@pytest.fixture(scope="module")
def good() -> TimedStart:
    return start_of(load_rig("osier"), 1.1)


@pytest.mark.parametrize("kind", POOR)
def test_a_start_that_tells_nothing_is_refused_with_its_reason(kind: str, good: TimedStart) -> None:
    assert why_not(good) is None
    found = why_not(POOR[kind](good))
    assert found is not None
    assert found.kind == kind


@pytest.mark.full
def test_a_start_three_times_as_slow_is_refused(good: TimedStart) -> None:
    slow = replace(good, prime_time=3.0 * good.prime_time, times=tuple(3.0 * t for t in good.times))
    refused = why_not_fit(fit_rig(load_rig("osier"), slow))
    assert refused is not None
    assert refused.kind in ("bound", "misfit")


def test_readings_that_no_sound_rig_makes_are_refused(good: TimedStart) -> None:
    shaken = replace(good, vacuums=tuple(v + (-1) ** i * 4e3 for i, v in enumerate(good.vacuums)))
    fit = fit_rig(load_rig("osier"), shaken)
    refused = why_not_fit(fit)
    assert fit.misfit > MOST_MISFIT
    assert refused is not None
    assert refused.kind == "misfit"


@pytest.mark.parametrize("hole", thin(0.003, 0.0035))
def test_a_flange_that_leaks_is_no_sound_rig(hole: float) -> None:
    rig = load_rig("osier")
    start = start_of(replace(rig, casing=replace(rig.casing, gasket_hole=hole)), 1.13)
    assert why_not(start) is None
    assert why_not_fit(fit_rig(rig, start)) is not None


def test_two_factors_that_a_start_cannot_tell_apart_are_named(good: TimedStart) -> None:
    fit = fit_rig(load_rig("osier"), good)
    sd = fit.deviations
    near = fit.covariance.copy()
    near[0, 2] = near[2, 0] = (ALIKE + 0.02) * sd[0] * sd[2]
    refused = why_not_fit(replace(fit, covariance=near))
    assert refused is not None
    assert refused.kind == "alike"
    assert refused.said == {"factor": "air_drawn", "other": "warming"}
    wide = why_not_fit(replace(fit, covariance=fit.covariance * 100.0))
    assert wide is not None
    assert wide.kind == "wide"


def test_a_factor_at_its_bound_is_refused_but_for_one_that_physics_bounds(good: TimedStart) -> None:
    fit = fit_rig(load_rig("osier"), good)
    at_bound = tuple(BOUNDS[name][0] for name in FACTORS)
    refused = why_not_fit(replace(fit, factors=(fit.factors[0], at_bound[1], fit.factors[2])))
    assert refused is not None
    assert refused.kind == "bound"
    assert why_not_fit(replace(fit, factors=(*fit.factors[:2], at_bound[2]))) is None
    hot = why_not_fit(replace(fit, factors=(*fit.factors[:2], BOUNDS["warming"][1])))
    assert hot is not None
    assert hot.kind == "leak"


def shaken(start: TimedStart, by: float) -> TimedStart:
    """Readings off by turns to either side, in shares of what a reading is usually off."""
    off = tuple(vacuum + (-1) ** i * by * READING for i, vacuum in enumerate(start.vacuums))
    return replace(start, vacuums=off)


@pytest.mark.parametrize(("lift", "hose", "every"), thin((4.0, 14.0, 10.0), [4.0, 12.0, 8.0]))
def test_what_misses_for_being_unsure_alone_is_told_a_start_that_would_do(
    lift: float, hose: float, every: float
) -> None:
    rig, place = load_rig("osier"), replace(PLACE, lift=lift, hose_length=hose)
    refusal = why_not_fit(fit_rig(rig, shaken(start_of(rig, 1.1, place, every), 1.7)))
    assert refusal is not None
    assert refusal.kind == "wide"
    assert refusal.said["would"] < refusal.said["most"] < refusal.said["share"]
    again = start_of(rig, 1.1, replace(place, hose_length=refusal.said["length"]), refusal.said["every"])
    assert why_not_fit(fit_rig(rig, shaken(again, 1.0))) is None


def test_the_nearest_rig_goes_by_the_hose_before_all_else() -> None:
    for compressor, casing in ((8.0, 20.0), (8.0, 45.0), (50.0, 240.0)):
        assert (
            nearest_rig({"hose_bore_mm": 150.0, "compressor_l_s": compressor, "casing_volume_l": casing})
            == "osier"
        )
    # between two sizes of hose the others say which of the two
    assert nearest_rig({"hose_bore_mm": 122.0, "compressor_l_s": 7.4}) == "sedge"
    assert nearest_rig({"hose_bore_mm": 122.0, "compressor_l_s": 12.5}) == "osier"
    assert nearest_rig({"compressor_l_s": 22.0}) == "alder"


@pytest.mark.parametrize("base", shipped_rig_names())
def test_a_form_filled_in_from_a_rig_gives_that_rig_back(base: str) -> None:
    rig = load_rig(base)
    values = measured_of(rig)
    assert set(values) | {"motive_bar"} == set(MEASURES)
    assert len(MEASURES) <= 15
    assert nearest_rig(values) == base
    made = measured_rig(values, base, rig.name, rig.title)
    assert made.casing == rig.casing
    assert made.suction_hose.bore == rig.suction_hose.bore
    assert made.suction_hose.length == rig.suction_hose.length
    site = standard_site(base)
    times = [float(simulate(each, site, duration=90.0).prime_time) for each in (made, rig)]
    assert abs(times[0] - times[1]) <= 0.2


def test_the_motive_gauge_sets_the_nozzle() -> None:
    rig = measured_rig(
        {"hose_bore_mm": 150.0, "hose_length_m": 10.0, "motive_bar": 4.0}, "osier", "ours", "Ours"
    )
    assert rig.has_motive_gauge
    run = simulate(rig, standard_site("osier"), duration=20.0)
    assert (run.motive_pressure[-1] - run.atmosphere) / 1e5 == pytest.approx(4.0, abs=0.15)
    usual = measured_rig({"motive_bar": usual_motive("osier") / 1e5}, "osier", "ours", "Ours")
    assert usual.ejector.nozzle_diameter == pytest.approx(load_rig("osier").ejector.nozzle_diameter, rel=1e-4)


def test_a_figure_out_of_range_is_said_with_its_range() -> None:
    with pytest.raises(InputError, match=r"hose_bore_mm.*Legal: 50 to 400"):
        measured_rig({"hose_bore_mm": 5.0}, "osier", "ours", "Ours")


def test_some_rigs_of_the_study_keep_the_promise() -> None:
    lines, kept = summary([trial(number, 17) for number in range(2)])
    assert kept, lines


@pytest.mark.full
def test_two_hundred_rigs_keep_the_promise(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--rigs", "200"]) == 0
    assert "within 10 %" in capsys.readouterr().out
