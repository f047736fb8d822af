"""The page of the own pump: what to measure, one timed start, the rig fitted to both, and the way into the class."""

from __future__ import annotations

import logging
from dataclasses import replace
from typing import Any

from simulator.errors import InputError
from simulator.measured.figures import measured_of, tidy
from simulator.measured.fit import Fit, fit_rig
from simulator.measured.judging import Refusal, why_not, why_not_fit
from simulator.measured.start import TimedStart
from simulator.measured.table import BadLine, read_readings
from simulator.panels.exercise.debrief_work import DebriefWork, Progress, StoppedByReader
from simulator.panels.page.blocks import Block, notice
from simulator.panels.page.part import LessonPart
from simulator.panels.teaching.lesson import Lesson
from simulator.panels.trainer.own_pump import outcome
from simulator.panels.trainer.own_pump.draft import Draft, Taken, new_fields, read_fields, written_fields
from simulator.panels.trainer.own_pump.form import groups, told_of
from simulator.panels.trainer.own_pump.keeping import (
    Before,
    kept_names,
    legal_name,
    read_measured,
    rig_path,
    use_in_class,
)
from simulator.panels.trainer.own_pump.typing import plain_unit, shown
from simulator.rig.own_rigs import own_rigs_folder, rig_text, rigs_left_out
from simulator.rig.presets import load_rig
from simulator.rig.rig import Rig
from simulator.texts import entry, text

_log = logging.getLogger(__name__)
_log.addHandler(logging.NullHandler())  # what went wrong is for whoever listens, never for the page

Key = tuple[Rig, TimedStart, float]


