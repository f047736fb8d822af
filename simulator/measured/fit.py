"""A rig fitted to one timed start: least squares for three factors, with their uncertainty.

Each factor stands for what nobody can measure from outside and what moves a start most (``python -m
simulator.studies.own_pumps --sensitivity`` ranks the candidates): how much air the ejector draws, how much room casing
and fittings have, and how far the air warms.

Arguments, the same throughout: ``rig`` as form and nearest rig give it; ``start`` the timed start; ``factors`` one of
each of :data:`FACTORS` [-].
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from simulator.measured.start import Needle, TimedStart, needle_of
from simulator.rig.rig import Rig

FACTORS = ("air_drawn", "room", "warming")
#: Bounds of each [-]. The first two: beyond them it is no rig of this kind (made up for training). The last is physics:
#: air that stays as cool as what is around it, and air that keeps all its heat.
BOUNDS = {"air_drawn": (0.5, 1.9), "room": (0.5, 1.7), "warming": (1.0, 1.4)}
PHYSICAL = ("warming",)  # whose bounds are no fault of a start
READING = 1.0e3  # [Pa] standard deviation of a reading: half a mark of the dial, shake and zero
WATCH = 1.5  # [s] standard deviation of the prime time by the watch
ROOM = 0.08  # [-] standard deviation of the casing's litres as they are measured: one reading more
ROOM_UNKNOWN = 0.25  # [-] the same where they are those of another rig
STEPS = (
    0.02,
    0.06,
    0.04,
)  # of the factors' logarithms, for derivatives: well above the 0.1 s of a prime time
SPAN = 1.6  # a run is watched so many times the start's own prime time [-]
FIRST = (
    1.0,
    0.75,
    1.4,
)  # air drawn with which it is begun: where a run does not prime, nothing shows the way
NEAR = 3.0  # [-] misfit at which the next beginning is not tried
ENOUGH = 1e-3  # relative change of the sum of squares, or of a factor, at which it is done
CERTAIN = 0.95  # [-] of the intervals


def with_factors(rig: Rig, factors: tuple[float, ...]) -> Rig:
    """The rig with its factors: tube, nozzle exit, screen and exhaust hose of the ejector, and the casing's volume.

    How far the air warms is no part of a rig: the last factor changes nothing here.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> other = with_factors(load_rig("osier"), (1.1, 1.2, 1.0))
    >>> round((other.ejector.mixing_diameter / 8.98e-3) ** 2, 6), round(1e3 * other.casing.volume, 3)
    (1.1, 54.0)
    """
    wide, ejector = math.sqrt(factors[0]), rig.ejector
    return replace(
        rig,
        ejector=replace(
            ejector,
            exit_diameter=ejector.exit_diameter * wide,
            mixing_diameter=ejector.mixing_diameter * wide,
        ),
        screen=replace(rig.screen, open_area=rig.screen.open_area * factors[0]),
        exhaust_hose=replace(rig.exhaust_hose, bore=rig.exhaust_hose.bore * wide),
        casing=replace(rig.casing, volume=rig.casing.volume * factors[1]),
    )


@dataclass(frozen=True)
class Fit:
    """A fitted rig, what it was fitted by, and how sure that is.

    ``covariance`` is that of the logarithms of the factors, shape (3, 3) [-]; ``residuals`` of the readings and, last, of
    the prime time, each over its standard deviation [-]; ``freedom`` readings more than factors [-].
    """

    base: Rig
    start: TimedStart
    rig: Rig
    factors: tuple[float, ...]
    covariance: np.ndarray
    residuals: np.ndarray
    freedom: int
    needle: Needle
    runs: int

    @property
    def misfit(self) -> float:
        """Root mean square of the residuals, over what reading alone gives [-]."""
        return math.sqrt(float(self.residuals @ self.residuals) / max(self.freedom, 1))

    @property
    def deviations(self) -> np.ndarray:
        """Standard deviation of the logarithm of each factor, shape (3,) [-]."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def intervals(self) -> tuple[tuple[float, float], ...]:
        """Interval of each factor that holds it 19 times in 20 [-]."""
        wide = quantile(self.freedom) * self.deviations
        return tuple((f * math.exp(-w), f * math.exp(w)) for f, w in zip(self.factors, wide, strict=True))

    @property
    def correlation(self) -> np.ndarray:
        """Correlation of the factors, shape (3, 3) [-]."""
        sd = self.deviations
        return self.covariance / np.outer(sd, sd)


