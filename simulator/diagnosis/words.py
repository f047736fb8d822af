"""What the reasoning says, in plain words from the message catalogue.

Throughout: ``belief`` is how likely each hypothesis is now, ``before`` and ``after`` a step; ``option`` is something
that can be done; ``place`` is where on the rig.
"""

from __future__ import annotations

import math

import numpy as np

from simulator.diagnosis.belief import Belief
from simulator.diagnosis.completion import plan_for
from simulator.diagnosis.look_first import OUT_FIRST, put_right
from simulator.diagnosis.option import REMEDY, RUN_ON, WATCH, Option
from simulator.instruments.checks import CHECKS
from simulator.rig import safe_work
from simulator.rig.faults import FAULTS
from simulator.rig.remedies import REMEDIES
from simulator.texts import text

SURE = 0.97  # [-] from here on a work should put it right
PART = 2.0  # a work helps so many times as often as it puts all right: there may be two troubles
HALVES = 10.0  # [min] below which half minutes are said, as the lists of looks and works show them
SHIFT = 0.05  # [-] a smaller change of a chance is not worth a word
#: Faults that no look parts for sure: the same spot shows both, and the same work mends both.
TWINS = (("strainer_high", "level_falls"), ("flange_leaks", "flange_works_loose"))
PARTS = 0.2  # [-] by which the outcomes of a look must differ under a suspect and without it, to show whether it is that
OUT = 0.02  # [-] below this a suspect is as good as ruled out


def fault_name(fault: str) -> str:
    """Name of a fault as a reader knows it.

    Examples
    --------
    >>> fault_name("belt_loose")
    'compressor belt loose or gone'
    """
    return text(f"faults.{fault}.name")


def joint_field(place: str) -> dict[str, int]:
    """The number of a joint as people count them, as a field of a message; empty for other places.

    Examples
    --------
    >>> joint_field("joint:1"), joint_field("")
    ({'joint': 2}, {})
    """
    kind, _, number = place.partition(":")
    return {"joint": int(number) + 1} if kind in ("joint", "length") and number.isdigit() else {}


def chance_words(chance: float) -> str:
    """A chance [-] as it is said: in the whole percent that the debrief's table shows for it.

    Examples
    --------
    >>> chance_words(0.148), chance_words(0.06), chance_words(0.998), chance_words(0.003)
    ('about 15 %', 'about 6 %', 'almost 100 %', 'almost 0 %')
    """
    percent = math.floor(100.0 * round(chance, 4) + 0.5)
    if 0 < percent < 100:
        return text("diagnosis.chance.percent", n=percent)
    return text("diagnosis.chance.all" if percent else "diagnosis.chance.none")


def minutes_words(minutes: float) -> str:
    """Minutes [min] as people say them.

    Examples
    --------
    >>> minutes_words(0.5), minutes_words(1.2), minutes_words(1.5), minutes_words(12.3)
    ('half a minute', '1 minute', '1.5 minutes', '12 minutes')
    """
    if minutes < 0.75:
        return text("diagnosis.minutes.half")
    shown = round(2.0 * minutes) / 2.0 if minutes < HALVES else float(round(minutes))
    return text("diagnosis.minutes.one") if shown == 1.0 else text("diagnosis.minutes.many", n=f"{shown:g}")


def option_label(option: Option) -> str:
    """What an option is called.

    Examples
    --------
    >>> from simulator.diagnosis.option import Option
    >>> option_label(Option("watch", "watch", "", 2.0))
    'Start it and watch the gauges'
    """
    joint = joint_field(option.place)
    if option.kind == "check":
        return text(f"checks.{option.id}.label", **joint)
    if option.kind == "remedy":
        name = REMEDIES[option.id].id
        key = "attempt.actions.remedy_joint" if joint else "attempt.actions.remedy"
        return text(key, what=text(f"remedies.{name}.name"), **joint)
    return text(f"diagnosis.options.{option.id}")


def first_words(option: Option) -> str:
    """What is made safe before an option is done, in few words; "" where gear is all it takes.

    Examples
    --------
    >>> from simulator.diagnosis.option import Option
    >>> first_words(Option("check", "nozzle_out", "", 10.0)), first_words(Option("check", "walk_round", "", 1.5))
    ('lock off, tag, bleed', '')
    """
    if option.kind == WATCH and option.id != RUN_ON:
        return safe_work.short(safe_work.ENGINE, "start_engine")
    kinds = {"check": safe_work.CHECKS, "remedy": safe_work.REMEDIES}
    return safe_work.short(kinds[option.kind], option.id) if option.kind in kinds else ""


def safe_label(option: Option) -> str:
    """What an option is called, with what is made safe first.

    Examples
    --------
    >>> from simulator.diagnosis.option import Option
    >>> safe_label(Option("check", "nozzle_out", "", 10.0))
    'Take the jet nozzle out (first: lock off, tag, bleed)'
    """
    first = first_words(option)
    return (
        text("safe_work.act_first", act=option_label(option), first=first) if first else option_label(option)
    )


