"""What one can do about it. A remedy sees the rig as it is, changes it truthfully, and is also a look.

One record a remedy stands in ``data/remedies.yaml``, its words under the same name in the message catalogue. No remedy
knows a fault by name: doing the wrong thing costs its minutes and leaves the fault. What it waits for stands in the table
of safe work.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal, Self

from pydantic import Field, model_validator

from simulator.errors import InputError
from simulator.rig import hands, safe_work, trainer
from simulator.rig.hands import BROKEN_SLIP, CLEAN_SHARE, TIGHT_SLIP, TIGHTENED_SLIP, WASHED_SHARE
from simulator.rig.lazy import RecordTable
from simulator.rig.plain_yaml import Document
from simulator.rig.presets import fitted_with
from simulator.rig.quantity import replaced
from simulator.rig.ramps import RAMP_TARGETS
from simulator.rig.record_files import (
    ActRecord,
    StepRecord,
    in_si,
    known_field,
    quantity_of,
    record_file,
    validated,
)
from simulator.rig.rig import Rig, Site

__all__ = [
    "BROKEN_SLIP",
    "CLEAN_SHARE",
    "REMEDIES",
    "TIGHTENED_SLIP",
    "TIGHT_SLIP",
    "WASHED_SHARE",
    "Remedy",
    "remedies_for",
    "remedy",
]


UNSEEN = "nothing_seen"  # the hands cannot tell


@dataclass(frozen=True)
class Remedy:
    """One act that mends a part.

    ``part`` names what it touches, ``minutes`` the yard time [min]; ``findings`` are all the codes :meth:`finding` can
    give. ``per_joint`` remedies take a place such as ``joint:1``. ``at_site`` and ``seen_at_site`` stand in for
    ``change`` and ``look`` where it is the site that changes.
    """

    id: str
    part: str
    minutes: float
    findings: tuple[str, ...]
    per_joint: bool
    change: Callable[[Rig, str], Rig]
    look: Callable[[Rig, str], str]
    at_site: Callable[[Rig, Site], Site] | None = None  # where it changes the lay of things
    seen_at_site: Callable[[Rig, Site], str] | None = None
    fitted: str = ""  # a part that only some rigs have
    also: tuple[str, ...] = ()  # other parts that it touches
    takes_other_work: tuple[str, ...] = ()  # of its findings, those that this work does not mend
    mends: str = ""  # the fault an old hand thinks of, or ""
    group: str = ""  # where its part stands on the page, where that is said here
    icon: str = ""
    spot: str = ""  # the part in a picture that leads to it, where its own cannot be pressed
    usual_minutes: float = 0.0  # as it comes with the package [min], where a trainer sets another

    @property
    def needs(self) -> tuple[str, ...]:
        """The states it waits for, by the table of safe work; some of them only with a heavy hose or at the water."""
        return safe_work.needs(safe_work.REMEDIES, self.id)

    @property
    def protects(self) -> str:
        """What protects the person who does it."""
        return safe_work.box(safe_work.REMEDIES, self.id)

    @property
    def place(self) -> str:
        """The part of the rig it touches; ``joint`` for one of the hose joints."""
        return self.part

    def places(self, rig: Rig) -> tuple[str, ...]:
        """Where it can be done; ``("",)`` where there is only one place.

        Examples
        --------
        >>> from simulator.rig.presets import load_rig
        >>> REMEDIES["renew_joint_ring"].places(load_rig("osier"))
        ('joint:0', 'joint:1', 'joint:2')
        """
        if not fitted_with(rig, self.fitted):
            return ()
        return tuple(f"joint:{i}" for i in range(len(rig.suction_hose.joints))) if self.per_joint else ("",)

    def apply(self, rig: Rig, site: Site, place: str = "") -> tuple[Rig, Site]:
        """The rig and site afterwards; the given ones stay as they are.

        Raises
        ------
        InputError : the place is not on this rig.

        Examples
        --------
        >>> from dataclasses import replace
        >>> from simulator.rig.parts import Valve
        >>> from simulator.rig.presets import load_rig, standard_site
        >>> open_drain = replace(load_rig("osier"), casing_drain=Valve(bore=0.025, opening=1.0))
        >>> REMEDIES["close_drain"].apply(open_drain, standard_site())[0] == load_rig("osier")
        True
        """
        self._check(rig, place)
        return self.change(rig, place), self.at_site(rig, site) if self.at_site else site

    def seen_in_vain(self, finding: str) -> bool:
        """Whether who did it could see that nothing was put right: the part was good, or it takes other work.

        Parameters
        ----------
        finding : one of ``findings``; the first is that of a good part.

        Examples
        --------
        >>> REMEDIES["tighten_belt"].seen_in_vain("belt_tight"), REMEDIES["tighten_belt"].seen_in_vain("belt_loose")
        (True, False)
        """
        good = finding == self.findings[0] and finding != UNSEEN
        return good or finding in self.takes_other_work

    def finding(self, rig: Rig, site: Site, place: str = "") -> str:
        """What the hands find while doing it, as a code; the rig is the one *before* the remedy.

        Raises
        ------
        InputError : the place is not on this rig.

        Examples
        --------
        >>> from simulator.rig.presets import load_rig, standard_site
        >>> REMEDIES["close_drain"].finding(load_rig("osier"), standard_site())
        'was_shut'
        """
        self._check(rig, place)
        return self.seen_at_site(rig, site) if self.seen_at_site else self.look(rig, place)

    def _check(self, rig: Rig, place: str) -> None:
        places = self.places(rig)
        if place not in places:
            if not places:
                raise InputError(f"the rig {rig.title} has no such part", self.id, "another rig or work")
            legal = ", ".join(places) if self.per_joint else "no place"
            raise InputError(f"there is no place {place!r} for this work", self.id, legal)


class FindRecord(StepRecord):
    """A find and the quantity that shows it; the last of a list names none."""

    found: str


class RemedyRecord(ActRecord):
    """One record of ``data/remedies.yaml``; the comment at its head says what each key is."""

    part: str
    also: tuple[str, ...] = ()
    at_each: Literal["", "joint"] = ""
    findings: tuple[str, ...] = Field(min_length=1)
    takes_other_work: tuple[str, ...] = ()
    does: str | dict[str, Any]
    finds: str | dict[str, Any] | tuple[dict[str, Any], ...]
    at_site: bool = False
    mends: str = ""

    @model_validator(mode="after")
    def _finds_are_known(self) -> Self:
        steps = [] if isinstance(self.finds, str | dict) else [step.get("found") for step in self.finds]
        for code in (*self.takes_other_work, *steps):
            if code not in self.findings:
                raise ValueError(f"{code!r} is none of its findings: {', '.join(self.findings)}")
        if self.at_site and not (isinstance(self.does, str) and isinstance(self.finds, str)):
            raise ValueError("at_site takes the names of two functions of hands.py, for does and finds")
        return self


def _named(said: str | dict[str, Any]) -> Callable[..., Any]:
    """A function of ``hands.py`` by its name, or made from one with options.

    Raises
    ------
    InputError : there is none of that name, or it takes no such options.
    """
    options = dict(said) if isinstance(said, dict) else {"by": said}
    name = str(options.pop("by", ""))
    if name in hands.WITH_OPTIONS:
        try:
            return hands.WITH_OPTIONS[name](**in_si(options))
        except TypeError as error:
            raise InputError(f"{name!r} does not take these options", "does, finds", str(error)) from error
    found = getattr(hands, name, None)
    if options or not callable(found) or getattr(found, "__module__", "") != hands.__name__:
        legal = "set, a function of rig/hands.py, or by: one of " + ", ".join(hands.WITH_OPTIONS)
        raise InputError(f"{said!r} is no work and no find", "does, finds", legal)
    return found


def _work(said: str | dict[str, Any]) -> Callable[[Rig, str], Rig]:
    """What the hands do: fields of parts set and changes while it runs ended, or a function.

    Raises
    ------
    InputError : no rig has such a part or field, or there is no such function.
    """
    if not isinstance(said, dict) or not said or set(said) - {"set", "ends"}:
        return _named(said)
    parts, ends = {part: in_si(values) for part, values in said.get("set", {}).items()}, said.get("ends", ())
    for target in ends:
        if target not in RAMP_TARGETS:
            raise InputError(f"{target!r} cannot change during a run", "does.ends", ", ".join(RAMP_TARGETS))
    for part, values in parts.items():
        for name, value in values.items():
            known_field(part, name)
            values[name] = value if isinstance(value, bool) else float(value)

    def change(rig: Rig, place: str) -> Rig:
        rig = hands.drop_ramps(rig, *ends) if ends else rig
        for part, values in parts.items():
            rig = replaced(rig, part, **values)
        return rig

    return change


def _find(said: str | dict[str, Any] | tuple[dict[str, Any], ...]) -> Callable[..., str]:
    """What the hands find: the first of some steps that holds, or what a function says.

    Raises
    ------
    InputError : no rig has such a quantity, the last step is not the rest, or there is no such function.
    """
    if isinstance(said, str | dict):
        return _named(said)
    document = Document({str(number): in_si(step) for number, step in enumerate(said, 1)}, {}, "finds")
    steps = [validated("step", FindRecord, number, document) for number in document.data]
    if steps[-1].of or not all(step.of for step in steps[:-1]):
        raise InputError("only the last step of 'finds' takes the rest", "finds", "a last step without 'of'")
    read = [(step, quantity_of(step.of)) for step in steps[:-1]]

    def look(rig: Rig, place: str) -> str:
        for step, value in read:
            seen = value(rig)
            if step.above is not None:
                there = seen > step.above
            else:
                there = seen < step.below if step.below is not None else bool(seen)
            if there:
                return step.found
        return steps[-1].found

    return look


def remedy_from(document: Document, name: str) -> Remedy:
    """The remedy of a ``document`` of records that has a ``name``.

    Raises
    ------
    InputError : its record is not whole, with its line, what is wrong and what would be legal.
    """
    minutes_of = trainer.overrides().minutes_of
    record = validated("remedy", RemedyRecord, name, document)
    try:
        does: Any = _named(record.does) if record.at_site else _work(record.does)
        finds: Any = _find(record.finds)
    except InputError as error:
        raise InputError(f"remedy {name!r}: {error.what}", document.where((name,)), error.legal) from error
    return Remedy(
        id=name,
        part=record.part,
        minutes=minutes_of(name, record.minutes),
        usual_minutes=record.minutes,
        findings=record.findings,
        per_joint=bool(record.at_each),
        change=_left_as_it_is if record.at_site else does,
        look=_seen_at_the_site if record.at_site else finds,
        at_site=does if record.at_site else None,
        seen_at_site=finds if record.at_site else None,
        fitted=record.fitted,
        also=record.also,
        takes_other_work=record.takes_other_work,
        mends=record.mends,
        group=record.group,
        icon=record.icon,
        spot=record.spot,
    )


def _left_as_it_is(rig: Rig, place: str) -> Rig:
    return rig


def _seen_at_the_site(rig: Rig, place: str) -> str:
    return ""


#: Every remedy by its id, cheapest first.
REMEDIES: RecordTable[Remedy] = RecordTable(lambda: record_file("remedies"), remedy_from)


def remedy(name: str) -> Remedy:
    """A remedy by its id.

    Raises
    ------
    InputError : there is no such remedy.

    Examples
    --------
    >>> remedy("close_drain").minutes
    1.0
    """
    if name not in REMEDIES:
        raise InputError(f"there is no remedy {name!r}", "remedy", ", ".join(REMEDIES))
    return REMEDIES[name]


def remedies_for(part: str) -> tuple[str, ...]:
    """Ids of the remedies that touch a part.

    Examples
    --------
    >>> remedies_for("belt")
    ('tighten_belt', 'renew_belt')
    """
    return tuple(name for name, item in REMEDIES.items() if part in (item.part, *item.also))
