"""Draws the bank of certificate cases by its blueprint.

A case is drawn with its fault by weight (common practice) among the slot's families, its size and place by chance, at one
of a few sites of each rig. It enters the bank when a rig with it would not prove itself (apart from the slot of good rigs
and gauges), and the model's expert proves the pump twice with at least the marks of a pass. Its minutes are the mean of
those two plays: looks, work and starts, without precautions.

``python -m simulator.studies.bank_drawing --each 12`` draws the bank anew. After a change of the model or of the marks
``--check`` plays each case of the bank in use again and names those that no longer fit; ``--mend`` puts the next fitting
draw of its kind in the place of each, and leaves the others as they are. How hard the cases are is worked out afterwards
(:mod:`simulator.studies.bank_weighing`).

Throughout: ``arguments`` are those of the command line; without them those it was called with.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import sys
from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import yaml

from simulator.attempt import Attempt, MemoryStore
from simulator.errors import InputError
from simulator.marking.bank import FILE, FORMAT, KINDS, VERSION, BankCase, bank, pack
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


def expert_minutes(scenario: Scenario, slot: str) -> float | None:
    """Mean minutes [min] of the expert's plays of a call-out (``scenario``); None where it is not fit for a ``slot``."""
    if slot != "good_or_gauge" and proves(*build(scenario), sound_rig(scenario)):
        return None
    plays = expert_plays(scenario, range(1, PLAYS + 1))
    minutes = sum(play[2] for play in plays) / PLAYS
    if minutes > LONGEST or not all(proven and total >= PASS for proven, total, _ in plays):
        return None
    return minutes


def case_id(sealed: str) -> str:
    """The id of a case that is packed as ``sealed``; it tells nothing."""
    return hashlib.blake2b(sealed.encode(), digest_size=6).hexdigest()


def examined(slot: str, number: int) -> BankCase | None:
    """The case of a number, ready for the bank; None where it is not fit for it."""
    scenario = draw_case(slot, number)
    minutes = expert_minutes(scenario, slot)
    if minutes is None:
        return None
    sealed = pack(scenario)
    return BankCase(case_id(sealed), slot, round(minutes, 1), sealed)


def next_fitting(slot: str, known: Collection[str], draws: int) -> BankCase | None:
    """The first of a slot's ``draws`` that fits and is not ``known`` by its id; those known are not played again."""
    for number in range(draws):
        if case_id(pack(draw_case(slot, number))) not in known:
            found = examined(slot, number)
            if found is not None:
                return found
    return None


def check(cases: Sequence[BankCase]) -> list[BankCase]:
    """Play each of the ``cases`` again, site by site, and tell how it went; gives those that no longer fit."""
    misfits = []
    together = sorted(cases, key=lambda case: repr(case.scenario().site) + case.scenario().rig)
    for number, case in enumerate(together, start=1):
        minutes = expert_minutes(case.scenario(), case.slot)
        if minutes is None:
            misfits.append(case)
        told = "no longer fits" if minutes is None else f"{minutes:.1f} min, {case.minutes:.1f} in the bank"
        sys.stdout.write(f"{number} of {len(cases)}: {case.id}, {case.slot}: {told}\n")
        sys.stdout.flush()
    sys.stdout.write(f"{len(cases) - len(misfits)} of {len(cases)} fit\n")
    return misfits


def mend(cases: Sequence[BankCase], misfits: Sequence[BankCase], draws: int) -> list[BankCase]:
    """The bank's ``cases`` with another of its kind, out of so many ``draws``, for each of the ``misfits``.

    What comes in place of another is as hard as the mean of its kind until it is weighed. Where no draw is left, the
    case goes.
    """
    known = {case.id for case in cases}
    out = [case for case in cases if case not in misfits]
    for old in misfits:
        found = next_fitting(old.slot, known, draws)
        sys.stdout.write(f"{old.id}: {'no draw is left' if found is None else found.id}\n")
        if found is not None:
            known.add(found.id)
            alike = [case.difficulty for case in cases if case.slot == old.slot]
            out.append(replace(found, difficulty=round(sum(alike) / len(alike), 1)))
    return out


def main(arguments: Sequence[str] | None = None) -> int:
    """Draw the bank anew and write its file, or look whether each of its cases still fits.

    Raises
    ------
    InputError : a case to mend is none of the bank.
    """
    parser = argparse.ArgumentParser(
        prog="python -m simulator.studies.bank_drawing", description=main.__doc__
    )
    parser.add_argument("--each", type=whole(1, 200), default=12, help="cases of each slot")
    parser.add_argument("--check", action="store_true", help="play each case again; nothing is written")
    parser.add_argument("--mend", nargs="*", metavar="ID", help="replace what no longer fits, or these cases")
    parser.add_argument("--out", type=page_to_write, default=FILE)
    chosen = parser.parse_args(arguments)
    if chosen.check or chosen.mend is not None:
        known = bank()[0]
        for name in chosen.mend or ():
            if name not in {case.id for case in known}:
                raise InputError(f"the bank has no case {name!r}", "mend", "ids of its cases")
        misfits = check([case for case in known if not chosen.mend or case.id in chosen.mend])
        if chosen.mend is not None and misfits:
            write_bank(mend(known, misfits, 40 * chosen.each), chosen.out)
        return 1 if misfits and chosen.mend is None else 0
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