def told_label(option: Option) -> str:
    """As :func:`safe_label`, as it stands in a sentence after a colon: work without the button's word for it.

    Examples
    --------
    >>> from simulator.diagnosis.option import Option
    >>> told_label(Option("remedy", "close_drain", "", 1.0))
    'try the casing drain by hand, and shut it'
    """
    return safe_label(option).removeprefix(text("attempt.actions.remedy", what=""))


def reason(belief: Belief, option: Option) -> str:
    """Why an option is the best now."""
    own = (
        option.minutes if option.kind != "check" else CHECKS[option.id].minutes
    )  # a start for it is no part of it
    minutes = minutes_words(own)
    first, _, chance = belief.top(1)[0]
    if option.kind in ("finish", "hand_over"):
        return text(f"diagnosis.reason.{option.kind}")
    if option.kind == WATCH and (belief.lacks or option.id == RUN_ON):
        name = belief.lacks if option.id != RUN_ON else "run_on" if belief.lacks else "run_on_yet"
        return text(f"diagnosis.reason.{name}")
    if option.kind == WATCH:
        proven = float(belief.weights[belief.cases.proves[belief.now]].sum())
        name = "watch_proof" if proven > 0.5 else "watch_again" if belief.starts else "watch_first"
        return text(f"diagnosis.reason.{name}", minutes=minutes)
    if option.kind == "check" and option.minutes == 0.0:
        return text("diagnosis.reason.walk_first")
    if option.kind == "remedy" and belief.proved:
        return text("diagnosis.reason.gauge_lies", minutes=minutes)
    if option.kind == "remedy":
        mended, helped = mended_chance(belief, option), helped_chance(belief, option)
        if FAULTS[REMEDIES[option.id].mends or "sound"].family == "instrument":
            wrong = chance_words(belief.by_family()["instrument"])
            return text("diagnosis.reason.gauge", minutes=minutes, chance=wrong)
        if mended >= SURE:
            name = "remedy_sure"
        elif helped > PART * mended:
            name = "remedy_part"
        else:
            name = "remedy_quick" if option.minutes <= 2.0 else "remedy"
        why = text(f"diagnosis.reason.{name}", minutes=minutes, chance=chance_words(max(mended, helped)))
        return f"{why} {twins_words(belief, option)}".rstrip()
    told = what_it_tells(belief, option)
    if not told:
        return text("diagnosis.reason.check_plain", minutes=minutes, suspect=fault_name(first))
    if len(told) > 1:
        return text(
            "diagnosis.reason.check_split",
            minutes=minutes,
            one=fault_name(told[0]),
            other=fault_name(told[1]),
        )
    # What a look sees from afar never shows a part: what it can do is to speak against it.
    name = "check" if shows_part(option.id, told[0]) else "check_out"
    return text(
        f"diagnosis.reason.{name}", minutes=minutes, suspect=fault_name(told[0]), chance=chance_words(chance)
    )


def shows_part(check: str, fault: str) -> bool:
    """Whether a look can show a fault itself, and not only what comes of many.

    Parameters
    ----------
    check, fault : their ids.

    Examples
    --------
    >>> shows_part("belt", "belt_loose"), shows_part("exhaust_stream", "belt_loose")
    (True, False)
    >>> shows_part("watch_water", "strainer_clogs"), shows_part("foam_joint", "joint_ring")
    (True, True)
    """
    look = CHECKS[check]
    works = (REMEDIES[work] for work in dict(look.calls_for).values() if work)
    called = any(work.mends == fault or work.part == FAULTS[fault].part for work in works)
    return look.opens or called or FAULTS[fault].look == check or look.place == FAULTS[fault].part


def reason_before(belief: Belief, look: Option, work: Option) -> str:
    """Why a look comes before what would be the best now, a work or a longer look.

    Parameters
    ----------
    look, work : options.
    """
    if work.kind != REMEDY:
        return reason(belief, look)
    told = what_it_tells(belief, look)
    out_first = look.id in OUT_FIRST.get(work.id, ()) and look.id not in {FAULTS[name].look for name in told}
    if told and not out_first:
        return reason(belief, look)
    return text(
        f"diagnosis.reason.{'out_first' if out_first else 'confirm'}",
        minutes=minutes_words(CHECKS[look.id].minutes),
        suspect=fault_name(REMEDIES[work.id].mends or belief.top(1)[0][0]),
        work=minutes_words(work.minutes),
    )


def mended_chance(belief: Belief, option: Option) -> float:
    """Chance [-] that the rig proves itself after a remedy and did not before."""
    cases = belief.cases
    after = cases.situations.after[option.id, option.place][belief.now]
    return float(belief.weights[cases.proves[after] & ~cases.proves[belief.now]].sum())


def helped_chance(belief: Belief, option: Option) -> float:
    """Chance [-] that a remedy brings the rig nearer to its proof; with one fault at most, that it mends it."""
    plan = plan_for(belief.cases)
    number = plan.number.get((option.id, option.place))
    if number is None:
        return 0.0
    return float(belief.weights @ plan.tables.moved[belief.now, number])


