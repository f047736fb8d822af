"""Safe order of work: what can hurt in each act and what protects from it, one table for all who speak of it.

``rig/data/safe_work/rules.yaml`` holds it, but for the rows of checks and work, which stand in their own records
(``rig/data/checks.yaml``, ``remedies.yaml``). What an act waits for, its box, how grave it is to go without, yard cards,
field sheet and the lines under a lesson's text are read off it, so that they cannot disagree. ``python -m
simulator.rig.safe_work`` prints it. Local rules and qualified people come first; standards are named from memory.

Arguments, the same throughout: ``kind`` of the acts (checks, remedies, engine, told, safe) and ``name`` of one of them;
``here`` the conditions that hold on the rig (heavy_hose, in_water).
"""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from simulator.errors import InputError, own_files
from simulator.rig.plain_yaml import read_file
from simulator.rig.presets import joints_above_water, water_line
from simulator.rig.record_files import record_file, rows_of_safe_work
from simulator.rig.rig import Rig, Site
from simulator.texts import language, text

_DATA = Path(__file__).parent / "data" / "safe_work"
#: Version of the rules that a new attempt is made under; attempts of an earlier one replay under theirs.
RULES = 4
#: What acts waited for before a version of the rules: (version, kind, name).
_FREER: dict[tuple[int, str, str], tuple[str, ...]] = {(4, "safe", "tie_down_air_line"): ("ppe",)}
CHECKS, REMEDIES, ENGINE, TOLD, SAFE = "checks", "remedies", "engine", "told", "safe"
HEAVY_HOSE, IN_WATER = "heavy_hose", "in_water"
EVERYWHERE = frozenset({HEAVY_HOSE, IN_WATER})
AT_THE_EDGE = 2.0  # [m] up the hose from the water, within which who works stands at its edge; common practice, no source
LIGHT_HOSE = 0.16  # [m] bore up to which one person lifts a drained hose; common practice, no source
HARMS = ("slight", "serious", "grave")
#: The order in which what an act waits for is done and told.
ORDER = (
    "ppe", "closed_up", "running", "stopped", "isolated", "discharge_secured", "air_bled", "line_relieved",
    "hose_vented", "line_held", "plate_rated", "second_person", "edge_safe", "free_to_start",
)  # fmt: skip
#: Care that is taken when all else is done and the rig stands again.
AT_THE_END = ("vent_first",)
#: What a test run takes comes last where it is told: plate or cap is on by then.
TEST_RUN = ("closed_up", "discharge_secured")
TOLD_ORDER = (*(need for need in ORDER if need not in TEST_RUN), *TEST_RUN)

Harm = Literal["slight", "serious", "grave"]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Source(_Strict):
    """A practice or standard that rows follow; ``from_memory`` where nobody had it open before him."""

    name: str
    from_memory: bool


class Protection(_Strict):
    """A state that protects: the act that brings it, and where it stands in the three steps of ISO 12100 (from
    memory)."""

    by: str
    measure: Literal["energy", "guard", "order", "gear"]


class Danger(_Strict):
    """What can hurt: the states and the care that protect from it, how grave it is to go without, what that follows, and
    whether it takes a rig that runs (``turning``)."""

    protects: tuple[str, ...] = ()
    care: tuple[str, ...] = ()
    harm: Harm
    running: Harm | None = None
    only: Literal["heavy_hose", "in_water"] | None = None
    turning: bool = False
    follows: tuple[str, ...] = Field(min_length=1)

    def harm_of(self, engine_on: bool) -> Harm:
        """How grave it is to go without, with the engine off or running (``engine_on``)."""
        return self.running if engine_on and self.running else self.harm


class Act(_Strict):
    """An act: the state of the engine it takes, its dangers, the care that is its own, and the states that it undoes, as
    what was tied down or guarded lies anew: after any find of the hands, or after some (``undoes_after``)."""

    engine: Literal["", "running", "stopped"] = ""
    dangers: tuple[str, ...]
    care: tuple[str, ...] = ()
    undoes: tuple[str, ...] = ()
    undoes_after: tuple[str, ...] = ()


class NotInTable(ValueError):
    """A name that the table does not know, and the keys that lead to it, joined by dots."""

    def __init__(self, what: str, where: str) -> None:
        super().__init__(what)
        self.where = where


