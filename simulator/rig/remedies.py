"""What one can do about it. A remedy sees the rig as it is, changes it truthfully, and is also a look.

No remedy knows a fault by name: doing the wrong thing costs its minutes and leaves the fault.
Minutes and needs are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from simulator.errors import InputError
from simulator.rig.rig import Rig, Site

BROKEN_SLIP = 0.999  # [-] from here on the belt is gone: nothing left to tighten
TIGHT_SLIP = 0.05  # [-] below this a hand finds the belt tight
TIGHTENED_SLIP = 0.02  # [-] a stretched belt, tightened
CLEAN_SHARE = 0.05  # [-] dirt on a screen or strainer that nobody would remark upon
WASHED_SHARE = 0.02  # [-] what a wash with a hose and a brush leaves behind


@dataclass(frozen=True)
class Remedy:
    """One act that mends a part.

    ``part`` names what it touches, ``minutes`` the yard time [min], ``needs`` the states it waits for;
    ``findings`` are all the codes :meth:`finding` can give. ``per_joint`` remedies take a place such as
    ``joint:1``.
    """

    id: str
    part: str
    minutes: float
    needs: tuple[str, ...]
    findings: tuple[str, ...]
    per_joint: bool
    change: Callable[[Rig, str], Rig]
    look: Callable[[Rig, str], str]

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
        return self.change(rig, place), site

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
        return self.look(rig, place)

    def _check(self, rig: Rig, place: str) -> None:
        places = self.places(rig)
        if place not in places:
            legal = ", ".join(places) if self.per_joint else "no place"
            raise InputError(f"there is no place {place!r} for this work", self.id, legal)


def _joint(place: str) -> int:
    return int(place.partition(":")[2])


def _set(rig: Rig, part: str, **values: float | bool) -> Rig:
    old: Any = getattr(rig, part)
    return replace(rig, **{part: replace(old, **values)})


def _drain_found(rig: Rig, place: str) -> str:
    opening = rig.casing_drain.opening
    return "was_shut" if opening <= 0.0 else "was_open" if opening > 0.6 else "was_part_open"


def _nrv_cleaned(rig: Rig, place: str) -> Rig:
    return _set(rig, "nrv", gap_area=0.0, stuck=False)


def _nrv_found(rig: Rig, place: str) -> str:
    return "was_stuck" if rig.nrv.stuck else "was_fouled" if rig.nrv.gap_area > 0.0 else "was_clean"


def _ring_renewed(rig: Rig, place: str) -> Rig:
    joints = tuple(
        replace(joint, hole_diameter=0.0) if i == _joint(place) else joint
        for i, joint in enumerate(rig.suction_hose.joints)
    )
    return replace(rig, suction_hose=replace(rig.suction_hose, joints=joints))


def _ring_found(rig: Rig, place: str) -> str:
    return "ring_torn" if rig.suction_hose.joints[_joint(place)].hole_diameter > 0.0 else "ring_good"


def _belt_tightened(rig: Rig, place: str) -> Rig:
    slip = rig.compressor.belt_slip
    return rig if slip >= BROKEN_SLIP else _set(rig, "compressor", belt_slip=min(slip, TIGHTENED_SLIP))


def _belt_found(rig: Rig, place: str) -> str:
    slip = rig.compressor.belt_slip
    return "belt_gone" if slip >= BROKEN_SLIP else "belt_loose" if slip > TIGHT_SLIP else "belt_tight"


def _nozzle_found(rig: Rig, place: str) -> str:
    ejector = rig.ejector
    return "was_plugged" if ejector.nozzle_plugged > CLEAN_SHARE else "was_clear"


def _screen_cleaned(rig: Rig, place: str) -> Rig:
    return _set(rig, "screen", plugged=min(rig.screen.plugged, WASHED_SHARE))


def _screen_found(rig: Rig, place: str) -> str:
    return "was_plugged" if rig.screen.plugged > CLEAN_SHARE else "was_clear"


def _strainer_cleaned(rig: Rig, place: str) -> Rig:
    hose = rig.suction_hose
    strainer = replace(hose.strainer, blocked=min(hose.strainer.blocked, WASHED_SHARE))
    return replace(rig, suction_hose=replace(hose, strainer=strainer))


def _strainer_found(rig: Rig, place: str) -> str:
    return "was_plugged" if rig.suction_hose.strainer.blocked > CLEAN_SHARE else "was_clear"


def _hose_replaced(rig: Rig, place: str) -> Rig:
    # Other lengths from the rack, with new rings; the strainer moves over as it is.
    hose = rig.suction_hose
    liner = type(hose.liner)(position=hose.liner.position)
    joints = tuple(replace(joint, hole_diameter=0.0) for joint in hose.joints)
    return replace(rig, suction_hose=replace(hose, liner=liner, joints=joints, holes=()))


def _hose_found(rig: Rig, place: str) -> str:
    # A loose liner lies flat again at rest: taking the hose off shows rings and holes, not the liner.
    hose = rig.suction_hose
    if any(joint.hole_diameter > 0.0 for joint in hose.joints):
        return "ring_torn"
    return "hole_seen" if any(hole.diameter > 0.0 for hole in hose.holes) else "nothing_seen"


_BELT = ("belt_tight", "belt_loose", "belt_gone")
_PLUG = ("was_clear", "was_plugged")

#: Every remedy by its id, cheapest first.
REMEDIES: dict[str, Remedy] = {
    remedy.id: remedy
    for remedy in (
        Remedy(
            "close_drain", "casing_drain", 1.0, ("ppe",), ("was_shut", "was_part_open", "was_open"), False,
            lambda rig, place: _set(rig, "casing_drain", opening=0.0), _drain_found,
        ),
        Remedy(
            "tighten_belt", "belt", 6.0, ("ppe", "stopped", "isolated"), _BELT, False,
            _belt_tightened, _belt_found,
        ),
        Remedy(
            "renew_joint_ring", "joint", 6.0, ("ppe", "stopped", "hose_vented"),
            ("ring_good", "ring_torn"), True, _ring_renewed, _ring_found,
        ),
        Remedy(
            "clean_strainer", "strainer", 8.0, ("ppe", "stopped"), _PLUG, False,
            _strainer_cleaned, _strainer_found,
        ),
        Remedy(
            "clean_nozzle", "nozzle", 12.0, ("ppe", "stopped", "isolated", "air_bled"), _PLUG, False,
            lambda rig, place: _set(rig, "ejector", nozzle_plugged=0.0), _nozzle_found,
        ),
        Remedy(
            "clean_screen", "screen", 14.0, ("ppe", "stopped", "isolated", "air_bled"), _PLUG, False,
            _screen_cleaned, _screen_found,
        ),
        Remedy(
            "clean_nrv", "nrv", 15.0, ("ppe", "stopped", "isolated", "line_relieved"),
            ("was_clean", "was_fouled", "was_stuck"), False, _nrv_cleaned, _nrv_found,
        ),
        Remedy(
            "renew_belt", "belt", 15.0, ("ppe", "stopped", "isolated"), _BELT, False,
            lambda rig, place: _set(rig, "compressor", belt_slip=0.0), _belt_found,
        ),
        Remedy(
            "replace_hose", "hose", 25.0, ("ppe", "stopped", "isolated", "hose_vented"),
            ("nothing_seen", "hole_seen", "ring_torn"), False, _hose_replaced, _hose_found,
        ),
    )
}  # fmt: skip


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
    wanted = "hose" if part == "liner" else part
    return tuple(name for name, item in REMEDIES.items() if item.part == wanted)