class OwnPump(Lesson):
    """The own pump's desk.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id.
    """

    number = "pump"
    on_page = ("aim", "desk", "what_next")

    def __init__(self, session: Any = None) -> None:
        super().__init__(session)
        self.draft = Draft(system=self.units)
        self.title = ""  # of the rig, as it was saved or opened
        self._serial, self._heard = 0, 0
        self._base = self.draft.taken().base
        self._moved: tuple[str, str] | None = None  # the nearest rig before and now, until that was read
        self._leaving, self._over = "", ""  # what was pressed once; the name that may be written over
        self._saved: dict[str, str] = new_fields(self.units)
        self._fitted: tuple[Key, Fit, Refusal | None] | None = None
        self._failed: tuple[Key, str] | None = None
        self._work: DebriefWork | None = None
        self._wanted: Key | None = None
        self._before: Before | None = None
        self._bad: list[BadLine] = []

    # parts, in the order of the page

    def aim(self) -> LessonPart:
        """What the page is for, and how to stay safe meanwhile."""
        return self.part("aim", self._aim)

    def desk(self) -> LessonPart:
        """The fields, and beside them what they come to."""
        return self.part("desk", self._desk)

    def what_next(self) -> LessonPart:
        """What becomes of the rig, and the way back."""
        return self.part("what_next", self._what_next)

    # what they hold

    def _aim(self) -> list[Block]:
        safe = {
            "id": "safe",
            "kind": "list",
            "ordered": False,
            "title": text("own_pump.safe_title"),
            "items": list(entry("own_pump.safe")),
        }
        left = [notice("left_out", "wait", *rigs_left_out())] if rigs_left_out() else []
        return [*self.opening("own_pump", "desks.kicker"), safe, self.units_block(), *left]

    def _desk(self) -> list[Block]:
        taken = self.draft.taken()
        wrong = len(told_of(taken)) + len(taken.bad_rows)
        counted = text("own_pump.one_wrong") if wrong == 1 else text("own_pump.wrong_count", n=wrong)
        form: Block = {
            "id": "form",
            "kind": "desk",
            "serial": self._serial,
            "heard": self._heard,
            "groups": groups(self.draft.fields, taken, self._bad),
            "problems": counted if wrong else "",
            "undo": self.draft.can_undo,
            "redo": self.draft.can_redo,
            "adding": None,
            "files": self._files(),
            "picture": None,
            "units": self.units,
            "labels": {**entry("own_pump.tools"), "picture": "", "file": text("own_pump.fields.title")},
        }
        return [
            form,
            *(
                {**each, "aside": True}
                for each in (*self._other_rig(taken), *self._beside(taken), self._stays(taken))
            ),
        ]

    def _files(self) -> dict[str, Any]:
        return {
            "own": [{"id": name, "label": name} for name in kept_names()],
            "book": [],
            "own_label": text("own_pump.tools.own"),
            "book_label": "",
            "name": self.title,
            "state": "",
            "over": False,
            "save_beside": True,
        }

    def _other_rig(self, taken: Taken) -> list[Block]:
        """That another rig is the nearest now, with all that an empty field comes to by it."""
        if self._moved is None:
            return []
        old, new = (load_rig(name) for name in self._moved)
        was, now = measured_of(old), measured_of(new)
        empty = [key for key in now if key != "cock" and key not in taken.values and now[key] != was[key]]

        def worth(value: float, key: str) -> str:
            return f"{shown(value, key, self.units)} {plain_unit(key, self.units)}".rstrip()

        changed = [
            text(
                "own_pump.other_rig.field",
                field=text(f"own_pump.fields.{key}"),
                now=worth(now[key], key),
                was=worth(was[key], key),
            )
            for key in empty
        ]
        said = [text("own_pump.other_rig.said", new=new.title, old=old.title)]
        if changed:
            said.append(text("own_pump.other_rig.fields", fields="; ".join(changed)))
        button = {"label": text("own_pump.other_rig.heard"), "action": "heard_other_rig", "args": {}}
        return [
            notice("other_rig", "wait", *said),
            {"id": "other_rig_heard", "kind": "buttons", "buttons": [button]},
        ]

    def _stays(self, taken: Taken) -> Block:
        rig = load_rig(taken.base)
        rows = [
            [row["what"], row["as"].format(**_stay_figures(rig)), row["why"]]
            for row in entry("own_pump.stays.rows")
        ]
        return {
            "id": "stays",
            "kind": "desk_keys",
            "title": text("own_pump.stays.title", rig=rig.title),
            "columns": [
                text("own_pump.stays.what"),
                text("own_pump.stays.as", rig=rig.title),
                text("own_pump.stays.why"),
            ],
            "rows": rows,
        }

    def _beside(self, taken: Taken) -> list[Block]:
        rig = load_rig(taken.base)
        heading = {
            "id": "beside",
            "kind": "heading",
            "text": text("own_pump.beside"),
            "paragraphs": [text("own_pump.nearest", rig=rig.title)],
        }
        if taken.start is None or not taken.start.times:
            said = text("own_pump.waits_right" if told_of(taken) or taken.bad_rows else "own_pump.waits")
            return [heading, notice("waits", "wait", said)]
        key = self._key(taken)
        fit, refusal = self._fit_of(key)
        out: list[Block] = [heading, outcome.chart(taken.start, fit, self.units)]
        first = why_not(taken.start)
        if taken.wrong or taken.bad_rows:
            return [*out, notice("waits", "wait", text("own_pump.waits_right"))]
        if first is not None:
            return [*out, outcome.verdict(first, self.units)]
        if fit is not None:
            told = [outcome.verdict(refusal, self.units), *([] if refusal else [self._use()])]
            return [*out, *told, *outcome.fitted_blocks(fit, refusal, self.units)]
        if self._work is not None and self._wanted == key:
            return [*out, notice("working", "plain", text("own_pump.working"))]
        if self._failed is not None and self._failed[0] == key:
            out.append(notice("failed", "wait", self._failed[1]))
        button = {"label": text("own_pump.tools.fit"), "action": "fit", "args": {}, "primary": True}
        return [*out, {"id": "fit", "kind": "buttons", "buttons": [button]}]

    def _use(self) -> Block:
        kept = self.draft.fields == self._saved and bool(self.title)
        return {
            "id": "use",
            "kind": "desk_use",
            "label": text("own_pump.fields.title"),
            "name": self.title,
            "button": text("own_pump.tools.save_over" if self._over else "own_pump.tools.save"),
            "state": text("own_pump.said.kept" if kept else "own_pump.said.unsaved"),
            "off": False,
        }

    def _what_next(self) -> list[Block]:
        heading = {
            "id": "heading",
            "kind": "heading",
            "text": text("own_pump.next_title"),
            "paragraphs": [*entry("own_pump.next_text"), text("own_pump.folder", folder=own_rigs_folder())],
        }
        back = []
        if self._before is not None:
            button = {"label": text("own_pump.tools.take_back"), "action": "take_back", "args": {}}
            back.append({"id": "back", "kind": "buttons", "buttons": [button]})
        return [heading, *back, self.links("go", "00", "02") | {"quiet": True}, self.caution()]

    # the fit

    @staticmethod
    def _key(taken: Taken) -> Key:
        assert taken.rig is not None
        assert taken.start is not None
        return taken.rig, taken.start, taken.room

    def _fit_of(self, key: Key) -> tuple[Fit | None, Refusal | None]:
        if self._fitted is None or self._fitted[0] != key:
            return None, None
        return self._fitted[1], self._fitted[2]

    def on_fit(self, args: dict[str, Any], click: str) -> str:
        """Fit the rig to the start, beside the page."""
        taken = self.draft.taken()
        if not taken.ready:
            return text("own_pump.waits_right")
        key = self._key(taken)
        if self._work is not None:
            self._work.stop(drop=True)
        self._wanted = key

        def work(progress: Progress) -> dict[str, Any]:
            rig, start, room = key
            fit = fit_rig(rig, start, room, lambda runs: progress(runs, 100))
            return {"fit": fit, "refusal": why_not_fit(fit, room)}

        def done(found: dict[str, Any] | None, error: Exception | None) -> None:
            self._work = None
            if isinstance(error, StoppedByReader):
                return
            if found is not None:
                self._fitted, self._failed = (key, found["fit"], found["refusal"]), None
            else:
                _log.error("a rig could not be fitted", exc_info=error)
                self._failed = key, text("own_pump.failed")
            self.refresh()

        made = DebriefWork(work, lambda one, all_: None, done)
        self._work = None if made.over else made
        return ""

    # clicks

    def _changed(self) -> None:
        self._leaving = self._over = ""
        base = self.draft.taken().base
        if base != self._base:
            self._moved, self._base = (self._base, base), base

    def _anew(self) -> None:
        self._serial += 1
        self._changed()

    def on_units(self, args: dict[str, Any], click: str) -> None:
        """The switch between unit systems; figures that name no unit follow it."""
        super().on_units(args, click)
        self.draft.set("system", self.units)
        self._anew()

    def on_edit(self, args: dict[str, Any], click: str) -> None:
        """Something was typed or chosen."""
        name, number = str(args.get("field", ""))[:60], args.get("n")
        self._heard = number if isinstance(number, int) else self._heard
        if name == "system" or name not in self.draft.fields:
            return
        self.draft.set(name, str(args.get("value", "")), same_word=args.get("more") is True)
        if name == "paste":
            self._bad = []
        self._changed()

    def on_undo(self, args: dict[str, Any], click: str) -> None:
        """One step back."""
        self.draft.undo()
        self._anew()

    def on_redo(self, args: dict[str, Any], click: str) -> None:
        """One step on again."""
        self.draft.redo()
        self._anew()

    def on_paste(self, args: dict[str, Any], click: str) -> str:
        """Lines were pasted into the table."""
        return self._take(str(args.get("text", "")))

    def on_take_paste(self, args: dict[str, Any], click: str) -> str:
        """The text of the box is put into the table."""
        return self._take(self.draft.fields["paste"])

    def _take(self, written: str) -> str:
        found = read_readings(written, self.draft.fields["vacuum"])
        self._bad = list(found.bad)
        if not found.times and not found.bad:
            return text("own_pump.said.nothing_pasted")
        if found.times:
            self.draft.take_readings(found, written)
        else:
            self.draft.set("paste", written)
        self._anew()
        return text("own_pump.said.pasted", n=len(found.times), bad=len(found.bad))

    def _may_leave(self, what: str) -> bool:
        if self.draft.fields == self._saved or not self.draft.can_undo or self._leaving == what:
            return True
        self._leaving = what
        return False

    def on_new(self, args: dict[str, Any], click: str) -> str:
        """Begin another pump."""
        if not self._may_leave("new"):
            return text("own_pump.said.leave")
        self._begin(new_fields(self.units), "")
        return text("own_pump.said.began")

    def on_open(self, args: dict[str, Any], click: str) -> str:
        """Open what was measured of an own pump."""
        which = str(args.get("which", ""))[:200]
        if not which:
            return text("own_pump.said.none_kept")
        fields = read_fields(read_measured(which), which)
        if not self._may_leave(which):
            return text("own_pump.said.leave")
        self._begin(fields, fields["title"] or which)
        return text("own_pump.said.opened", name=which)

    def _begin(self, fields: dict[str, str], title: str) -> None:
        self.draft, self.title, self._bad = Draft(fields), title, []
        self._saved = self.draft.fields
        if fields["system"] != self.units:
            self.draft.set("system", self.units)
        self._base, self._moved = self.draft.taken().base, None
        self._anew()

    def on_heard_other_rig(self, args: dict[str, Any], click: str) -> None:
        """That another rig is the nearest was read."""
        self._moved = None

    def on_save(self, args: dict[str, Any], click: str) -> str:
        """Use it in class: write its file; over another only at the second press."""
        taken = self.draft.taken()
        fit, refusal = self._fit_of(self._key(taken)) if taken.ready else (None, None)
        if fit is None:
            return text("own_pump.said.not_fitted")
        if refusal is not None:
            return text("own_pump.use_not")
        title = str(args.get("name", "")).strip()[:60]
        name = legal_name(title)
        rig = class_rig(fit, name, title)
        self.draft.set("title", title)
        measured = written_fields(self.draft.fields)
        own = self.title and legal_name(self.title) == name
        try:
            before = use_in_class(name, rig, measured, over=bool(self._over == name or own))
        except InputError:
            if name not in kept_names() and not rig_path(name).exists():
                raise
            if self._over == name or own:
                raise
            self._over = name
            return text("own_pump.said.exists", name=name)
        self._before, self.title, self._over, self._saved = before, title, "", self.draft.fields
        return text("own_pump.said.saved", name=title, folder=own_rigs_folder())

    def on_take_back(self, args: dict[str, Any], click: str) -> str:
        """Take the last use in class back: the files are as they were before."""
        if self._before is None:
            return ""
        self._before.back()
        self._before = None
        self._saved = {}
        return text("own_pump.said.taken_back")


