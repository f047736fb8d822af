"""Runs: from a rig at a site to series, events and an outcome."""

from simulator.run.layout import CHANNEL_UNITS, CHANNELS, Setup
from simulator.run.result import Balance, ControlStep, Event, Outcome, Run, SolverStatistics
from simulator.run.simulate import simulate
from simulator.run.state import State, rest_state

__all__ = [
    "CHANNELS",
    "CHANNEL_UNITS",
    "Balance",
    "ControlStep",
    "Event",
    "Outcome",
    "Run",
    "Setup",
    "SolverStatistics",
    "State",
    "rest_state",
    "simulate",
]
