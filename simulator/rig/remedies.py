"""What one can do about it. A remedy sees the rig as it is, changes it truthfully, and is also a look.

No remedy knows a fault by name: doing the wrong thing costs its minutes and leaves the fault.
Minutes are common practice, no source; what it waits for stands in the table of safe work.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from simulator.errors import InputError
from simulator.rig import hands, safe_work, trainer
from simulator.rig.hands import BROKEN_SLIP, CLEAN_SHARE, TIGHT_SLIP, TIGHTENED_SLIP, WASHED_SHARE
from simulator.rig.presets import fitted_with
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
TAKES_OTHER_WORK = {
    ("straighten_line", "was_burst"),
    ("tighten_belt", "belt_gone"),
    ("tighten_flange", "gasket_torn"),
}


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
        return good or (self.id, finding) in TAKES_OTHER_WORK

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


_BELT = ("belt_tight", "belt_loose", "belt_gone")
_PLUG = ("was_clear", "was_plugged")
_YES = lambda rig, place: ""  # noqa: E731 - seen at the site instead


def _made(item: Remedy) -> Remedy:
    set_now = trainer.overrides().minutes_of(item.id, item.minutes)
    return replace(item, minutes=set_now, usual_minutes=item.minutes)


#: Every remedy by its id, cheapest first.
REMEDIES: dict[str, Remedy] = {
    remedy.id: _made(remedy)
    for remedy in (
        Remedy(
            "open_cock", "cock", 0.5, ("was_open", "was_part_open", "was_shut"), False,
            hands.cock_opened, hands.cock_found, fitted="isolating_cock",
        ),
        Remedy(
            "close_drain", "casing_drain", 1.0, ("was_shut", "was_part_open", "was_open"), False,
            hands.setting("casing_drain", opening=0.0), hands.drain_found,
        ),
        Remedy(
            "close_frost_drain", "frost_drain", 1.0, ("was_shut", "was_open"), False,
            hands.setting("frost_drain", opening=0.0),
            hands.told(lambda rig: rig.frost_drain.opening > 0.0, "was_open", "was_shut"),
        ),
        Remedy(
            "open_discharge", "discharge_valve", 1.0, ("was_open", "was_part_open", "was_shut"), False,
            hands.discharge_opened, hands.discharge_found,
        ),
        Remedy(
            "raise_speed", "engine", 1.0, ("was_right", "was_slow"), False,
            hands.speed_set, hands.told(lambda rig: rig.engine.speed_setting < hands.RATED_FROM, "was_slow", "was_right"),
        ),
        Remedy(
            "swap_suction_gauge", "suction_gauge", 4.0, ("was_good", "was_bad"),
            False, hands.gauge_swapped("suction_gauge"), hands.gauge_found("suction_gauge"),
        ),
        Remedy(
            "swap_motive_gauge", "motive_gauge", 4.0, ("was_good", "was_bad"),
            False, hands.gauge_swapped("motive_gauge"), hands.gauge_found("motive_gauge"), fitted="motive_gauge",
        ),
        Remedy(
            "lower_strainer", "rope", 5.0, ("was_deep", "was_high"), False,
            hands.same, _YES, hands.strainer_lowered, hands.strainer_hung,
        ),
        Remedy(
            "tighten_flange", "flange", 5.0, ("was_tight", "was_loose", "gasket_torn"),
            False, hands.flange_tightened, hands.flange_found,
        ),
        Remedy(
            "clean_intake", "intake", 5.0, _PLUG, False, hands.intake_cleaned,
            hands.told(lambda rig: rig.compressor.intake_blocked > hands.CLEAN_SHARE, "was_plugged", "was_clear"),
        ),
        Remedy(
            "clear_exhaust", "exhaust", 5.0, _PLUG, False,
            hands.setting("exhaust_hose", blocked=0.0),
            hands.told(lambda rig: rig.exhaust_hose.blocked > hands.CLEAN_SHARE, "was_plugged", "was_clear"),
        ),
        Remedy(
            "tighten_belt", "belt", 6.0, _BELT, False,
            hands.belt_tightened, hands.belt_found,
        ),
        Remedy(
            "renew_joint_ring", "joint", 6.0, ("ring_good", "ring_torn"), True, hands.ring_renewed, hands.ring_found,
        ),
        Remedy(
            "straighten_line", "discharge_line", 6.0, ("was_good", "was_kinked", "was_burst"), False,
            hands.setting("discharge", kinked=0.0), hands.line_found,
        ),
        Remedy(
            "clean_strainer", "strainer", 8.0, _PLUG, False,
            hands.strainer_cleaned, hands.strainer_found,
        ),
        Remedy(
            "relay_hose", "hose_lay", 10.0, ("was_straight", "was_humped"), False,
            hands.same, _YES, hands.hose_laid, hands.hose_lay,
        ),
        Remedy(
            "free_float", "float", 12.0, ("was_free", "was_stuck_shut", "was_stuck_open"), False,
            hands.setting("separator", stuck_shut=False, stuck_open=False), hands.float_found, fitted="float",
        ),
        Remedy(
            "clean_nozzle", "nozzle", 12.0, _PLUG, False,
            hands.setting("ejector", nozzle_plugged=0.0), hands.nozzle_found,
        ),
        Remedy(
            "renew_relief", "relief", 12.0, ("was_good", "was_weak"), False,
            hands.relief_renewed, hands.told(hands.relief_weak, "was_weak", "was_good"),
        ),
        Remedy(
            "basket_strainer", "weed", 12.0, (*_PLUG, "weed_about"), False,
            hands.strainer_basketed, hands.basket_found, also=("strainer",),
        ),
        Remedy(
            "renew_air_line", "air_line", 14.0, ("was_good", "was_holed", "was_kinked"), False,
            hands.setting("air_line", hole_diameter=0.0, kinked=0.0), hands.air_line_found,
        ),
        Remedy(
            "clean_screen", "screen", 14.0, _PLUG, False,
            hands.screen_cleaned, hands.screen_found,
        ),
        Remedy(
            "clean_nrv", "nrv", 15.0, ("was_clean", "was_fouled", "was_stuck"), False, hands.nrv_cleaned, hands.nrv_found,
        ),
        Remedy(
            "renew_belt", "belt", 15.0, _BELT, False,
            hands.setting("compressor", belt_slip=0.0), hands.belt_found,
        ),
        Remedy(
            "renew_line", "discharge_line", 15.0, ("was_good", "was_kinked", "was_burst"),
            False, hands.line_renewed, hands.line_found,
        ),
        Remedy(
            "renew_gasket", "flange", 16.0, ("was_tight", "was_loose", "gasket_torn"), False,
            hands.gasket_renewed, hands.flange_found,
        ),
        Remedy(
            "renew_nozzle", "nozzle", 18.0, ("was_good", "was_plugged", "was_worn"), False,
            hands.setting("ejector", nozzle_plugged=0.0, nozzle_worn=0.0), hands.nozzle_worn_found,
        ),
        Remedy(
            "replace_hose", "hose", 25.0, ("nothing_seen", "hole_seen", "ring_torn"),
            False, hands.hose_replaced, hands.hose_found, also=("liner",),
        ),
        Remedy(
            "renew_mixing_tube", "mixing_tube", 30.0, ("was_good", "was_worn"), False,
            hands.setting("ejector", mixing_worn=0.0),
            hands.told(lambda rig: rig.ejector.mixing_worn > 0.05, "was_worn", "was_good"),
        ),
        Remedy(
            "clean_impeller", "impeller", 35.0, ("was_clean", "was_clogged"),
            False,
            hands.setting("pump", head_factor=1.0),
            hands.told(lambda rig: rig.pump.head_factor < 0.97, "was_clogged", "was_clean"),
        ),
        Remedy(
            "lower_pump", "stand", 40.0, ("was_low", "was_high"), False,
            hands.same, _YES, hands.pump_lowered, hands.pump_stood,
        ),
        Remedy(
            "renew_seal", "seal", 45.0, ("was_good", "was_worn"), False,
            hands.setting("casing", seal_hole=0.0),
            hands.told(lambda rig: rig.casing.seal_hole > hands.SEEN_HOLE, "was_worn", "was_good"),
        ),
        Remedy(
            "renew_compressor", "compressor", 60.0, ("was_good", "was_worn"), False,
            hands.setting("compressor", wear=0.0), hands.compressor_found,
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
    return tuple(name for name, item in REMEDIES.items() if part in (item.part, *item.also))
