"""Looks at a running rig: leaks heard or shown by foam, water, engine, pump.

Arguments, the same throughout: ``look`` what the check may see.
"""

from __future__ import annotations

import math

from simulator.instruments.checks_from_outside import PUMPING
from simulator.instruments.judging import mean_of
from simulator.instruments.look import Look, Probabilities, beyond, ladder
from simulator.instruments.senses import SPRAY_SEEN, needed_run
from simulator.physics import gas

HEARD = 4e-4  # [kg/s] of air whose hiss is heard beside an engine, close by with ear protection; made up for training
FOAMED = 8e-5  # [kg/s] of air that draws foam in
DIPPED = 0.35  # [m] by which a level must differ from the card to be remarked upon
MISREAD = 0.15  # [m] about that, within which the eye may take either for the other
SHALLOW = 0.35  # [m] of water over a strainer that is surely too little


def _log_beyond(value: float, threshold: float, width: float) -> float:
    return beyond(math.log(max(value, 1e-12)), math.log(threshold), width)


def hole_flow(look: Look, diameter: float) -> float:
    """Air drawn in by a hole of a diameter [m] at the vacuum that stands now [kg/s].

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> hole_flow(Look(load_rig("osier"), standard_site()), 0.004)
    0.0
    """
    if look.run is None or not look.running:
        return 0.0
    inside = mean_of(look.run, "suction_pressure", look.time)
    area = math.pi / 4.0 * diameter**2
    return max(float(gas.hole_flow(look.run.atmosphere, inside, area, look.site.air_temperature)), 0.0)


def judge_listen(look: Look) -> Probabilities:
    """Ears along pump and suction line: a hiss is heard from its flow, with misses.

    Raises
    ------
    InputError : the look has no run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> judge_listen(Look(run.rig, run.site, run, 10.0, True))["quiet"] > 0.9
    True
    """
    run = needed_run(look.run, "a run")
    drain = max(mean_of(run, "drain_air", look.time), 0.0)
    pump = max(mean_of(run, "casing_leak_air", look.time), 0.0) + drain
    hose = max(mean_of(run, "joint_air", look.time), 0.0)
    first, second = (
        (("hiss_pump", pump), ("hiss_hose", hose))
        if pump >= hose
        else (("hiss_hose", hose), ("hiss_pump", pump))
    )
    return ladder(
        (first[0], 0.85 * _log_beyond(first[1], HEARD, 0.25)),
        (second[0], 0.6 * _log_beyond(second[1], HEARD, 0.25)),
        ("quiet", 1.0),
    )


def judge_foam_joint(look: Look) -> Probabilities:
    """Foam on one hose joint: a leak draws it in.

    Raises
    ------
    InputError : no run, or the place is not a joint.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=40.0)
    >>> judge_foam_joint(Look(run.rig, run.site, run, 25.0, True, "joint:0"))["stays"] > 0.9
    True
    """
    needed_run(look.run, "a run")
    flow = hole_flow(look, look.rig.suction_hose.joints[look.joint()].hole_diameter)
    return ladder(("drawn_in", 0.95 * _log_beyond(flow, FOAMED, 0.2)), ("stays", 1.0))


def judge_foam_length(look: Look) -> Probabilities:
    """Foam along one hose length.

    Raises
    ------
    InputError : no run, or the place is not a length.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=40.0)
    >>> judge_foam_length(Look(run.rig, run.site, run, 25.0, True, "length:0"))["stays"] > 0.9
    True
    """
    needed_run(look.run, "a run")
    hose = look.rig.suction_hose
    ends = (0.0, *(joint.position for joint in hose.joints))
    first, last = ends[look.length()], ends[look.length() + 1]
    hole = max((h.diameter for h in hose.holes if first < h.position <= last), default=0.0)
    return ladder(("drawn_in", 0.9 * _log_beyond(hole_flow(look, hole), FOAMED, 0.2)), ("stays", 1.0))