def quantile(freedom: int) -> float:
    """Student's t for the intervals [-].

    Parameters
    ----------
    freedom : degrees of freedom [-].

    Examples
    --------
    >>> round(quantile(4), 2), round(quantile(10_000), 2)
    (2.78, 1.96)
    """
    from scipy.stats import t  # here, as a page that fits nothing must not load it

    return float(t.ppf(0.5 + CERTAIN / 2.0, max(freedom, 1)))


def residuals_of(
    rig: Rig, start: TimedStart, factors: tuple[float, ...], room: float = ROOM
) -> tuple[np.ndarray, Needle]:
    """Residuals over their standard deviations [-]: the readings, the prime time, the casing's litres; and the needle.

    Parameters
    ----------
    room : standard deviation of the casing's litres [-].
    """
    span = SPAN * start.prime_time + 10.0
    needle = needle_of(with_factors(rig, factors), start, span, factors[2])
    primed = needle.prime_time if math.isfinite(needle.prime_time) else span
    off = (needle.at(start.times) - np.asarray(start.vacuums)) / READING
    return np.array([*off, (primed - start.prime_time) / WATCH, math.log(factors[1]) / room]), needle


def fit_rig(
    rig: Rig, start: TimedStart, room: float = ROOM, told: Callable[[int], None] | None = None
) -> Fit:
    """The rig that comes nearest to a start; only readings until the water came count.

    Parameters
    ----------
    room : standard deviation of the casing's litres [-]: :data:`ROOM`, or :data:`ROOM_UNKNOWN`.
    told : told after each run how many there were; may raise to stop it.

    Raises
    ------
    InputError : the hose of the start is too short for its lift.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> rig, times = load_rig("osier"), (10.0, 20.0, 30.0, 40.0, 50.0)
    >>> place = TimedStart(4.5, 16.0, 0.15, 99.0, (), ())
    >>> true = needle_of(with_factors(rig, (1.2, 1.0, 1.1)), place, 120.0, 1.1)
    >>> start = replace(place, prime_time=true.prime_time, times=times, vacuums=tuple(true.at(times)))
    >>> abs(fit_rig(rig, start).factors[0] - 1.2) < 0.02
    True
    """
    from scipy.optimize import least_squares  # here, as a page that fits nothing must not load it

    start = start.before_prime
    runs = 0

    def off(logs: np.ndarray) -> np.ndarray:
        nonlocal runs
        runs += 1
        if told is not None:
            told(runs)
        return residuals_of(rig, start, factors_of(logs), room)[0]

    def slopes(logs: np.ndarray) -> np.ndarray:
        here = off(logs)
        ways = [step if x + step < top else -step for step, x, top in zip(STEPS, logs, high, strict=True)]
        return np.column_stack([(off(logs + way * np.eye(3)[i]) - here) / way for i, way in enumerate(ways)])

    low, high = (np.log([BOUNDS[name][end] for name in FACTORS]) for end in (0, 1))
    best = None
    for first in FIRST:
        found = least_squares(
            off,
            np.log([first, 1.0, 1.15]),
            bounds=(low, high),
            jac=slopes,
            x_scale=np.array([0.1, 0.08, 0.1]),
            ftol=ENOUGH,
            xtol=ENOUGH,
            gtol=None,
            max_nfev=20,
        )
        if best is None or found.cost < best.cost:
            best = found
        if 2.0 * best.cost < NEAR**2 * len(best.fun):
            break
    assert best is not None
    factors = factors_of(best.x)
    last, needle = residuals_of(rig, start, factors, room)
    freedom = len(last) - len(FACTORS)
    noise = max(1.0, float(last @ last) / max(freedom, 1))  # never surer than the readings allow
    jacobian = slopes(best.x)
    covariance = noise * np.linalg.pinv(jacobian.T @ jacobian)
    return Fit(rig, start, with_factors(rig, factors), factors, covariance, last, freedom, needle, runs)


def factors_of(logs: np.ndarray) -> tuple[float, ...]:
    """Factors [-] of their logarithms, never past their bounds by rounding.

    Parameters
    ----------
    logs : natural logarithms of the factors, shape (3,) [-].
    """
    return tuple(
        min(max(math.exp(each), BOUNDS[name][0]), BOUNDS[name][1])
        for name, each in zip(FACTORS, logs, strict=True)
    )