def class_rig(fit: Fit, name: str, title: str) -> bytes:
    """The file of a fitted rig: figures as long as anybody could check.

    Parameters
    ----------
    fit : the fitted rig.
    name, title : of the rig.
    """
    rig = fit.rig
    return rig_text(
        replace(
            rig,
            name=name,
            title=title,
            ejector=replace(
                rig.ejector,
                exit_diameter=tidy(rig.ejector.exit_diameter),
                mixing_diameter=tidy(rig.ejector.mixing_diameter),
            ),
            screen=replace(rig.screen, open_area=tidy(rig.screen.open_area)),
            exhaust_hose=replace(rig.exhaust_hose, bore=tidy(rig.exhaust_hose.bore)),
            casing=replace(rig.casing, volume=tidy(rig.casing.volume)),
        ),
        text("own_pump.file_note"),
    ).encode("utf-8")


def _stay_figures(rig: Rig) -> dict[str, str]:
    """What stays, in words that a table can hold."""
    return {
        "relief": f"{rig.relief_valve.set_pressure / 1e5:g} bar",
        "receiver": f"{1e3 * rig.air_line.receiver_volume:g} L",
        "nozzle": f"{1e3 * rig.ejector.nozzle_diameter:g} mm",
        "tube": f"{1e3 * rig.ejector.mixing_diameter:g} mm",
        "diffuser": f"{100 * rig.ejector.diffuser_efficiency:g} %",
        "screen": f"{1e6 * rig.screen.open_area:g} mm²",
        "lip": f"{100 * rig.casing.lip_fill:g} %",
        "bite": f"{100 * rig.casing.bite_fill:g} %",
        "bends": f"{rig.suction_hose.bend_loss:g}",
        "strainer": f"{rig.suction_hose.strainer.loss:g}",
        "run_up": f"{rig.engine.run_up_time:g} s",
        "npsh": f"{rig.pump.npsh_base:g} m",
        "float": text("own_pump.cock.yes" if rig.separator.has_float else "own_pump.cock.no"),
    }