def judge_foam_pump(look: Look) -> Probabilities:
    """Foam on suction flange, gauge tapping and shaft seal.

    Raises
    ------
    InputError : the look has no run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=40.0)
    >>> judge_foam_pump(Look(run.rig, run.site, run, 25.0, True))["stays"] > 0.9
    True
    """
    run = needed_run(look.run, "a run")
    drawn = max(mean_of(run, "casing_leak_air", look.time), 0.0)  # no opening but flange and seal is in it
    seal = min(hole_flow(look, look.rig.casing.seal_hole), drawn)  # under a head it draws in less, or nothing
    flange = max(drawn - seal, hole_flow(look, look.rig.casing.gasket_hole))
    return ladder(
        ("drawn_in_flange", 0.95 * _log_beyond(flange, FOAMED, 0.2) * float(flange > seal)),
        ("drawn_in_seal", 0.9 * _log_beyond(seal, FOAMED, 0.2)),
        ("stays", 1.0),
    )


def judge_air_line(look: Look) -> Probabilities:
    """The air line followed by hand and foam while it is under pressure.

    Raises
    ------
    InputError : the look has no run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> judge_air_line(Look(run.rig, run.site, run, 10.0, True))["tight"] > 0.9
    True
    """
    run, line = needed_run(look.run, "a run"), look.rig.air_line
    pressed = beyond(mean_of(run, "motive_pressure", look.time) - run.atmosphere, 0.15e5, 0.03e5)
    hole = line.hole_diameter * 1e3  # [mm]
    return ladder(
        ("blows", 0.93 * beyond(hole, 0.6, 0.1) * pressed),
        ("kinked", 0.8 * beyond(line.kinked, 0.6, 0.08)),
        ("tight", 1.0),
    )


def judge_water(look: Look) -> Probabilities:
    """The water above the strainer: air that bubbles out of it, or a whirl that draws air in.

    Raises
    ------
    InputError : the look has no run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> judge_water(Look(run.rig, run.site, run, 10.0, True))["calm"] > 0.9
    True
    """
    run = needed_run(look.run, "a run")
    level = mean_of(run, "water_level", look.time)
    weed = any(ramp.target == "strainer_blocked" for ramp in look.rig.ramps)
    bared = look.site.submergence + level
    return ladder(
        ("bubbles", 0.95 * _log_beyond(mean_of(run, "strainer_bubbles", look.time), 1e-5, 0.3)),
        ("bare", 0.97 * (1.0 - beyond(bared, 0.0, 0.03))),
        ("whirl", 0.9 * _log_beyond(mean_of(run, "end_air", look.time), 1e-4, 0.3)),
        ("falling", 0.9 * beyond(-level, 0.25, 0.05)),
        ("weed", 0.75 * float(weed)),
        ("calm", 1.0),
    )


def _level(look: Look) -> float:
    """How far the water stands above where it was before the pump drew on it [m]."""
    return mean_of(look.run, "water_level", look.time) if look.run is not None and look.running else 0.0


def judge_dip(look: Look) -> Probabilities:
    """The water dipped with a tape: lift and depth over the strainer beside the rig's card.

    Raises
    ------
    InputError : there is no card.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> judge_dip(Look(rig, site, card_rig=rig, card_site=site))["as_card"] > 0.9
    True
    """
    _, card = look.card()
    level = _level(look)
    wanted = 0.5 * min(card.submergence, 2.0 * SHALLOW) + 0.1
    return ladder(
        ("level_down", beyond(-level, DIPPED, 0.06)),
        ("strainer_shallow", 1.0 - beyond(look.site.submergence, wanted, 0.06)),
        ("lift_more", beyond(look.site.lift - card.lift, DIPPED, 0.06)),
        ("as_card", 1.0),
    )


def tape_read(look: Look, outcome: str) -> dict[str, float]:
    """What the tape gave at a dip that told ``outcome``: ``lift`` from the water up to the pump and ``depth`` over the
    strainer [m], read to a centimetre. Where the outcome is a slip, the tape was misread to fit it.

    Raises
    ------
    InputError : there is no card.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> rig, site = load_rig("osier"), standard_site()
    >>> tape_read(Look(rig, site, card_rig=rig, card_site=site), "as_card")["lift"] == site.lift
    True
    """
    _, card = look.card()
    level = _level(look)
    lift, depth = look.site.lift - level, look.site.submergence + level
    if outcome in ("lift_more", "level_down"):
        lift = max(lift, card.lift + DIPPED - MISREAD)
    elif lift - card.lift > DIPPED + MISREAD:
        lift = card.lift
    if outcome == "strainer_shallow":
        depth = min(depth, card.submergence - MISREAD)
    elif outcome == "as_card" and card.submergence - depth > DIPPED + MISREAD:
        depth = card.submergence
    return {"lift": round(lift, 2), "depth": round(max(depth, 0.0), 2)}


