"""The sentences at the head of a field sheet's result: what the needle and the ears say, and no more than the list below
holds.

A sentence names a side of the rig, or a part, only where a suspect of it is listed; "so" stands only where half of the
chance lies there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from simulator.diagnosis.field import (
    STILL,
    FieldReport,
    FieldSheet,
    after_the_prime,
    late_reading,
    past_the_lift,
    rises,
    usable,
    way_gone,
)
from simulator.diagnosis.field_first import (
    DIP,
    HELD,
    HELD_SHARE,
    HIGH,
    IN,
    LESS,
    LINER,
    OUT,
    SHUT,
    STRAINER,
    STRAINER_LOOK,
    THROWN,
    WAY_OUT_LOOKS,
    leading_side,
    side_of,
)
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.option import WATCH
from simulator.instruments.checks_from_outside import static_lift
from simulator.texts import text

BELOW = 4e3  # [Pa] under the static lift that counts
APART = 15.0  # [s] between two readings that tell whether a needle stands
SURE = 0.9  # [-] chance from which another reading is no longer asked for
SOON = 10.0  # [s] before the end of a start up to which a reading tells how the needle went at its end
NEAR = 2.0  # [-] times as likely up to which one suspect is near the other
FOAM_PUMP, FOAM_HOSE = "foam_pump", {"foam_joint", "foam_length"}  # looks that tell what a hiss is
RING, HOLE = "joint_ring", "hose_hole"
FLANGES = ("flange_leaks", "flange_works_loose")
HISS_PUMP = (*FLANGES, "seal_worn", "drain_open", "nrv_fouled")
KEY = "field_sheet.result"


class Headline:
    """The head of one result.

    Parameters
    ----------
    vacuum : puts a vacuum [Pa] as the sheet's gauge shows it.
    walked : whether the walk round stands on the sheet, with all in order.
    """

    def __init__(
        self,
        sheet: FieldSheet,
        report: FieldReport,
        cases: HypothesisSet,
        vacuum: Callable[[float], str],
        *,
        walked: bool,
    ) -> None:
        self.sheet, self.report, self.cases, self.vacuum, self.walked = sheet, report, cases, vacuum, walked
        self.chance = {each.fault: each.chance for each in report.suspects}
        self.made = {finding.check for finding in sheet.findings}
        self.acts = {option.id for option in (report.next, report.then) if option is not None}

    def lines(self) -> list[str]:
        """All of them, in order."""
        out = [*self._early(), text(f"{KEY}.lift", lift=self.vacuum(static_lift(self.sheet.site)))]
        out += [*self._went(), *self._hiss()]
        if self.report.fits:
            out += self._needle()
        return out

    def _listed(self, sides: Iterable[str]) -> list[str]:
        """Listed faults of some sides, the likeliest first."""
        return [fault for fault in self.chance if side_of(fault) in sides]

    def _so(self, named: dict[str, str], sides: Iterable[str]) -> str:
        """What is the matter, by the sides that are listed.

        Parameters
        ----------
        named : what is said of each side.
        """
        faults = self._listed(sides)
        order = dict.fromkeys(side_of(fault) for fault in faults)  # the likeliest first
        said = [named[side] for side in order]
        if not said:
            return text(f"{KEY}.open")
        sure = (
            faults[0] == next(iter(self.chance)) and sum(map(self.chance.__getitem__, faults)) >= HELD_SHARE
        )
        return text(f"{KEY}.{'so' if sure else 'maybe'}", what=text(f"{KEY}.or_also").join(said))

    def _sides(self, *sides: str, slow: bool = False) -> str:
        return self._so({side: text(f"{KEY}.sides.{'slow_' if slow else ''}{side}") for side in sides}, sides)

    def _early(self) -> list[str]:
        """A start that ended too soon tells little, and that comes before all else."""
        if not self.report.early or not self.report.fits:
            return []
        _, low, high = self.report.expected
        read = [n for n in usable(self.sheet) if not math.isnan(n.vacuum)]
        watch = self.sheet.watch
        seen = watch is not None and rises(read) and watch.watched - read[-1].time <= SOON
        key = "early_read" if watch is None else "early_rising" if seen else "early"
        shown = {"low": round(low), "high": round(high), "watched": f"{watch.watched:g}" if watch else ""}
        shown["time"] = f"{read[-1].time:g}" if read else ""
        said = text(f"{KEY}.{key}", **shown)
        if WATCH in (each.kind for each in (self.report.next, self.report.then) if each is not None):
            said += " " + text(f"{KEY}.early_again", limit=f"{self.report.limit:.0f}")
        if self.report.suspects[0].chance < HELD_SHARE:
            said += " " + text(f"{KEY}.early_guess")
        return [said]

    def _went(self) -> list[str]:
        """Which way the needle went after the prime."""
        way = way_gone(self.sheet)
        if not way:
            return []
        late = after_the_prime(self.sheet)
        shown = {"was": self.vacuum(late[0].vacuum), "shown": self.vacuum(late[-1].vacuum)}
        if way < 0:
            said = {IN: text(f"{KEY}.sides.in"), LESS: text(f"{KEY}.sides.less")}
            return [text(f"{KEY}.went_down", **shown) + " " + self._so(said, (IN, LESS))]
        out = text(f"{KEY}.went_up", **shown) + " " + self._sides(HELD, THROWN)
        if self._listed((THROWN,)):
            out += " " + text(f"{KEY}.went_thrown")
        return [out]

    def _hiss(self) -> list[str]:
        """What a hiss leaves open."""
        heard = {finding.outcome for finding in self.sheet.findings if finding.check == "listen_line"}
        out = []
        if "hiss_hose" in heard:
            out.append(self._hiss_hose())
        if "hiss_pump" in heard:
            out.append(self._hiss_pump())
        return out

    def _hiss_hose(self) -> str:
        listed = [fault for fault in (RING, HOLE) if fault in self.chance]
        if not listed:
            return text(f"{KEY}.hiss_elsewhere")
        foam = "hiss_hose_foam" + ("ed" if self.made & FOAM_HOSE else "")
        if len(listed) == 1:
            return _together(f"hiss_hose_{listed[0]}", foam)
        return _together("hiss_hose", f"hiss_hose_{self._likelier()}", foam)

    def _likelier(self) -> str:
        """Which of ring and hole is likelier by the list, and whether the readings say so too."""
        odds = self.chance[RING] / self.chance[HOLE]
        if 1.0 / NEAR <= odds <= NEAR:
            return "even"
        index, weights = self.cases.fault_index, self.cases.weights
        before = [float(weights[index == self.cases.faults.index(name)].sum()) for name in (RING, HOLE)]
        if odds < 1.0:
            return "hole"
        return "ring_fits" if odds >= NEAR * before[0] / before[1] else "ring"

    def _hiss_pump(self) -> str:
        listed = [fault for fault in HISS_PUMP if fault in self.chance]
        if not listed:
            return text(f"{KEY}.hiss_elsewhere")
        one_flange = [fault for fault in listed if fault != FLANGES[1] or FLANGES[0] not in listed]
        parts = _either(text(f"{KEY}.hiss_parts.{fault}") for fault in one_flange)
        out = [text(f"{KEY}.hiss_pump", parts=parts)]
        if "drain_open" in listed:
            out.append(text(f"{KEY}.hiss_pump_{'walked' if self.walked else 'drain'}"))
        if FOAM_PUMP in self.made:
            out.append(text(f"{KEY}.hiss_pump_foamed"))
        elif "seal_worn" in listed and not set(FLANGES).isdisjoint(listed):
            out.append(text(f"{KEY}.hiss_pump_foam"))
        return " ".join(out)

    def _needle(self) -> list[str]:
        """On which side of the static lift the needle is."""
        last = late_reading(self.sheet)
        if last is None:
            return []
        if not math.isnan(past_the_lift(self.sheet)):
            return [self._above(last.vacuum)]
        if last.vacuum >= static_lift(self.sheet.site) - BELOW or self.report.early:
            return []
        return [self._below(last.vacuum, last.time)]

    def _held(self) -> str:
        """What holds the water back, by the list; "" where nothing does."""
        parts = [text(f"{KEY}.parts.{fault}") for fault in self._listed((HELD,))]
        return text(f"{KEY}.sides.held_parts", parts=_either(parts)) if parts else ""

    def _above(self, value: float) -> str:
        out, held = [text(f"{KEY}.above", value=self.vacuum(value))], self._held()
        side = leading_side(list(self.chance.items()))
        if side == HIGH:
            out.append(text(f"{KEY}.above_high{'_dipped' if DIP in self.made else ''}"))
            if held:
                out.append(text(f"{KEY}.above_high_or", what=held))
        elif side == HELD:
            high = {HIGH: text(f"{KEY}.sides.high")} if self._listed((HIGH,)) else {}
            out.append(self._so({HELD: held, **high}, (HELD, *high)))
        elif side == SHUT and not self.acts.isdisjoint(WAY_OUT_LOOKS):
            out.append(text(f"{KEY}.above_shut"))
        else:
            out.append(text(f"{KEY}.open"))
        if STRAINER_LOOK in self.acts and STRAINER in self.chance:
            out.append(text(f"{KEY}.above_strainer{'' if LINER in self.chance else '_alone'}"))
        return " ".join(out)

    def _below(self, value: float, time: float) -> str:
        """A needle below the static lift: a needle that still rises has not stopped, and one reading tells neither."""
        before = [n for n in usable(self.sheet) if n.time <= time - APART and not math.isnan(n.vacuum)]
        if not before:
            sure = self.report.suspects[0].chance >= SURE
            said = text(
                f"{KEY}.below_once{'_sure' if sure else ''}", value=self.vacuum(value), time=f"{time:g}"
            )
            listed = [text(f"{KEY}.sides.{side}") for side in (IN, OUT) if self._listed((side,))]
            if sure or not listed:
                return said + " " + self._sides(IN, OUT)
            return said + " " + text(f"{KEY}.below_once_then", what=text(f"{KEY}.or_also").join(listed))
        then = before[-1]
        moved = value - then.vacuum
        key = "below_rising" if moved > STILL else "below_falling" if moved < -STILL else "below"
        said = text(
            f"{KEY}.{key}",
            value=self.vacuum(value),
            time=f"{time:g}",
            before=self.vacuum(then.vacuum),
            then=f"{then.time:g}",
        )
        if key == "below_falling":
            return said
        return said + " " + self._sides(IN, OUT, slow=key == "below_rising")


def _either(parts: Iterable[str]) -> str:
    """Parts as they stand in a sentence: one, two or three."""
    *more, last = parts
    return text(f"{KEY}.or_part").join([", ".join(more), last]) if more else last


def _together(*keys: str) -> str:
    return " ".join(text(f"{KEY}.{key}") for key in keys)