class SafeWork(_Strict):
    """The whole table. Names are checked against each other when it is read."""

    format: Literal["safe-work"]
    version: int
    sources: dict[str, Source]
    protections: dict[str, Protection]
    dangers: dict[str, Danger]
    acts: dict[Literal["checks", "remedies", "engine", "told", "safe"], dict[str, Act]]

    @model_validator(mode="after")
    def _names_are_known(self) -> SafeWork:
        for name, danger in self.dangers.items():
            _known(danger.protects, self.protections, f"dangers.{name}.protects")
            _known(danger.follows, self.sources, f"dangers.{name}.follows")
            if not danger.protects and not danger.care:
                raise ValueError(f"dangers.{name}: nothing protects from it")
        for kind, acts in self.acts.items():
            for name, act in acts.items():
                _known(act.dangers, self.dangers, f"acts.{kind}.{name}.dangers")
                _known(act.undoes, self.protections, f"acts.{kind}.{name}.undoes")
                if act.engine == "running" and "isolated" in self.states(kind, name):
                    raise ValueError(f"acts.{kind}.{name}: what protects stops the engine")
        return self

    def states(self, kind: str, name: str) -> tuple[str, ...]:
        """Every state that protects in an act, whatever the rig."""
        act = self.acts[kind][name]  # type: ignore[index]
        return tuple(state for danger in act.dangers for state in self.dangers[danger].protects)


def _known(names: Collection[str], legal: Collection[str], where: str) -> None:
    for name in names:
        if name not in legal:
            raise NotInTable(
                f"{where}: {name!r} is not in the table; legal: {', '.join(sorted(legal))}", where
            )


@lru_cache(maxsize=1)
def table() -> SafeWork:
    """The table that comes with the package.

    Raises
    ------
    InputError : the file does not fit, with what and where.

    Examples
    --------
    >>> table().version == RULES, "isolated" in table().protections
    (True, True)
    """
    with own_files():
        return read_table(_DATA / "rules.yaml")


def read_table(path: Path) -> SafeWork:
    """The table in the file at a path, with the rows that the records of checks and work carry.

    Raises
    ------
    InputError : it cannot be read or does not fit.
    """
    document = read_file(path)
    data: Any = document.data
    if isinstance(data, dict):
        data = dict(data)
        order, acts = data.pop("order", None) or {}, data.get("acts")
        if isinstance(acts, dict):
            data["acts"] = {kind: _in_order(kind, order.get(kind, ())) for kind in (CHECKS, REMEDIES)} | acts
    try:
        return SafeWork.model_validate(data)
    except ValidationError as error:
        first = error.errors()[0]
        where = tuple(part for part in first["loc"] if isinstance(part, (str, int)))
        what, cause = str(first["msg"]).removeprefix("Value error, "), first.get("ctx", {}).get("error")
        if isinstance(cause, NotInTable):
            where, what = tuple(cause.where.split(".")), what.removeprefix(f"{cause.where}: ")
        if where[:1] == ("acts",) and where[1:2] in ((CHECKS,), (REMEDIES,)):
            of_record = (*where[2:3], "safe", *where[3:])
            raise InputError(what, record_file(str(where[1])).where(of_record)) from error
        raise InputError(what, document.where(where)) from error


def _in_order(kind: str, told: Sequence[str]) -> dict[str, Any]:
    """The rows of a kind's records: first those that are told in an order, then the others as the records stand."""
    rows = rows_of_safe_work(kind)
    return {name: rows[name] for name in (*told, *rows) if name in rows}


@lru_cache(maxsize=1)
def _before() -> dict[str, dict[str, list[str]]]:
    """What acts waited for under version 1."""
    data: dict[str, Any] = read_file(_DATA / "rules_1.yaml").data
    return {kind: data[kind] for kind in ("checks", "remedies", "acts")}


def act_of(kind: str, name: str) -> Act:
    """An act of the table.

    Raises
    ------
    InputError : it is not in the table.

    Examples
    --------
    >>> act_of(CHECKS, "gauges").engine
    'running'
    """
    acts: dict[str, Act] = table().acts.get(kind, {})  # type: ignore[call-overload]
    if name not in acts:
        raise InputError(f"the act {name!r} is not in the table of safe work", kind, ", ".join(acts))
    return acts[name]


def dangers_of(kind: str, name: str, here: Collection[str] = EVERYWHERE) -> dict[str, Danger]:
    """The dangers of an act by name; ``here`` says which conditions hold (heavy_hose, in_water).

    Examples
    --------
    >>> list(dangers_of(CHECKS, "joint_apart", ()))
    ['yard', 'started', 'vacuum_held']
    """
    every = {danger: table().dangers[danger] for danger in act_of(kind, name).dangers}
    return {key: danger for key, danger in every.items() if danger.only is None or danger.only in here}


