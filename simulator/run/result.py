"""What a run gives back: series on an even grid, events, the outcome in words, balances and solver statistics."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from simulator.errors import InputError
from simulator.rig.rig import Rig, Site
from simulator.run.layout import CHANNELS, Setup
from simulator.run.state import State

STEP = 0.1  # [s] of the grid


@dataclass(frozen=True)
class ControlStep:
    """From ``time`` [s] on the engine is wanted at ``speed`` [-] of rated, 0 stopped; the cock open or shut."""

    time: float
    speed: float
    cock_open: bool = True


@dataclass(frozen=True)
class Event:
    """Something that happened at ``time`` [s]; ``detail`` names the joint of a ``front_at_joint`` event."""

    time: float
    kind: str
    detail: int = -1


@dataclass(frozen=True)
class Outcome:
    """How a run ended: a code, the time it was decided [s] and a sentence."""

    code: str  # primed | little_flow | stalled | lost_prime | no_motive_air | time_up
    time: float
    sentence: str


@dataclass(frozen=True)
class Balance:
    """What came in less what went out less what stayed, over what passed [-]."""

    air_error: float
    water_error: float
    motive_error: float


@dataclass(frozen=True)
class SolverStatistics:
    """Work done by the integrator."""

    method: str
    steps: int
    evaluations: int
    events: int


@dataclass(frozen=True)
class Run:
    """A computed run.

    ``series`` has one row a channel of :data:`CHANNELS` on ``time`` [s]; ``run.suction_pressure`` and so on are its rows.
    """

    rig: Rig
    site: Site
    setup: Setup
    time: np.ndarray  # (n,) [s]
    series: np.ndarray  # (channels, n) SI
    states: np.ndarray  # (n, states)
    modes: np.ndarray  # (n, modes)
    relief_pops: np.ndarray  # (n,) count so far
    events: tuple[Event, ...]
    outcome: Outcome
    prime_time: float  # [s], nan when never primed
    steady_flow: float  # [m3/s] of the sound rig at this site
    balance: Balance
    solver: SolverStatistics
    controls: tuple[ControlStep, ...] = field(default=())

    def __getattr__(self, name: str) -> np.ndarray:
        if name in CHANNELS:
            return self.series[CHANNELS.index(name)]  # type: ignore[no-any-return]
        if name in ("relief_open", "nrv_open"):
            from simulator.run import layout as at

            return self.modes[:, at.RELIEF_OPEN if name == "relief_open" else at.NRV_OPEN]  # type: ignore[no-any-return]
        raise AttributeError(name)

    def index(self, time: float) -> int:
        """Index of the last grid time at or before ``time`` [s], within the run."""
        return int(np.clip(np.floor((time - self.time[0]) / STEP + 1e-6), 0, len(self.time) - 1))

    def value(self, channel: str, time: float) -> float:
        """A channel at a time [s], linear between grid points; the ends beyond the run.

        Raises
        ------
        InputError : there is no such channel.
        """
        if channel not in CHANNELS and channel not in ("relief_open", "nrv_open", "relief_pops"):
            raise InputError(f"there is no channel {channel!r}", "run", ", ".join(CHANNELS))
        return float(np.interp(time, self.time, getattr(self, channel)))

    @property
    def atmosphere(self) -> float:
        """Outside pressure [Pa abs]."""
        from simulator.physics.atmosphere import pressure_at_altitude

        return float(pressure_at_altitude(self.site.altitude))

    @property
    def vacuum(self) -> np.ndarray:
        """Suction gauge's true value as vacuum [Pa], positive below the atmosphere; shape (n,)."""
        return self.atmosphere - self.suction_pressure

    def state_at(self, time: float) -> State:
        """The state at the last grid point at or before ``time`` [s], to go on from."""
        i = self.index(time)
        return State(self.states[i].copy(), self.modes[i].copy())

    @property
    def air_passed(self) -> float:
        """Dry air that went out of pockets and hose during the run [kg]."""
        from simulator.run import layout as at

        return float(self.states[-1, at.AIR_OUT] - self.states[0, at.AIR_OUT])

    @property
    def primed(self) -> bool:
        """Whether the pump took its prime at all."""
        return bool(np.isfinite(self.prime_time))
