"""Troubles that stand on no list: what a pump that will not draw may have, and no fault of the package is.

Written down from the trade before the belief was looked at, to see that the advice ends where nothing it knows fits. Each
changes what no work of the yard puts right, and is as real as what is on the list; the reason stands beside it. Whether a
thing can be seen was settled part by part: a look that searches for a fault of the list at the place where this trouble
only acts alike finds that part in good order, as hands and eyes would, while gauges, sounds, sights of the water and all
that runs show the rig as it is.

Throughout: ``rig``, ``site`` are those of the call-out with all parts that the yard can mend as they are now; ``bad`` [-]
says how bad it is, from 0 (just troubling) to 1; ``cause`` is one of them, ``card`` rig and site in good order, ``check``
and ``look`` a look and what lies before it, ``repeat`` how often it was made before [-].
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from simulator.attempt import Attempt, MemoryStore
from simulator.attempt.case import Case, sound_run
from simulator.errors import InputError
from simulator.instruments.look import Check, Look
from simulator.rig.onset import coming_late
from simulator.rig.quantity import replaced
from simulator.rig.ramps import Ramp
from simulator.rig.remedies import Remedy
from simulator.rig.rig import Rig, Site
from simulator.run import simulate
from simulator.run.outcome import proof_limit, proves
from simulator.scenario import Scenario, sound_rig
from simulator.scenario.choices import SiteChoice
from simulator.studies.bank_drawing import SITES
from simulator.texts import text

World = tuple[Rig, Site]
#: Sites at which little of the air's pressure is to spare: rig, static lift [m], submergence [m], water and air [C].
HIGH = (("osier", 5.6, 1.0, 12.0, 15.0), ("sedge", 5.8, 1.0, 12.0, 15.0))
LONGEST = 12  # draws of how bad it is and where, before a cause is given up for a seed
WELL_LATE = 1.3  # [-] times the time of a proof up to which slow is only a little slow
SPAN = 180.0  # [s] a start is watched to see that it troubles anybody


@dataclass(frozen=True)
class Cause:
    """One trouble: what it is and why it is real, what it changes, and the looks that do not see it where they search."""

    id: str
    what: str
    why: str
    change: Callable[[Rig, Site, float], World]
    unseen: frozenset[str] = frozenset()
    sites: tuple[tuple[str, float, float, float, float], ...] = SITES  # as the certificate's bank has them


def _part(part: str, **fields: Callable[[float, Any], float]) -> Callable[[Rig, Site, float], World]:
    """A change of fields of one part: each from how bad it is and its value in good order."""

    def change(rig: Rig, site: Site, bad: float) -> World:
        old = getattr(rig, part)
        values = {name: figure(bad, getattr(old, name)) for name, figure in fields.items()}
        return replaced(rig, part, **values), site

    return change


def _between(low: float, high: float) -> Callable[[float, Any], float]:
    return lambda bad, value: low + (high - low) * bad


def _times(low: float, high: float) -> Callable[[float, Any], float]:
    return lambda bad, value: value * (low + (high - low) * bad)


def _foot_valve(rig: Rig, site: Site, bad: float) -> World:
    hose = rig.suction_hose
    strainer = replace(hose.strainer, loss=30.0 + 20.0 * bad)
    return replace(rig, suction_hose=replace(hose, strainer=strainer)), site


def _swollen(rig: Rig, site: Site, bad: float) -> World:
    hose = rig.suction_hose
    return replace(rig, suction_hose=replace(hose, bore=hose.bore * (0.62 - 0.17 * bad), bend_loss=2.0)), site


def _quicksand(rig: Rig, site: Site, bad: float) -> World:
    ramp = Ramp("strainer_blocked", 4.0, 18.0 - 8.0 * bad, 0.0, 0.985 + 0.013 * bad)
    return replace(rig, ramps=(*rig.ramps, ramp)), site


def _icing(rig: Rig, site: Site, bad: float) -> World:
    iced = replaced(rig, "ejector", nozzle_plugged=0.8 + 0.16 * bad)
    return coming_late((rig, site), (iced, site), 8.0, 26.0 - 10.0 * bad), site


def _hot(rig: Rig, site: Site, bad: float) -> World:
    return rig, replace(site, water_temperature=273.15 + 50.0 + 9.0 * bad)


def _high_up(rig: Rig, site: Site, bad: float) -> World:
    return rig, replace(site, altitude=3000.0 + 1900.0 * bad)


CAUSES: dict[str, Cause] = {
    cause.id: cause
    for cause in (
        Cause(
            "short_wheel",
            "a wheel turned down for another job went back in",
            "Shops trim a wheel to suit one job; the rig then makes the head of the smaller wheel for good. It is"
            " clean, so"
            " whoever looks through the cover finds nothing.",
            _part("pump", shut_head=_times(0.66, 0.48)),
        ),
        Cause(
            "wide_clearance",
            "the wear plate stands far off the wheel",
            "After sandy work the wheel runs with millimetres beside it, so head falls off fast with flow; no dirt is"
            " seen, and the plate is set in the shop.",
            _part("pump", curve=_times(5.0, 14.0)),
        ),
        Cause(
            "tired_engine",
            "the engine has no pull: a choked fuel filter, a failed injector",
            "It runs up to its speed without load and sinks as soon as the wheel takes water; the lever and the governor"
            " are as they should be.",
            _part(
                "engine",
                rated_power=lambda bad, kw: max(kw * (0.16 - 0.09 * bad), 1e3),
                droop=_between(0.1, 0.1),
            ),
        ),
        Cause(
            "small_compressor",
            "a smaller compressor was fitted after a repair",
            "It looks right, its belt is tight and it is as new, but gives a third of the air the ejector was made for.",
            _part("compressor", displacement=_times(0.42, 0.22)),
        ),
        Cause(
            "bent_ejector",
            "jet and mixing tube no longer stand in one line",
            "A knock on the ejector's body leaves each bore clean and to size, so a pin gauge passes, and the jet hits"
            " the"
            " wall of the tube.",
            _part("ejector", mixing_efficiency=_between(0.66, 0.5), nozzle_efficiency=_between(0.75, 0.55)),
        ),
        Cause(
            "hot_water",
            "the water is hot: condensate, cooling water",
            "Near its boiling pressure water comes up as steam; nobody on a job for river water brings a thermometer.",
            _hot,
            sites=HIGH,
        ),
        Cause(
            "thin_air",
            "the job is high up, and the call did not say so",
            "A third of the air's pressure is gone at a mountain lake; a lift that is easy in the valley is then too"
            " much.",
            _high_up,
            sites=HIGH,
        ),
        Cause(
            "foot_valve",
            "a foot valve of another set hangs under the strainer",
            "Its clack half opens in the stream; from above and when held up it looks like a clean strainer.",
            _foot_valve,
        ),
        Cause(
            "swollen_hose",
            "all hoses of the yard are swollen inside",
            "They carried fuel: the tube inside swells evenly and narrows the bore along the whole hose, so nothing hangs"
            " or moves; the spare ones lay in the same fuel.",
            _swollen,
        ),
        Cause(
            "high_outlet",
            "the discharge hose was led up over a dyke",
            "Valve open, no kink, no hole: whoever walks along finds nothing wrong, and the outlet is higher than the"
            " pump"
            " can push.",
            lambda rig, site, bad: (
                replaced(rig, "discharge", rise=rig.pump.shut_head * (0.72 + 0.22 * bad)),
                site,
            ),
        ),
        Cause(
            "frost_crack",
            "a crack in the underside of the pump's body, from frost",
            "The drain was left shut in a cold night. The crack is behind the frame, where no foam reaches; flange and"
            " seal are good, and hot air on it does not close it.",
            _part("casing", gasket_hole=_between(5.5e-3, 11e-3)),
            frozenset({"flange_look", "foam_pump"}),
        ),
        Cause(
            "sprung_seat",
            "the rubber seat of the non-return valve lifts under suction",
            "Its bond has gone. With the lid off it lies flat and seats well by eye; under vacuum it curls and lets air"
            " by. Cleaning does nothing for it.",
            _part("nrv", gap_area=_between(30e-6, 90e-6)),
            frozenset({"nrv_lid"}),
        ),
        Cause(
            "quicksand",
            "the strainer is drawn into soft sand as soon as it pulls",
            "It comes up clean, because the sand falls off on the way; in clear water on soft ground it happens at each"
            " start, and no basket helps.",
            _quicksand,
            frozenset({"strainer_out", "watch_water"}),
        ),
        Cause(
            "sooted_silencer",
            "the silencer behind the ejector is packed with soot and scale",
            "The exhaust hose is free; the pot it hangs on is welded, and gives the same back pressure as a long thin"
            " hose.",
            _part("exhaust_hose", bore=_times(0.42, 0.26), length=_between(12.0, 20.0)),
        ),
        Cause(
            "icing_nozzle",
            "the air's damp freezes in the nozzle while it runs",
            "Air that expands to the speed of sound falls far below freezing; after a quarter of a minute ice narrows the"
            " throat. By the time it is out in the hand it has thawed.",
            _icing,
            frozenset({"nozzle_out"}),
        ),
    )
}


class OffTheList(Case):
    """A case with a trouble that no work reaches; parts answer hands as they are, all that runs feels it.

    Parameters
    ----------
    cause, bad : the trouble.
    card : rig and site in good order.
    seed : of what looks show.
    """

    def __init__(self, cause: Cause, bad: float, card: World, seed: int) -> None:
        self.cause, self.bad, self.parts = cause, bad, card
        super().__init__(*cause.change(*card, bad), *card, seed)

    def mend(self, remedy: Remedy, place: str) -> str:
        """Do a ``remedy`` at a ``place`` to the part as it is, the trouble apart from it; what the hands find."""
        finding = remedy.finding(*self.parts, place)
        self.parts = remedy.apply(*self.parts, place)
        self.rig, self.site = self.cause.change(*self.parts, self.bad)
        return finding

    def see(self, check: Check, look: Look, repeat: int, *, inside: bool = False) -> str:
        """The outcome of a ``check`` by its ``look``, made so often before (``repeat``), the ``inside`` drawn beside it
        or not; one that does not see the trouble is made on the parts alone."""
        if check.id in self.cause.unseen:
            look = replace(look, rig=self.parts[0], site=self.parts[1])
        return super().see(check, look, repeat, inside=inside)


def troubles(cause: Cause, bad: float, card: World) -> bool:
    """Whether anybody would ring up about it: not where it is slow by so little that water left in it makes up for it.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> troubles(CAUSES["frost_crack"], 1.0, (load_rig("osier"), Site(lift=3.0)))
    True
    """
    run, sound = simulate(*cause.change(*card, bad), duration=SPAN), sound_run(*card)
    if proves(run, sound):
        return False
    limit, prime = proof_limit(float(sound.prime_time)), float(run.prime_time)
    return not limit < prime <= WELL_LATE * limit


def attempt_with(name: str, seed: int) -> Attempt:
    """A call-out, not begun, with a trouble of no list (``name``), drawn by ``seed``.

    Raises
    ------
    InputError : there is no such cause, or it troubles no rig that was drawn.

    Examples
    --------
    >>> attempt_with("small_compressor", 3).case.cause.id
    'small_compressor'
    """
    if name not in CAUSES:
        raise InputError(f"there is no cause {name!r}", "cause", ", ".join(CAUSES))
    cause, chance = CAUSES[name], random.Random(f"{name} {seed}")
    for _ in range(LONGEST):
        rig, lift, depth, water, air = chance.choice(cause.sites)
        scenario = Scenario(
            title=text("scenario.random.title", site=""),
            brief=text("scenario.random.title", site=""),
            rig=rig,
            site=SiteChoice(
                lift_m=lift, submergence_m=depth, water_temperature_c=water, air_temperature_c=air
            ),
            mode="practice",
            seed=chance.randrange(2**31),
        )
        bad = chance.random()
        try:
            card = sound_rig(scenario)
            good = math.isfinite(sound_run(*card).prime_time)
        except InputError:
            continue
        if good and troubles(cause, bad, card):
            attempt = Attempt(scenario, MemoryStore(), seed=scenario.seed)
            attempt.state.case = OffTheList(cause, bad, card, scenario.seed)
            return attempt
    raise InputError(f"the cause {name} troubles none of the rigs drawn", "cause", "another seed")
