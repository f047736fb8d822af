"""The case of a call-out: the rig as it now is, the same rig in good order, and chance; no fault is named.

Arguments, the same throughout: ``rig``, ``site`` what is simulated; ``timeline`` a run of the attempt, None before the
first; ``tick`` a moment of it [0.1 s]; ``place`` such as ``joint:1``; ``repeat`` how often this look was made before [-].
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from simulator.attempt.timeline import TICK, Timeline
from simulator.instruments.gauges import RunLike
from simulator.instruments.look import Check, Look, draw
from simulator.instruments.vacuum_tests import (
    BLANK_DURATION,
    CAPPED_DURATION,
    HOLD_DURATION,
    HOLD_STEPS,
    blank_bounds,
)
from simulator.rig.onset import as_at
from simulator.rig.remedies import Remedy
from simulator.rig.rig import Rig, Site
from simulator.run import Run, Setup, simulate
from simulator.run.once import simulate_once
from simulator.run.outcome import proof_limit

BAND_STRETCH, BAND_PRESSURE = 0.10, 1e3  # sound rigs differ by this share of the time, and by this [Pa]
BAND_SPAN = 120  # [s]
PULL_UP = 25.0  # [s] after the prime in which the pump's own pull comes and settles
LOOK_AHEAD = 400  # [0.1 s] of the run that a look lasts at most


@lru_cache(maxsize=16)
def sound_run(rig: Rig, site: Site) -> Run:
    """The rig in good order, started dry, 300 s."""
    return simulate(rig, site)


@lru_cache(maxsize=64)
def blanked_run(rig: Rig, site: Site) -> Run:
    """The rig run against the plate on its suction flange, from dry."""
    return simulate(rig, site, duration=BLANK_DURATION, setup=Setup.BLANKED)


@lru_cache(maxsize=32)
def capped_run(rig: Rig, site: Site) -> Run:
    """The rig run with a cap on the end of its hose, from dry."""
    return simulate(rig, site, duration=CAPPED_DURATION, setup=Setup.CAPPED)


@lru_cache(maxsize=32)
def hold_run(rig: Rig, site: Site) -> Run:
    """The rig blanked, then its cock shut and its engine stopped."""
    return simulate(rig, site, duration=HOLD_DURATION, setup=Setup.BLANKED, controls=HOLD_STEPS)


@lru_cache(maxsize=16)
def sound_band(rig: Rig, site: Site, after: float = 0.0) -> tuple[tuple[float, float, float], ...]:
    """Vacuum of rigs in good order: (time [s], low [Pa], high [Pa]) every second until ``after`` [s] of their prime."""
    run = sound_run(rig, site)
    end = run.prime_time + after if math.isfinite(run.prime_time) else float(BAND_SPAN)
    vacuum = np.asarray(run.vacuum)
    out = []
    for second in range(min(int(end), BAND_SPAN) + 1):
        early, late = second / (1.0 + BAND_STRETCH), second / (1.0 - BAND_STRETCH)
        inside = vacuum[(run.time >= early - 0.05) & (run.time <= min(late, end) + 0.05)]
        low, high = float(inside.min()) - BAND_PRESSURE, float(inside.max()) + BAND_PRESSURE
        out.append((float(second), max(float(round(low)), 0.0), float(round(high))))
    return tuple(out)


class Case:
    """Holds the rig and site as they are now beside the sound ones, and answers looks."""

    def __init__(self, rig: Rig, site: Site, sound_rig: Rig, sound_site: Site, seed: int) -> None:
        self.rig, self.site = rig, site
        self.sound_rig, self.sound_site = sound_rig, sound_site
        self.seed = seed
        self._wet_limits: dict[int, float] = {}

    @property
    def sound(self) -> Run:
        """What the rig gives in good order."""
        return sound_run(self.sound_rig, self.sound_site)

    @property
    def blank_bounds(self) -> tuple[float, float]:
        """Below what a blank-off test shows next to nothing here, and from where on it is deep [Pa]."""
        return blank_bounds(blanked_run(self.sound_rig, self.sound_site), self.sound_rig)

    @property
    def sound_prime_time(self) -> float:
        """Time to prime in good order [s]; nan where even a sound rig does not prime."""
        return float(self.sound.prime_time)

    @property
    def proof_time(self) -> float:
        """A start from dry that primes within this time [s] is proof."""
        return proof_limit(self.sound_prime_time)

    def proof_time_of(self, timeline: Timeline) -> float:
        """The same for a start as it was [s]: water left in casing and hose would help a sound rig too."""
        state = timeline.begun_from
        if state is None:
            return self.proof_time
        if timeline.number not in self._wet_limits:
            sound = simulate_once(self.sound_rig, self.sound_site, start=state, duration=self.sound.time[-1])
            wet = sound.prime_time
            limit = proof_limit(float(wet)) if math.isfinite(wet) else self.proof_time
            self._wet_limits[timeline.number] = (
                limit if math.isnan(self.proof_time) else min(limit, self.proof_time)
            )
        return self._wet_limits[timeline.number]

    def look(self, timeline: Timeline | None, tick: int, running: bool, place: str) -> Look:
        """What lies before somebody who makes a check now, with the engine ``running`` or not."""
        history = None if timeline is None else timeline.history(tick + LOOK_AHEAD)
        return self.look_at(history, tick * TICK, running, place)

    def look_at(self, run: RunLike | None, time: float, running: bool, place: str) -> Look:
        """The same at a ``time`` [s] of a ``run``, with the engine ``running`` or not."""
        rig, site, sound_rig, sound_site = self.rig, self.site, self.sound_rig, self.sound_site
        now, here = as_at(rig, site, time) if running else (rig, site)
        return Look(
            rig=now,
            site=here,
            run=run,
            time=time,
            running=running,
            place=place,
            sound_run=self.sound,
            blank_run=lambda: blanked_run(rig, site),
            sound_blank_run=lambda: blanked_run(sound_rig, sound_site),
            capped_run=lambda: capped_run(rig, site),
            sound_capped_run=lambda: capped_run(sound_rig, sound_site),
            hold_run=lambda: hold_run(rig, site),
            card_rig=sound_rig,
            card_site=sound_site,
        )

    def mend(self, remedy: Remedy, place: str) -> str:
        """Do a ``remedy`` to the rig as it is; what the hands find."""
        finding = remedy.finding(self.rig, self.site, place)
        self.rig, self.site = remedy.apply(self.rig, self.site, place)
        return finding

    def see(self, check: Check, look: Look, repeat: int, *, inside: bool = False) -> str:
        """The outcome of a ``check`` that the trainee sees; the same for the same case, place and repeat.

        Where the ``inside`` is drawn beside it, nothing that is likelier seen than not is overlooked by chance.
        """
        chances = check.chances_seen(look)
        if inside:
            return max(chances, key=chances.__getitem__)
        return draw(check, chances, self.seed, look.place, repeat)

    def band(self, after: float = 0.0) -> list[list[float]]:
        """Vacuum of rigs in good order: [time s, low Pa, high Pa] every second until ``after`` [s] of their prime."""
        return [list(row) for row in sound_band(self.sound_rig, self.sound_site, after)]
