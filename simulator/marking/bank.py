"""The bank of certificate cases: what a case is, and the file that keeps them.

The file keeps each case packed, so that a look at it does not tell the answer; a kernel in the learner's hands can
never be a vault. How cases come into the bank: :mod:`simulator.studies.bank_drawing`; how forms are drawn from it:
:mod:`simulator.marking.certificate_forms`.

Throughout: ``scenario`` is a call-out; ``path`` a bank's file.
"""

from __future__ import annotations

import base64
import json
import os
import zlib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from simulator.errors import InputError
from simulator.scenario import Scenario, scenario_from

FILE = Path(__file__).parent / "data" / "certificate_bank.yaml"
FORMAT, VERSION = "certificate-bank", 2
OLDER = (1,)  # without difficulties
BANK_VARIABLE = "SIMULATOR_CERTIFICATE_BANK"  # names the file of a bank of one's own
#: Kinds of case and the families they draw from.
KINDS: dict[str, tuple[str, ...]] = {
    "air_gets_in": ("air_gets_in",),
    "air_not_drawn_out": ("air_not_drawn_out",),
    "water_cannot_come": ("water_cannot_come",),
    "good_or_gauge": ("none", "instrument"),
    "loses_it": ("primes_then_loses",),
}


@dataclass(frozen=True)
class BankCase:
    """A case of the bank: an id that tells nothing, its kind (``slot``), the expert's minutes [min], the packed call-out,
    and its difficulty: the marks [of 100] that simulated people between knowing and not lose at it on average."""

    id: str
    slot: str
    minutes: float
    sealed: str
    difficulty: float = 0.0

    def scenario(self) -> Scenario:
        """The call-out."""
        return scenario_from(json.loads(zlib.decompress(base64.b85decode(self.sealed))))


def pack(scenario: Scenario) -> str:
    """A call-out as text that does not tell its answer at a glance."""
    written = json.dumps(scenario.content(), sort_keys=True, separators=(",", ":"))
    return base64.b85encode(zlib.compress(written.encode(), 9)).decode()


def read_bank(path: Path | str = FILE) -> tuple[tuple[BankCase, ...], float]:
    """All cases and the target minutes of the first five [min].

    Raises
    ------
    InputError : it is another kind of file, or of a newer version.

    Examples
    --------
    >>> cases, target = read_bank()
    >>> {case.slot for case in cases} == set(KINDS), target > 0.0
    (True, True)
    """
    data: Any = yaml.safe_load(Path(path).read_text(encoding="utf-8"))
    known = (VERSION, *OLDER)
    if not isinstance(data, dict) or data.get("format") != FORMAT or data.get("version") not in known:
        raise InputError("this is no bank of cases", str(path), f"format: {FORMAT}, version: {VERSION}")
    return tuple(BankCase(**case) for case in data["cases"]), float(data["target_min"])


def bank_file() -> Path:
    """The file of the bank in use.

    Examples
    --------
    >>> bank_file().suffix
    '.yaml'
    """
    return Path(os.environ.get(BANK_VARIABLE) or FILE)


@lru_cache(maxsize=1)
def bank() -> tuple[tuple[BankCase, ...], float]:
    """The bank in use: a trainer's own where one is named (``SIMULATOR_CERTIFICATE_BANK``), else the package's.

    Raises
    ------
    InputError : the file that is named holds none.
    """
    path = bank_file()
    try:
        return read_bank(path)
    except (OSError, yaml.YAMLError, KeyError, TypeError, ValueError) as error:
        raise InputError(
            "this is no bank of cases", str(path), f"format: {FORMAT}, version: {VERSION}"
        ) from error