@lru_cache(maxsize=2048)
def needs(
    kind: str, name: str, here: frozenset[str] | tuple[str, ...] = EVERYWHERE, *, version: int = RULES
) -> tuple[str, ...]:
    """The states an act waits for, in the order in which they are brought about.

    Examples
    --------
    >>> needs(CHECKS, "nozzle_out"), needs(CHECKS, "strainer_out", ())
    (('ppe', 'isolated', 'air_bled'), ('ppe', 'isolated', 'hose_vented', 'second_person', 'edge_safe'))
    >>> needs(CHECKS, "strainer_out", version=1)
    ('ppe', 'stopped')
    >>> needs(SAFE, "tie_down_air_line"), needs(SAFE, "tie_down_air_line", version=3)
    (('ppe', 'isolated', 'air_bled'), ('ppe',))
    """
    if version == 1:
        known = _before()[kind if kind in (CHECKS, REMEDIES) else "acts"]
        old = known.get(name, [])
        return tuple(need for need in old if need != "second_person" or HEAVY_HOSE in here)
    for (since, *act), before in _FREER.items():
        if version < since and act == [kind, name]:
            return before
    wanted = {state for danger in dangers_of(kind, name, here).values() for state in danger.protects}
    wanted |= {act_of(kind, name).engine} - {""}
    if "isolated" in wanted:
        wanted.discard("stopped")
    return tuple(sorted(wanted, key=ORDER.index))


def lacking_dangers(
    kind: str, name: str, lacking: Collection[str], here: Collection[str] = EVERYWHERE
) -> tuple[str, ...]:
    """The dangers of an act from which something that is lacking would protect.

    Examples
    --------
    >>> lacking_dangers(CHECKS, "nozzle_out", ["air_bled"])
    ('air_pressed',)
    """
    return tuple(
        key for key, danger in dangers_of(kind, name, here).items() if set(danger.protects) & set(lacking)
    )


def undone(kind: str, name: str, found: str = "", *, version: int = RULES) -> tuple[str, ...]:
    """The states that an act undoes when the hands find what ``found`` says.

    Parameters
    ----------
    version : of the rules; 1 and 2 knew of none.

    Examples
    --------
    >>> undone(REMEDIES, "renew_line", "was_good"), undone(REMEDIES, "straighten_line", "was_good")
    (('discharge_secured',), ())
    >>> undone(REMEDIES, "renew_line", "was_good", version=2)
    ()
    """
    act = act_of(kind, name)
    if version < 3 or (act.undoes_after and found not in act.undoes_after):
        return ()
    return act.undoes


def conditions(rig: Rig, site: Site, place: str = "", *, version: int = RULES) -> frozenset[str]:
    """Which conditions hold on a rig at a site and place: a hose too heavy for one, a joint or length at the water.

    One person lifts a drained hose of up to 150 mm, two a bigger one; within 2 m of the water one works at its edge, a
    length by its lower end: common practice, no source.

    Parameters
    ----------
    version : of the rules; 1 and 2 counted what lies in the water alone.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> sorted(conditions(load_rig("alder"), standard_site("alder"), "length:0"))
    ['heavy_hose', 'in_water']
    """
    found = set()
    if rig.suction_hose.bore > LIGHT_HOSE:
        found.add(HEAVY_HOSE)
    kind, _, number = place.partition(":")
    if number.isdigit():
        dry = joints_above_water(rig, site)
        first = int(number) == 0  # the lowest length carries the strainer
        reach = water_line(rig, site) + AT_THE_EDGE
        at_edge = version >= 3 and _foot(rig, kind, int(number)) <= reach
        if int(number) not in dry or (kind == "length" and first) or at_edge:
            found.add(IN_WATER)
    return frozenset(found)


def _foot(rig: Rig, kind: str, number: int) -> float:
    """Where along the hose a joint lies, or the lower end of a length [m]."""
    joints = rig.suction_hose.joints
    return joints[number].position if kind == "joint" else joints[number - 1].position if number else 0.0


def need_key(need: str, kind: str, name: str, here: Collection[str] = EVERYWHERE) -> str:
    """The key of a need's sentence: why a second person is wanted depends on the act.

    Examples
    --------
    >>> need_key("second_person", CHECKS, "dip_water"), need_key("second_person", REMEDIES, "renew_gasket")
    ('second_person_edge', 'second_person')
    """
    if need == "second_person":
        found = dangers_of(kind, name, here)
        if {"edge", "edge_of_joint"} & set(found):
            return "second_person_edge"
        if "heavy_pump" in found:
            return "second_person_pump"
    return need


def box(kind: str, name: str, here: Collection[str] | None = None) -> str:
    """What protects in an act, in sentences, in the order in which it is done: gear, what is made safe, then the care.

    Without ``here`` it is told for any rig, with its conditions; with them what holds on this rig alone is told.

    Examples
    --------
    >>> box(CHECKS, "nozzle_out").startswith("Protective gear on. Engine stopped, locked off and tagged. Motive air")
    True
    >>> [word in box(REMEDIES, "renew_gasket", here) for here in ((), (HEAVY_HOSE,)) for word in ("second", "heavy")]
    [False, False, True, True]
    """
    return _box(kind, name, None if here is None else frozenset(here), language())


