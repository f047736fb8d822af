"""Call-outs as data: the file format, its schema, and random ones for the practice yard."""

from simulator.scenario.choices import FaultChoice, SiteChoice, choose_fault
from simulator.scenario.files import (
    load_scenario,
    read_scenario,
    save_scenario,
    scenario_from,
    scenario_text,
)
from simulator.scenario.model import Scenario, build, scenario_hash, sound_rig
from simulator.scenario.publish import json_schema
from simulator.scenario.random_calls import LEVELS, random_scenario

__all__ = [
    "LEVELS",
    "FaultChoice",
    "Scenario",
    "SiteChoice",
    "build",
    "choose_fault",
    "json_schema",
    "load_scenario",
    "random_scenario",
    "read_scenario",
    "save_scenario",
    "scenario_from",
    "scenario_hash",
    "scenario_text",
    "sound_rig",
]