def judge_speed(look: Look) -> Probabilities:
    """A hand tachometer at the shaft, the lever at rated.

    Raises
    ------
    InputError : the look has no run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=20.0)
    >>> judge_speed(Look(run.rig, run.site, run, 15.0, True))["rated"] > 0.9
    True
    """
    speed = mean_of(needed_run(look.run, "a run"), "speed_ratio", max(look.time, 8.0))
    return ladder(
        ("far_low", 1.0 - beyond(speed, 0.75, 0.01)), ("low", 1.0 - beyond(speed, 0.94, 0.01)), ("rated", 1.0)
    )


def judge_pump_sound(look: Look) -> Probabilities:
    """What the pump sounds like: labouring for water, pulsing with air, churning against a shut line.

    Raises
    ------
    InputError : the look has no run.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> from simulator.run import simulate
    >>> run = simulate(load_rig("osier"), standard_site(), duration=90.0)
    >>> judge_pump_sound(Look(run.rig, run.site, run, 70.0, True))["smooth"] > 0.9
    True
    """
    run = needed_run(look.run, "a run")
    flow = mean_of(run, "discharge_flow", look.time) / max(float(run.steady_flow), 1e-6)
    head = mean_of(run, "discharge_pressure", look.time) - run.atmosphere
    wet = beyond(mean_of(run, "casing_fill", look.time), 0.7, 0.03)
    pumping = beyond(flow, 0.05, 0.01)
    npsh = mean_of(run, "npsh_margin", look.time)
    air = mean_of(run, "air_fraction", look.time)
    return ladder(
        ("churns", 0.85 * wet * (1.0 - pumping) * beyond(head, PUMPING, 0.05e5)),
        ("rattles", 0.85 * pumping * (1.0 - beyond(npsh, 0.25, 0.08))),
        ("pulses", 0.85 * pumping * beyond(air, 0.02, 0.004)),
        ("turns_dry", 0.9 * (1.0 - wet)),
        ("smooth", 1.0),
    )


def judge_discharge_walk(look: Look) -> Probabilities:
    """The discharge line walked to its end.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> judge_discharge_walk(Look(load_rig("osier"), standard_site()))["clear"] > 0.99
    True
    """
    line = look.rig.discharge
    burst = max([line.burst, *(ramp.last for ramp in look.rig.ramps if ramp.target == "line_burst")])
    # with the engine off, as it is walked, the drain's handle shows; a log of an older attempt may hold it spraying
    spray = beyond(look.rig.frost_drain.opening, 0.08, 0.01)
    if look.run is not None and look.running:
        spray = beyond(mean_of(look.run, "frost_drain_water", look.time), 10.0 * SPRAY_SEEN, 2.0 * SPRAY_SEEN)
    return ladder(
        ("frost_drain_sprays", 0.95 * spray),
        ("torn", 0.93 * beyond(burst, 0.1, 0.015)),
        ("valve_shut", 0.97 * beyond(1.0 - line.valve.opening, 0.3, 0.05)),
        ("kinked", 0.93 * beyond(line.kinked, 0.35, 0.05)),
        ("clear", 1.0),
    )


def judge_gauge_swap(look: Look) -> Probabilities:
    """A known-good gauge held beside each of the rig's own on the test pump.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> judge_gauge_swap(Look(load_rig("osier"), standard_site()))["agree"] > 0.99
    True
    """
    suction, motive = look.rig.suction_gauge, look.rig.motive_gauge
    return ladder(
        ("suction_stuck", 0.98 * float(suction.stuck)),
        ("suction_off", beyond(abs(suction.offset), 3e3, 0.5e3)),
        ("suction_slow", 0.95 * beyond(suction.extra_lag, 5.0, 0.8)),
        ("motive_stuck", 0.98 * float(motive.stuck and look.rig.has_motive_gauge)),
        ("motive_off", float(look.rig.has_motive_gauge) * beyond(abs(motive.offset), 0.4e5, 0.06e5)),
        ("agree", 1.0),
    )
