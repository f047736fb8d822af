"""The bank of certificate cases, and forms drawn from it by a published blueprint.

A form has one case of each slot below, in a drawn order. Forms add up to the target minutes within a band so narrow that
any two are within 10 %.

The file keeps each case packed, so that a look at it does not tell the answer; a kernel in the learner's hands can
never be a vault. How cases come into the bank: :mod:`simulator.studies.bank_drawing`.

Throughout: ``scenario`` is a call-out; ``path`` a bank's file.
"""

from __future__ import annotations

import base64
import json
import random
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import yaml

from simulator.errors import InputError
from simulator.scenario import Scenario, scenario_from

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

    Raises
    ------
    InputError : no five cases of the bank fit the target.

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
