"""The bank of certificate cases, drawn from a published blueprint.

A form has one case of each slot below, in a drawn order. A case is drawn with its fault by weight (common practice)
among the slot's families, its size and place by chance, at one of a few sites of each rig. It enters the bank when a
rig with it would not prove itself (apart from the slot of good rigs and gauges), and the model's expert proves the
pump twice with at least the marks of a pass. Its minutes are the mean of those two plays: looks, work and starts,
without precautions. Forms add up to the target minutes within a band so narrow that any two are within 10 %.

The file keeps each case packed, so that a look at it does not tell the answer; a kernel in the learner's hands can
never be a vault.

``python -m simulator.marking.bank --each 12`` draws the bank anew.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import json
import random
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from simulator.attempt import Attempt, MemoryStore
from simulator.errors import InputError
from simulator.marking.rig_state import proves
from simulator.marking.sheet import PASS
from simulator.rig.command import command, whole
from simulator.rig.faults import FAULTS, Fault
from simulator.rig.presets import load_rig
from simulator.rig.rig import Rig, Site
from simulator.scenario import Scenario, build, scenario_from, sound_rig
from simulator.scenario.choices import FaultChoice, SiteChoice, choose_fault
from simulator.texts import entry, text

FILE = Path(__file__).parent / "data" / "certificate_bank.yaml"
FORMAT, VERSION = "certificate-bank", 1
#: Slot of the blueprint and the families it draws from.
BLUEPRINT: dict[str, tuple[str, ...]] = {
    "air_gets_in": ("air_gets_in",),
    "air_not_drawn_out": ("air_not_drawn_out",),
    "water_cannot_come": ("water_cannot_come",),
    "good_or_gauge": ("none", "instrument"),
    "loses_it": ("primes_then_loses",),
}
BAND = 0.045  # [-] of the target minutes: any two forms are then within 10 % of each other
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


@dataclass(frozen=True)
class BankCase:
    """A case of the bank: an id that tells nothing, its slot, the expert's minutes [min], and the packed call-out."""

    id: str
    slot: str
    minutes: float
    sealed: str

    def scenario(self) -> Scenario:
        """The call-out."""
        return scenario_from(json.loads(zlib.decompress(base64.b85decode(self.sealed))))


def pack(scenario: Scenario) -> str:
    """A call-out as text that does not tell its answer at a glance."""
    written = json.dumps(scenario.content(), sort_keys=True, separators=(",", ":"))
    return base64.b85encode(zlib.compress(written.encode(), 9)).decode()


def read_bank(path: Path | str = FILE) -> tuple[tuple[BankCase, ...], float]:
    """All cases and the target minutes of a form [min].

    Raises
    ------
    InputError : it is another kind of file, or of a newer version.

    Examples
    --------
    >>> cases, target = read_bank()
    >>> {case.slot for case in cases} == set(BLUEPRINT), target > 0.0
    (True, True)
    """
    data = yaml.safe_load(Path(path).read_text(encoding="utf-8"))
    if not isinstance(data, dict) or data.get("format") != FORMAT or data.get("version") != VERSION:
        raise InputError("this is no bank of cases", str(path), f"format: {FORMAT}, version: {VERSION}")
    return tuple(BankCase(**case) for case in data["cases"]), float(data["target_min"])


@lru_cache(maxsize=1)
def bank() -> tuple[tuple[BankCase, ...], float]:
    """The bank that comes with the package."""
    return read_bank()


def draw_form(
    seed: int, used: Sequence[str] = (), cases: Sequence[BankCase] | None = None, target: float | None = None
) -> tuple[BankCase, ...]:
    """Five cases, one of each slot, in a drawn order, that together take the target minutes within the band.

    Parameters
    ----------
    seed : of the draw.
    used : ids of cases that this learner has met, the oldest first; a met case is taken only where a slot has no
        other that fits, the longest ago first.
    cases, target : of another bank; the target in minutes [min].

    Examples
    --------
    >>> form = draw_form(1)
    >>> sorted(case.slot for case in form) == sorted(BLUEPRINT), form == draw_form(1)
    (True, True)
    """
    if cases is None or target is None:
        cases, target = bank()
    chance = random.Random(f"form {seed}")
    met = {case_id: place for place, case_id in enumerate(used)}  # the later place of one met twice
    slots = []
    for slot in BLUEPRINT:
        own = [case for case in cases if case.slot == slot]
        chance.shuffle(own)
        slots.append(sorted(own, key=lambda case: met.get(case.id, -1)))
    minutes = _sums([[case.minutes for case in own] for own in slots])
    old = _sums([[1.0 + met[case.id] if case.id in met else 0.0 for case in own] for own in slots])
    place = _sums([list(range(len(own))) for own in slots])
    worth = np.where(np.abs(minutes / target - 1.0) <= BAND, old * (1.0 + place.max()) + place, np.inf)
    best = int(np.argmin(worth))
    if not np.isfinite(worth.flat[best]):
        raise InputError("no five cases fit the target minutes", "certificate bank", f"{target:g} min")
    order = [own[i] for own, i in zip(slots, np.unravel_index(best, worth.shape), strict=True)]
    chance.shuffle(order)
    return tuple(order)


def _sums(lists: Sequence[Sequence[float]]) -> np.ndarray:
    """Sum of one of each list, for every choice; one axis a list."""
    total = np.zeros(())
    for values in lists:
        total = total[..., None] + np.asarray(values, dtype=float)
    return total


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
        item for item in FAULTS.values() if item.family in BLUEPRINT[slot] and item.places(rig, site)
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
    """How the expert does at a call-out, once for each seed: proven or not, marks [-] and minutes [min]."""
    from simulator.marking.service import marked_attempt
    from simulator.marking.trainees import Expert

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
    parser = argparse.ArgumentParser(prog="python -m simulator.marking.bank", description=main.__doc__)
    parser.add_argument("--each", type=whole(1, 200), default=12, help="cases of each slot")
    parser.add_argument("--out", type=Path, default=FILE)
    chosen = parser.parse_args(arguments)
    cases: list[BankCase] = []
    for slot in BLUEPRINT:
        own: dict[str, BankCase] = {}
        for number in range(40 * chosen.each):
            found = examined(slot, number) if len(own) < chosen.each else None
            if found is not None:
                own[found.id] = found
        cases += own.values()
    write_bank(cases, chosen.out)
    return 0


def write_bank(cases: Sequence[BankCase], path: Path) -> None:
    """Write the file of a bank, cases by id so that their order tells nothing; the target is the mean form."""
    target = sum(
        sum(case.minutes for case in cases if case.slot == slot) / sum(case.slot == slot for case in cases)
        for slot in BLUEPRINT
    )
    rows: list[dict[str, Any]] = [
        {"id": case.id, "slot": case.slot, "minutes": case.minutes, "sealed": case.sealed}
        for case in sorted(cases, key=lambda case: case.id)
    ]
    data = {"format": FORMAT, "version": VERSION, "target_min": round(target, 1), "cases": rows}
    head = "# Cases for certificate sittings, packed so that a look does not tell the answers. Made up for training.\n"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(head + yaml.safe_dump(data, sort_keys=False, width=100000), encoding="utf-8")


if __name__ == "__main__":
    raise SystemExit(command(main))
