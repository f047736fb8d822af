"""Training simulator for self-priming diesel pumps: find out, safely, why a pump will not prime.

The public door. Every name is loaded when it is first asked for, so that ``import simulator`` stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from simulator.attempt import Attempt as Attempt
    from simulator.attempt import Coach as Coach
    from simulator.errors import InputError as InputError
    from simulator.errors import RefusedAct as RefusedAct
    from simulator.errors import RunFailed as RunFailed
    from simulator.errors import SimulatorError as SimulatorError
    from simulator.instruments.checks import CHECKS as CHECKS
    from simulator.marking import MarkSheet as MarkSheet
    from simulator.marking.mark import mark as mark
    from simulator.panels.exercise.panel import open_exercise as open_exercise
    from simulator.panels.lessons.registry import lesson as lesson
    from simulator.records import Store as Store
    from simulator.records import data_folder as data_folder
    from simulator.rig.faults import FAULTS as FAULTS
    from simulator.rig.presets import load_rig as load_rig
    from simulator.rig.presets import load_site as load_site
    from simulator.rig.presets import rig_names as rig_names
    from simulator.rig.presets import site_names as site_names
    from simulator.rig.presets import standard_site as standard_site
    from simulator.rig.remedies import REMEDIES as REMEDIES
    from simulator.rig.rig import Rig as Rig
    from simulator.rig.rig import Site as Site
    from simulator.run import CHANNEL_UNITS as CHANNEL_UNITS
    from simulator.run import CHANNELS as CHANNELS
    from simulator.run import ControlStep as ControlStep
    from simulator.run import Run as Run
    from simulator.run import Setup as Setup
    from simulator.run import simulate as simulate
    from simulator.scenario import Scenario as Scenario
    from simulator.scenario import json_schema as json_schema
    from simulator.scenario import load_scenario as load_scenario
    from simulator.scenario import random_scenario as random_scenario
    from simulator.scenario import save_scenario as save_scenario
    from simulator.scenario import scenario_hash as scenario_hash

__version__ = "0.1.0"

# name -> module that gives it; the same names stand above for type checkers and editors
_DOOR: dict[str, str] = {
    "Attempt": "simulator.attempt",
    "CHANNELS": "simulator.run",
    "CHANNEL_UNITS": "simulator.run",
    "CHECKS": "simulator.instruments.checks",
    "Coach": "simulator.attempt",
    "ControlStep": "simulator.run",
    "FAULTS": "simulator.rig.faults",
    "InputError": "simulator.errors",
    "MarkSheet": "simulator.marking",
    "REMEDIES": "simulator.rig.remedies",
    "RefusedAct": "simulator.errors",
    "Rig": "simulator.rig.rig",
    "Run": "simulator.run",
    "RunFailed": "simulator.errors",
    "Scenario": "simulator.scenario",
    "Setup": "simulator.run",
    "SimulatorError": "simulator.errors",
    "Site": "simulator.rig.rig",
    "Store": "simulator.records",
    "data_folder": "simulator.records",
    "json_schema": "simulator.scenario",
    "lesson": "simulator.panels.lessons.registry",
    "load_rig": "simulator.rig.presets",
    "load_scenario": "simulator.scenario",
    "load_site": "simulator.rig.presets",
    "mark": "simulator.marking.mark",
    "open_exercise": "simulator.panels.exercise.panel",
    "random_scenario": "simulator.scenario",
    "rig_names": "simulator.rig.presets",
    "save_scenario": "simulator.scenario",
    "scenario_hash": "simulator.scenario",
    "simulate": "simulator.run",
    "site_names": "simulator.rig.presets",
    "standard_site": "simulator.rig.presets",
}

__all__ = ["__version__", *sorted(_DOOR)]


def __getattr__(name: str) -> Any:
    if name not in _DOOR:
        raise AttributeError(f"module 'simulator' has no attribute {name!r}")
    value = getattr(import_module(_DOOR[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_DOOR})
