"""A dataclass field that carries its unit and its legal range, so that forms, files and checks share one truth.

Arguments, the same throughout: ``low``, ``high`` ends of the legal range, in the unit of the field [unit of
the field]; ``default`` the value where none is given; ``item`` a field of a dataclass; ``instance`` a record
whose fields are checked.
"""

from __future__ import annotations

import math
from dataclasses import MISSING, Field, field, fields, replace
from typing import Any, TypeVar

from simulator.errors import InputError

T = TypeVar("T")


def quantity(unit: str, low: float = -math.inf, high: float = math.inf, default: Any = MISSING) -> Any:
    """A float field with its SI unit and closed legal range."""
    metadata = {"unit": unit, "low": low, "high": high}
    if default is MISSING:
        return field(metadata=metadata)
    return field(default=default, metadata=metadata)


def unit_of(item: Field[Any]) -> str:
    """SI unit of a field made by :func:`quantity`; empty where it has none."""
    return str(item.metadata.get("unit", ""))


def validate(instance: Any) -> None:
    """Raise a sentence for the first field outside its legal range.

    Raises
    ------
    InputError : a quantity is not a finite number in its range (infinity is legal only where the range has it).
    """
    owner = type(instance).__name__
    for item in fields(instance):
        if "low" not in item.metadata:
            continue
        low, high, unit = item.metadata["low"], item.metadata["high"], item.metadata["unit"]
        value = getattr(instance, item.name)
        if not isinstance(value, (int, float)) or isinstance(value, bool) or not low <= value <= high:
            raise InputError(f"{item.name} is {value!r}", owner, f"{low:g} to {high:g} {unit}".rstrip(" -"))


def replaced(owner: T, path: str, **values: Any) -> T:
    """A copy of a record ``owner`` in which fields of one part have other ``values``, in SI units.

    Parameters
    ----------
    path : to the part, its names joined by dots, such as ``suction_hose.strainer``.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> replaced(load_rig("osier"), "suction_hose.strainer", blocked=0.5).suction_hose.strainer.blocked
    0.5
    """
    first, _, rest = path.partition(".")
    old: Any = getattr(owner, first)
    new = replaced(old, rest, **values) if rest else replace(old, **values)
    return replace(owner, **{first: new})  # type: ignore[type-var]