def likeliest_behind(belief: Belief, work: Option) -> tuple[str, float]:
    """The likeliest fault of those that a work puts right, and its chance [-]; the likeliest of all where it mends none.

    Examples
    --------
    >>> from simulator.diagnosis.hypothesis_set import hypothesis_set
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> cases = hypothesis_set(load_rig("osier"), standard_site())
    >>> likeliest_behind(Belief(cases), Option("remedy", "close_drain", "", 1.0))[0]
    'drain_open'
    """
    mended = belief.cases.shares @ (belief.weights * put_right(belief, work))
    if not mended.any():
        first, _, chance = belief.top(1)[0]
        return first, chance
    name = belief.cases.faults[int(mended.argmax())]
    return name, belief.by_fault()[name]


def twins_words(belief: Belief, option: Option) -> str:
    """A sentence on two suspects that one work mends and that no look tells apart for sure; "" where there are none."""
    cases = belief.cases
    after = cases.situations.after[option.id, option.place][belief.now]
    mended = belief.weights * (cases.proves[after] & ~cases.proves[belief.now])
    chances = dict(zip(cases.faults, (cases.shares @ mended).tolist(), strict=True))
    for one, other in TWINS:
        if min(chances.get(one, 0.0), chances.get(other, 0.0)) >= SHIFT:
            return text("diagnosis.reason.twins", one=fault_name(one), other=fault_name(other))
    return ""


def what_it_tells(belief: Belief, option: Option) -> list[str]:
    """The fault a check tells most about; with it the likeliest of those it parts it from, where both stay in
    play."""
    cases, weights = belief.cases, belief.weights
    chances = belief.next_chances(option.id, option.place)
    mean = weights @ chances
    moved: dict[str, float] = {}
    leaning: dict[str, np.ndarray] = {}
    for number, name in enumerate(cases.faults):
        own = weights * (cases.shares[number] > 0.0)  # whatever else is there with it
        mass = float(own.sum())
        if mass > OUT:
            leaning[name] = (own @ chances) / mass - mean
            moved[name] = mass * float(np.abs(leaning[name]).sum())
    if not moved:
        return []
    # A look "shows" a fault by what a good part does not show (that is the first outcome), not one it leaves standing.
    shown = [name for name in moved if not CHECKS[option.id].opens or leaning[name][0] < 0.0]
    most = max(shown or moved, key=lambda name: moved[name])
    if moved[most] < 1e-3 or not CHECKS[option.id].opens or option.id in ("blank_off", "clear_plate"):
        others = [n for n in moved if n != most and float(leaning[n] @ leaning[most]) < 0.0]
        if others and moved[most] >= 1e-3:
            return [most, max(others, key=lambda name: moved[name])]
    aside = float(weights[cases.shares[cases.faults.index(most)] > 0.0].sum())
    parts = float(np.abs(leaning[most]).sum()) >= PARTS * (
        1.0 - aside
    )  # how it shows beside all that is left
    return [most] if moved[most] >= 1e-3 and parts else []


def what_changed(before: Belief, after: Belief) -> str:
    """One or two sentences on what a step made likelier and what it ruled out."""
    if after.proved and not before.proved:
        return text("diagnosis.changed.proof")
    if not np.array_equal(before.now, after.now):
        proves = after.cases.proves
        mended = float(after.weights[proves[after.now] & ~proves[before.now]].sum())
        if mended >= SHIFT:
            return text("diagnosis.changed.mended", chance=chance_words(mended))
    was, now = before.by_fault(), after.by_fault()
    up = max(now, key=lambda name: now[name] - was[name])
    gone = [name for name in now if was[name] >= SHIFT and now[name] < OUT]
    said = []
    if now[up] - was[up] >= SHIFT:
        said.append(
            text(
                "diagnosis.changed.likelier",
                suspect=fault_name(up),
                before=chance_words(was[up]),
                after=chance_words(now[up]),
            )
        )
    if gone:
        named = text("diagnosis.and").join(
            fault_name(name) for name in sorted(gone, key=lambda n: -was[n])[:2]
        )
        said.append(text("diagnosis.changed.out", suspects=named))
    if not said:
        down = max(now, key=lambda name: was[name] - now[name])
        if was[down] - now[down] >= SHIFT:
            said.append(
                text(
                    "diagnosis.changed.less",
                    suspect=fault_name(down),
                    before=chance_words(was[down]),
                    after=chance_words(now[down]),
                )
            )
    return " ".join(said) if said else place_changed(before, after)


def place_changed(before: Belief, after: Belief) -> str:
    """A sentence on the joint that has become likelier where the fault itself has not; else that nothing was
    new."""
    gains: dict[str, float] = {}
    for here, was, now in zip(before.cases.hypotheses, before.weights, after.weights, strict=True):
        if here.place.startswith("joint:"):
            gains[here.place] = gains.get(here.place, 0.0) + float(now - was)
    place = max(gains, key=lambda name: gains[name], default="")
    if place and gains[place] >= SHIFT:
        return text("diagnosis.changed.place", **joint_field(place))
    return text("diagnosis.changed.nothing")
