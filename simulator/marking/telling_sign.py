"""Which reading of a watched start spoke for the suspect that it made likelier, and against the one that fell most."""

from __future__ import annotations

import math

import numpy as np

from simulator.attempt.notes import figure
from simulator.diagnosis.belief import Belief, Start, end_fits
from simulator.diagnosis.evidence import RunSeen, Step
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.words import fault_name
from simulator.instruments.gauges import GAUGES, read
from simulator.texts import text

ROSE, FELL = 0.2, 0.02  # [-] of a chance from which the sign for it is told
LEFT = 0.03  # [-] chance of the next likeliest from which it is told apart too
FIRST = 5  # [s] of a start before which a needle tells nothing
FINE, SHARE = (
    (2e3, 2e4),
    0.06,
)  # [Pa] of the suction and the motive needle, or a share [-]: less apart reads the same
TIMES = 0.08  # [-] by which two times to prime may differ and still tell the same
SETTLED = 3  # [s] before a prime up to which the needle is compared, and the end of the watch after it
PLAIN = 1e3  # of such differences: water that comes or does not come is told first
TELLS = 1.0  # how many such differences a sign is, at least
GAUGE = ("suction", "motive")


def telling_sign(step: Step, seen: RunSeen, units: str) -> str:
    """The signs of a watched start that spoke for the suspect whose chance rose most; "" where none stands out.

    Each is held against the best fit of two suspects: the one that rose, and the one that fell most; then the next
    likeliest that is left.

    Parameters
    ----------
    step : the start, with the belief before and after.
    seen : the run as it could be watched.
    units : "metric" or "us".
    """
    starts = [start for start in step.after.starts if start.run == seen.number]
    was, now = step.before.by_fault(), step.after.by_fault()
    up = max(now, key=lambda name: now[name] - was[name])
    down = max(now, key=lambda name: was[name] - now[name])
    if not starts or not seen.plain or now[up] - was[up] < ROSE or was[down] - now[down] < FELL:
        return ""
    left = max((name for name in now if name != up), key=lambda name: now[name])
    rivals = {"fell": down, "left": left} if left != down and now[left] >= LEFT else {"fell": down}
    said = [_against(step.after, starts[-1], seen, up, rivals[lead], lead, units) for lead in rivals]
    return " ".join(one for one in said if one)


def _against(after: Belief, start: Start, seen: RunSeen, up: str, rival: str, lead: str, units: str) -> str:
    cases = after.cases
    one, other = _best(after, up), _best(after, rival)
    fields = {
        "lead": text(f"marking.steps.sign_lead_{lead}"),
        "rival": fault_name(rival),
        "this": text("marking.steps.sign_this_sound")
        if up == "sound" or after.proved
        else text("marking.steps.sign_this", suspect=fault_name(up)),
    }
    signs = [_prime(cases, start, one, other, fields)]
    against = cases.hypotheses[_likeliest(after, rival)]
    if not against.comes_later:  # else it may yet pump worse than it did at first
        signs.append(_end(cases, start, one, other, fields))
    signs += [_needle(cases, start, seen, number, one, other, fields, units) for number in range(len(GAUGE))]
    most, said = max(signs)
    return said if most >= TELLS else ""


def _likeliest(belief: Belief, name: str) -> int:
    """The hypothesis of a suspect, of all its sizes and places, that fits best [-]."""
    mine = np.flatnonzero(belief.cases.fault_index == belief.cases.faults.index(name))
    return int(mine[np.argmax(belief.weights[mine])])


def _best(belief: Belief, name: str) -> int:
    """The row of that hypothesis [-]."""
    return int(belief.now[_likeliest(belief, name)])


def _end(
    cases: HypothesisSet, start: Start, one: int, other: int, fields: dict[str, str]
) -> tuple[float, str]:
    if start.primed_at is None or not start.end:
        return 0.0, ""
    here, there = end_fits(cases.outcomes[[one, other]], start.end)
    if here <= there:
        return 0.0, ""
    key = f"marking.steps.sign_{start.end}"
    return math.sqrt(2.0 * math.log(here / there)), text(key, **fields)


def _prime(
    cases: HypothesisSet, start: Start, one: int, other: int, fields: dict[str, str]
) -> tuple[float, str]:
    here, there = float(cases.prime_times[one]), float(cases.prime_times[other])
    if start.primed_at is None:
        if math.isfinite(there) and there < start.watched and not here < start.watched:
            told = {"seconds": round(start.watched), "there": round(there)}
            return PLAIN, text("marking.steps.sign_dry", **fields, **told)
        return 0.0, ""
    if not math.isfinite(here):
        return 0.0, ""
    told = {"seconds": round(start.primed_at), "here": round(here)}
    if not math.isfinite(there):
        return PLAIN, text("marking.steps.sign_never", **fields, **told)
    apart = abs(math.log(start.primed_at / there)) - abs(math.log(start.primed_at / here))
    return apart / TIMES, text("marking.steps.sign_prime", **fields, **told, there=round(there))


def _needle(
    cases: HypothesisSet,
    start: Start,
    seen: RunSeen,
    number: int,
    one: int,
    other: int,
    fields: dict[str, str],
    units: str,
) -> tuple[float, str]:
    last = int(min(start.watched, seen.needles.shape[1] - 1, cases.needles.shape[2] - 1))
    calm = last if start.primed_at is None else min(int(start.primed_at) - SETTLED, last)
    at_seconds = np.array(
        [*range(FIRST, calm), last]
    )  # a needle that jumps as the water comes tells the prime's time
    shown = seen.needles[number, at_seconds]
    if last < FIRST or not np.isfinite(shown).all():
        return 0.0, ""
    here, there = (cases.needles[row, number, at_seconds] for row in (one, other))
    apart = np.abs(shown - there) - np.abs(shown - here)
    signs = apart / np.maximum(FINE[number], SHARE * np.abs(shown))
    at = int(np.argmax(signs))
    told = {
        name: _read(number, float(value[at]), units)
        for name, value in (("shown", shown), ("here", here), ("there", there))
    }
    key = f"marking.steps.sign_{GAUGE[number]}"
    return float(signs[at]), text(key, seconds=int(at_seconds[at]), **told, **fields)


def _read(number: int, value: float, units: str) -> str:
    return needle_words(GAUGE[number], value, units)


def needle_words(gauge_id: str, value: float, units: str) -> str:
    """A needle as it is read, to half a mark [Pa], in words. One that shakes about zero stands at zero: pressure in the
    suction is seen from a whole mark on.

    Parameters
    ----------
    gauge_id : of the rig's gauges.
    value : what it shows [Pa]; of the suction gauge vacuum.
    units : "metric" or "us".

    Examples
    --------
    >>> needle_words("suction", -900.0, "metric"), needle_words("suction", -10e3, "metric")
    ('0 kPa', '10 kPa above zero')
    """
    gauge = GAUGES[gauge_id]
    shown = read(value, gauge, units)
    if gauge_id == "suction" and shown < 0.0:
        if -shown < 0.999 * gauge.graduation(units):
            return figure(gauge.quantity, 0.0, units)
        return text("marking.steps.above_zero", value=figure(gauge.quantity, -shown, units))
    return figure(gauge.quantity, shown, units)
