"""Notes are kept as keys and SI figures, and put into words only when somebody reads them.

Arguments, the same throughout: ``quantity`` vacuum, pressure, length or bore, which decides on the unit; ``system``
metric or us.
"""

from __future__ import annotations

from typing import Any

from simulator.instruments.gauges import GAUGES, read
from simulator.texts import text
from simulator.units import SYSTEMS, UNITS

Note = dict[str, Any]


def note(kind: str, key: str, **fields: Any) -> Note:
    """A note by ``key`` of the catalogue and fields.

    ``kind`` is one of look, act, engine, remedy, call, said, ask, hint, warning, refused, end.

    Examples
    --------
    >>> render(note("look", "checks.joint_apart.outcomes.good", joint=2))
    'Joint 2: the ring is good.'
    """
    return {"kind": kind, "key": key, "fields": fields}


def pressure(quantity: str, value: float, gauge: str = "") -> dict[str, Any]:
    """A figure that is put into the reader's unit later; ``value`` in Pa, vacuum positive.

    With ``gauge`` it is read off that gauge's dial, to half a graduation of the reader's own dial.

    Examples
    --------
    >>> render(pressure("vacuum", 16_250.0, "suction"), "us")
    '5.0 inHg'
    """
    return {"quantity": quantity, "si": value} | ({"gauge": gauge} if gauge else {})


def tape(value: float) -> dict[str, Any]:
    """A length that a tape gave; ``value`` in m, told to a tenth of a metre or of a foot: water is never quite still.

    Examples
    --------
    >>> render(tape(8.53)), render(tape(8.53), "us")
    ('8.5 m', '28.0 ft')
    """
    return {"quantity": "length", "si": value, "decimals": 1}


def suspect_name(name: str) -> dict[str, Any]:
    """The name of a suspect, as a field.

    Examples
    --------
    >>> suspect_name("something_else")
    {'key': 'attempt.call.something_else'}
    """
    return {"key": "attempt.call.something_else" if name == "something_else" else f"faults.{name}.name"}


def figure(quantity: str, value: float, system: str, decimals: int | None = None) -> str:
    """An SI value as people read it, with its unit's usual ``decimals`` unless others are asked for.

    Examples
    --------
    >>> figure("vacuum", 16e3, "metric"), figure("pressure", 5.6e5, "us")
    ('16 kPa', '81 psi')
    """
    unit = UNITS[SYSTEMS[system][quantity]]
    return f"{unit.from_si(value):.{unit.decimals if decimals is None else decimals}f} {unit.name}"


def render(item: Any, system: str = "metric") -> str:
    """An ``item`` in words: a note, a message within one, a figure, a list of them, or plain text.

    Examples
    --------
    >>> render(pressure("vacuum", 16e3))
    '16 kPa'
    """
    if isinstance(item, dict) and "quantity" in item:
        value = read(item["si"], GAUGES[item["gauge"]], system) if "gauge" in item else item["si"]
        return figure(item["quantity"], value, system, item.get("decimals"))
    if isinstance(item, dict) and "key" in item:
        fields = {name: render(value, system) for name, value in item.get("fields", {}).items()}
        return text(item["key"], **fields)
    if isinstance(item, list):
        return ", ".join(render(part, system) for part in item)
    return str(item)


def clock_words(ticks: int) -> str:
    """Yard clock of so many ``ticks`` [0.1 s] as minutes and seconds.

    Examples
    --------
    >>> clock_words(1520)
    '2:32'
    """
    seconds = ticks // 10
    return f"{seconds // 60}:{seconds % 60:02d}"
