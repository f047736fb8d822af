"""Draws the bank of certificate cases by its blueprint.

A case is drawn with its fault by weight (common practice) among the slot's families, its size and place by chance, at one
of a few sites of each rig. It enters the bank when a rig with it would not prove itself (apart from the slot of good rigs
and gauges), and the model's expert proves the pump twice with at least the marks of a pass. Its minutes are the mean of
those two plays: looks, work and starts, without precautions.

``python -m simulator.studies.bank_drawing --each 12`` draws the bank anew; how hard its cases are is worked out
afterwards (:mod:`simulator.studies.bank_weighing`).

Throughout: ``arguments`` are those of the command line; without them those it was called with.
"""

from __future__ import annotations

import argparse
import hashlib
import random
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import yaml

from simulator.attempt import Attempt, MemoryStore
from simulator.marking.bank import FILE, FORMAT, KINDS, VERSION, BankCase, pack
from simulator.marking.rig_state import proves
from simulator.marking.service import marked_attempt
from simulator.marking.sheet import PASS
from simulator.rig.command import command, page_to_write, whole
from simulator.rig.faults import FAULTS, Fault
from simulator.rig.presets import load_rig
from simulator.rig.rig import Rig, Site
from simulator.scenario import Scenario, build, sound_rig
from simulator.scenario.choices import FaultChoice, SiteChoice, choose_fault
from simulator.studies.trainees import Expert
from simulator.texts import entry, text

#: Where cases are set: rig, static lift [m], submergence [m], water and air [C]. Made up for training.
SITES: tuple[tuple[str, float, float, float, float], ...] = (
    ("osier", 2.4, 1.0, 12.0, 15.0),
    ("osier", 3.6, 1.2, 9.0, 11.0),
    ("alder", 2.0, 0.9, 14.0, 18.0),
    ("alder", 3.2, 1.1, 10.0, 13.0),
    ("reed", 2.2, 1.1, 13.0, 16.0),
    ("sedge", 2.8, 1.3, 11.0, 14.0),
)
PLAYS = 2
LONGEST = 45.0  # [min] an expert's mean play may take


def draw_case(slot: str, number: int) -> Scenario:
    """The case of a number in a slot, good or not for the bank.

    Examples
    --------
    >>> case = draw_case("air_gets_in", 1)
    >>> case == draw_case("air_gets_in", 1), case.mode
    (True, 'assessment')
    """
    chance = random.Random(f"case {slot} {number}")
    rig, lift, depth, water, air = chance.choice(SITES)
    name = SITES.index((rig, lift, depth, water, air))
    site = SiteChoice(
        name=str(entry("scenario.sites")[name]),
        lift_m=lift,
        submergence_m=depth,
        water_temperature_c=water,
        air_temperature_c=air,
    )
    fields = {"site": site.name, "lift": f"{lift:g}", "rig": load_rig(rig).title}
    parts = [
        str(chance.choice(entry(f"scenario.random.{part}"))).format(**fields)
        for part in ("caller", "trouble", "plea")
    ]
    plain = Scenario(
        title=text("scenario.random.title", site=site.name),
        brief=" ".join(parts),
        rig=rig,
        site=site,
        mode="assessment",
        seed=chance.randrange(2**31),
    )
    return plain.model_copy(update={"faults": _faults(slot, chance, *sound_rig(plain))})


def _faults(slot: str, chance: random.Random, rig: Rig, site: Site) -> tuple[FaultChoice, ...]:
    fitting: list[Fault] = [
        item for item in FAULTS.values() if item.family in KINDS[slot] and item.places(rig, site)
    ]
    item = chance.choices(fitting, [each.weight for each in fitting])[0]
    if item.id == "sound":
        return ()
    size = 0.0 if item.size is None else item.size.drawn(chance.random())
    if item.size is not None:  # as a person would write it
        size = item.size.from_file(float(f"{item.size.in_file(size):.3g}"))
        size = min(max(size, item.size.low), item.size.high)
    return (choose_fault(item.id, size, chance.choice(item.places(rig, site))),)


def expert_plays(scenario: Scenario, seeds: Sequence[int]) -> list[tuple[bool, float, float]]:
    """How the expert does at a call-out (``scenario``), once for each of ``seeds``: proven, marks [-], minutes [min]."""
    out = []
    for seed in seeds:
        attempt = Attempt(scenario, MemoryStore(), seed=seed)
        Expert(attempt, seed).play()
        _, _, marked = marked_attempt(attempt)
        minutes = sum(step.minutes for step in marked.trail.steps)
        out.append((attempt.yard.proven, marked.sheet.total, minutes))
    return out


def examined(slot: str, number: int) -> BankCase | None:
    """The case of a number, ready for the bank; None where it is not fit for it."""
    scenario = draw_case(slot, number)
    if slot != "good_or_gauge" and proves(*build(scenario), sound_rig(scenario)):
        return None
    plays = expert_plays(scenario, range(1, PLAYS + 1))
    minutes = sum(play[2] for play in plays) / PLAYS
    if minutes > LONGEST or not all(proven and total >= PASS for proven, total, _ in plays):
        return None
    sealed = pack(scenario)
    return BankCase(
        hashlib.blake2b(sealed.encode(), digest_size=6).hexdigest(), slot, round(minutes, 1), sealed
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Draw the bank anew and write its file."""
    parser = argparse.ArgumentParser(
        prog="python -m simulator.studies.bank_drawing", description=main.__doc__
    )
    parser.add_argument("--each", type=whole(1, 200), default=12, help="cases of each slot")
    parser.add_argument("--out", type=page_to_write, default=FILE)
    chosen = parser.parse_args(arguments)
    cases: list[BankCase] = []
    for slot in KINDS:
        own: dict[str, BankCase] = {}
        for number in range(40 * chosen.each):
            found = examined(slot, number) if len(own) < chosen.each else None
            if found is not None:
                own[found.id] = found
        cases += own.values()
    write_bank(cases, chosen.out)
    return 0


def write_bank(cases: Sequence[BankCase], path: Path) -> None:
    """Write a bank to a path, cases by id so that their order tells nothing; the target is the mean form."""
    target = sum(
        sum(case.minutes for case in cases if case.slot == slot) / sum(case.slot == slot for case in cases)
        for slot in KINDS
    )
    rows: list[dict[str, Any]] = [
        {
            "id": case.id,
            "slot": case.slot,
            "minutes": case.minutes,
            "difficulty": case.difficulty,
            "sealed": case.sealed,
        }
        for case in sorted(cases, key=lambda case: case.id)
    ]
    data = {"format": FORMAT, "version": VERSION, "target_min": round(target, 1), "cases": rows}
    head = "# Cases for certificate sittings, packed so that a look does not tell the answers. Made up for training.\n"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(head + yaml.safe_dump(data, sort_keys=False, width=100000), encoding="utf-8")


if __name__ == "__main__":
    raise SystemExit(command(main))
