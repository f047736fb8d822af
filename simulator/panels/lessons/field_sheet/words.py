"""What a field sheet comes to, in words and as plain data: kept in the records, shown on the page, printed."""

from __future__ import annotations

import math
import re
from typing import Any

from simulator.diagnosis.advice import BEFORE_START
from simulator.diagnosis.field import (
    FieldReport,
    FieldSheet,
    Suspect,
    would_show,
)
from simulator.diagnosis.field_fit import Item
from simulator.diagnosis.hypothesis_set import HypothesisSet
from simulator.diagnosis.option import Option
from simulator.diagnosis.words import chance_words, joint_field, option_label, told_label
from simulator.instruments.checks import CHECKS
from simulator.instruments.vacuum_tests import blank_mark
from simulator.panels.lessons.field_sheet.headline import Headline
from simulator.physics.atmosphere import pressure_at_altitude
from simulator.rig import safe_work
from simulator.rig.faults import FAULTS
from simulator.rig.remedies import remedies_for
from simulator.texts import text
from simulator.units import UNITS

SURE_PLACE = 0.8  # [-] of a fault's chance on one place, from which that place alone is named
MARKED = ("blank_off", "capped_hose")  # tests of which the time to a mark is taken
KEY = "field_sheet.result"


class Words:
    """Puts a report into words, in the units of the sheet's gauges."""

    def __init__(
        self, sheet: FieldSheet, report: FieldReport, cases: HypothesisSet, form: dict[str, Any]
    ) -> None:
        self.sheet, self.report, self.cases, self.form = sheet, report, cases, form

    def vacuum(self, value: float) -> str:
        """A vacuum [Pa] as the sheet's own gauge shows it.

        Parameters
        ----------
        value : [Pa], positive below the air outside.
        """
        return _figure(value, self.form["vacuum_unit"])

    def motive(self, value: float) -> str:
        """A motive pressure [Pa gauge] as the sheet's own gauge shows it.

        Parameters
        ----------
        value : [Pa gauge].
        """
        return _figure(value, self.form["motive_unit"])

    def expected(self) -> str:
        """How long a good rig takes here."""
        about, low, high = self.report.expected
        if not math.isfinite(about):
            return text(f"{KEY}.never")
        return text(f"{KEY}.expected", about=round(about), low=round(low), high=round(high))

    def rule(self) -> list[str]:
        """What the sheet says at its head: see :class:`~simulator.panels.lessons.field_sheet.headline.Headline`."""
        return Headline(self.sheet, self.report, self.cases, self.vacuum, walked=self._walked_well()).lines()

    def _walked_well(self) -> bool:
        """Whether the walk round stands on the sheet, with all in order."""
        good = CHECKS[BEFORE_START].outcomes[0]
        return any((each.check, each.outcome) == (BEFORE_START, good) for each in self.sheet.findings)

    def _seen_in_order(self, works: tuple[str, ...]) -> bool:
        """Whether the walk round found in order what one of some works puts right: it may have been overlooked."""
        return self._walked_well() and not set(works).isdisjoint(
            dict(CHECKS[BEFORE_START].calls_for).values()
        )

    def item(self, item: Item) -> str:
        """One thing on the sheet, as it was typed.

        Parameters
        ----------
        item : a reading or a look.
        """
        if item.kind == "finding":
            return CHECKS[item.check].sentence(item.outcome, **joint_field(item.place))
        if item.kind == "start":
            how = {"pumps_badly": "item_primed_badly", "lost_prime": "item_primed_lost"}.get(
                item.outcome, "item_primed"
            )
            how = "item_dry" if math.isnan(item.value) else how
            return text(f"{KEY}.{how}", watched=f"{item.time:g}", primed=f"{item.value:g}")
        shown = self.vacuum(item.value) if item.kind == "suction" else self.motive(item.value)
        return text(f"{KEY}.item_{item.kind}", value=shown, time=f"{item.time:g}")

    def leaning(self, item: Item, suspect: Suspect) -> str:
        """The same, beside what the suspect would give where that is a needle.

        Parameters
        ----------
        item : a reading or a look.
        """
        if item.kind not in ("suction", "motive"):
            return self.item(item)
        own = self.cases.fault_index == self.cases.faults.index(suspect.fault)
        model = would_show(item, own, self.cases)
        show = self.vacuum if item.kind == "suction" else self.motive
        return text(
            f"{KEY}.would_{item.kind}",
            value=show(item.value),
            time=f"{item.time:g}",
            model=show(max(model, 0.0)),
        )

    def suspect(self, suspect: Suspect) -> dict[str, Any]:
        """A suspect as it is listed."""
        area = f"{KEY}.{suspect.how}" if suspect.how else "faults"
        name = text(f"{area}.{suspect.fault}.name")
        if suspect.place:
            kind = suspect.place.partition(":")[0]
            key = f"at_{kind}" if suspect.place_share >= SURE_PLACE else f"maybe_at_{kind}"
            name = text(f"{KEY}.{key}", name=name, n=joint_field(suspect.place)["joint"])
        works = remedies_for(FAULTS[suspect.fault].part)
        again = [text(f"{KEY}.seen_in_order")] if self._seen_in_order(works) else []
        return {
            "name": name,
            "what": " ".join([text(f"{area}.{suspect.fault}.what"), *again]),
            "chance": chance_of(suspect.chance),
            "share": round(suspect.chance, 3),
            "for": [self.leaning(item, suspect) for item in suspect.speaks_for],
            "against": [self.leaning(item, suspect) for item in suspect.speaks_against],
        }

    def next(self) -> dict[str, Any]:
        """The next thing to do, with how and what protects."""
        option = self.report.next
        out = {
            "label": option_label(option),
            "reason": self.report.reason,
            "how": "",
            "protects": "",
        }
        if option.kind in ("check", "remedy") and option.id != BEFORE_START:
            out["reason"] += " " + text(f"{KEY}.next_why")
        if self.report.then is not None:
            out["reason"] += " " + text(f"{KEY}.then", act=told_label(self.report.then))
        if option.kind == "check":
            out["how"] = text(f"{KEY}.how", how=text(f"checks.{option.id}.how"))
            if option.id in MARKED:
                mark = blank_mark(float(pressure_at_altitude(self.sheet.site.altitude)))
                out["how"] += " " + text(f"{KEY}.mark", mark=self.vacuum(mark))
            out["protects"] = self._protects(safe_work.CHECKS, option)
            if "running" in CHECKS[option.id].needs:
                first = text(f"{KEY}.running", first=safe_work.box(safe_work.ENGINE, "start_engine"))
                own = [each for each in re.split(r"(?<=[.]) ", out["protects"]) if each not in first]
                out["protects"] = " ".join([first, *own])  # no sentence twice
        elif option.kind == "remedy":
            if self._seen_in_order((option.id,)):  # to a hand that has just seen it shut, that is a look
                act = told_label(option)
                out["label"] = text(f"{KEY}.look_again", act=act)
            out["protects"] = self._protects(safe_work.REMEDIES, option)
        elif option.kind == "watch":
            out["protects"] = safe_work.box(safe_work.ENGINE, "start_engine")
        return out

    def _protects(self, kind: str, option: Option) -> str:
        """What makes an act safe on the rig and at the place of the sheet, as the pages of a call ask for it."""
        here = safe_work.conditions(self.sheet.rig, self.sheet.site, option.place)
        return safe_work.box(kind, option.id, here)

    def as_dict(self) -> dict[str, Any]:
        """All of it as plain data."""
        report = self.report
        left = ""
        if report.left_out:
            left = (
                text(f"{KEY}.left_out_one")
                if report.left_out == 1
                else text(f"{KEY}.left_out", n=report.left_out)
            )
        return {
            "fits": report.fits,
            "proved": report.proved,
            "expected": self.expected(),
            "rule": self.rule(),
            "suspects": [self.suspect(each) for each in report.suspects],
            "clashes": [self.item(item) for item in report.clashes],
            "next": self.next(),
            "left_out": left,
        }


def _figure(value: float, unit: str) -> str:
    shown = UNITS[unit]
    return f"{shown.from_si(value):.{shown.decimals}f} {unit}"


def chance_of(chance: float) -> str:
    """A chance [-] as people say it, without odd extremes: readings beside a real pump never make quite sure.

    Examples
    --------
    >>> chance_of(0.61), chance_of(0.99)
    ('about 61 %', 'almost sure')
    """
    if chance >= 0.97:
        return text(f"{KEY}.sure")
    return chance_words(chance)