@lru_cache(maxsize=4096)
def _box(kind: str, name: str, here: frozenset[str] | None, _language: str) -> str:
    holds = EVERYWHERE if here is None else here
    found = dangers_of(kind, name, holds)
    wanted = [need for need in needs(kind, name, holds) if need not in ("running", "stopped")]
    said = [_sentence(need, kind, name, here) for need in sorted(wanted, key=TOLD_ORDER.index)]
    cares = [*act_of(kind, name).care, *(care for danger in found.values() for care in danger.care)]
    in_order = sorted(dict.fromkeys(cares), key=lambda care: care in AT_THE_END)
    said += [text(f"safe_work.care.{care}") for care in in_order]
    return " ".join(said)


def _sentence(need: str, kind: str, name: str, here: frozenset[str] | None) -> str:
    if (
        need == "discharge_secured" and kind == CHECKS
    ):  # a plate or a cap is on: nothing takes hold with a jolt
        return text("safe_work.states.discharge_secured")
    if here is not None:
        return text(f"attempt.needs.{need_key(need, kind, name, here)}")
    sure = needs(kind, name, ())
    key = need_key(need, kind, name, EVERYWHERE if need not in sure else ())
    if need not in sure:  # only with a heavy hose, or where a joint lies at the water
        return text(
            f"safe_work.where.{'in_water' if need == 'edge_safe' or key.endswith('edge') else 'heavy_hose'}.{need}"
        )
    return text(f"attempt.needs.{key}")


def short(kind: str, name: str) -> str:
    """What is made safe first, in the few words that fit behind an act in a list; "" where gear is all it takes.

    Examples
    --------
    >>> short(CHECKS, "nozzle_out"), short(CHECKS, "walk_round")
    ('lock off, tag, bleed', '')
    """
    said = [
        text(f"safe_work.short.{need}")
        for need in needs(kind, name, ())
        if need not in ("running", "stopped", "ppe", "closed_up")
    ]
    return text("safe_work.short.and").join(said)


@dataclass(frozen=True)
class Row:
    """One row of the printed table: an act, a danger in it, what protects, how grave to go without, what it follows."""

    kind: str
    act: str
    danger: str
    protects: tuple[str, ...]
    care: tuple[str, ...]
    harm: str
    only: str
    follows: tuple[str, ...]
    harms: tuple[str, ...]  # with the engine off, and with it on where that is graver


def rows() -> Iterator[Row]:
    """Every act with every danger in it, in the order of the table.

    Examples
    --------
    >>> next(rows()).act
    'walk_round'
    """
    for kind, acts in table().acts.items():
        for name, act in acts.items():
            for number, key in enumerate(act.dangers):
                danger = table().dangers[key]
                own = act.care if number == len(act.dangers) - 1 else ()
                worst = danger.running or danger.harm
                harm = danger.harm if worst == danger.harm else f"{danger.harm} ({worst} while it runs)"
                yield Row(
                    kind, name, key, danger.protects, (*danger.care, *own), harm, danger.only or "", danger.follows,
                    (danger.harm,) if worst == danger.harm else (danger.harm, worst),
                )  # fmt: skip


def printed() -> str:
    """The table as plain text, one line a row, with its sources below.

    Examples
    --------
    >>> "strainer_out" in printed() and "1910.147" in printed()
    True
    """
    out = [text("safe_work.title"), text("common.training_aid"), ""]
    head = entry_row("act", "danger", "what protects", "without it", "follows")
    out += [head, "-" * len(head)]
    for row in rows():
        protects = ", ".join((*row.protects, *(f"({care})" for care in row.care)))
        danger = f"{row.danger} [{row.only}]" if row.only else row.danger
        out.append(entry_row(f"{row.kind}.{row.act}", danger, protects, row.harm, ", ".join(row.follows)))
    out.append("")
    for name, source in table().sources.items():
        out.append(f"{name}: {source.name}" + (" (from memory)" if source.from_memory else ""))
    return "\n".join(out)


def entry_row(*cells: str) -> str:
    """Cells of one line, put under each other.

    Examples
    --------
    >>> entry_row("a", "b", "c", "d", "e").split()
    ['a', 'b', 'c', 'd', 'e']
    """
    widths = (30, 28, 62, 32, 0)
    return " ".join(f"{cell:<{width}}" for cell, width in zip(cells, widths, strict=True)).rstrip()


if __name__ == "__main__":
    sys.stdout.write(f"{printed()}\n")
