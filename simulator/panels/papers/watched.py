"""A watched job typed back from its paper form, beside the marks that the program gave."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from simulator.errors import InputError
from simulator.panels.learner.session import LearnerSession
from simulator.panels.page.blocks import Block
from simulator.panels.page.part import LessonPart
from simulator.records import ObservedJob, jobs, keep_job
from simulator.records.observed import ENDINGS, PARTS
from simulator.rig.presets import load_rig, rig_names
from simulator.texts import text

LONG = ("call", "safety", "steps", "remarks")
GROUPS: dict[str, tuple[str, ...]] = {
    "who": ("learner", "observer", "done_on", "rig", "site", "call"),
    "what": ("safety", "steps", "first_call", "second_call", "cause", "work", "proof_s", "ending"),
    "marks": (*(f"points_{name}" for name in PARTS), "remarks"),
}
NUMBERS = ("proof_s", *(f"points_{name}" for name in PARTS))
ELSE = "else"


class WatchedJobs:
    """The form, and the jobs typed in so far with the marks of the one who watched."""

    def __init__(self, session: LearnerSession) -> None:
        self.session = session
        self.form = self._blank()
        self.problems: list[dict[str, str]] = []
        self.open = False
        self._serial = 0
        self._part: LessonPart | None = None

    def part(self) -> LessonPart:
        """The part of the page; asked for again, it is the same one."""
        if self._part is None:
            self._part = LessonPart("watched", self._blocks, self._act)
        return self._part

    def _blank(self) -> dict[str, str]:
        out = {name: "" for names in GROUPS.values() for name in names}
        now = self.session.now()
        return out | {
            "learner": self.session.name,
            "done_on": now.date().isoformat(),
            "rig": "osier",
            "ending": "mended",
        }

    # what stands there

    def _blocks(self) -> list[Block]:
        blocks: list[Block] = [
            {
                "id": "watched",
                "kind": "heading",
                "text": text("papers.watched.title"),
                "paragraphs": [text("papers.watched.intro")],
            },
            *self._list(),
        ]
        button = {
            "label": text("papers.watched.close" if self.open else "papers.watched.open"),
            "action": "open",
            "args": {"open": not self.open},
        }
        blocks.append({"id": "open", "kind": "buttons", "buttons": [button]})
        if self.open:
            blocks.append(self._form())
        return blocks

    def _list(self) -> list[Block]:
        lines = []
        for attempt, job in jobs(self.session.store):
            marks = self.session.store.marks(attempt, "trainer")
            total = f"{marks[-1].sheet['total']:.0f}" if marks else ""
            key = "line" if total else "line_unmarked"
            lines.append(
                text(
                    f"papers.watched.{key}",
                    date=job.done_on,
                    learner=job.learner,
                    site=job.site or text("papers.watched.no_site"),
                    ending=text(f"papers.watched.endings.{job.ending}"),
                    total=total,
                    observer=job.observer,
                )
            )
        return [{"id": "list", "kind": "list", "items": lines}] if lines else []

    def _form(self) -> Block:
        groups = []
        for name, fields in GROUPS.items():
            groups.append(
                {
                    "id": name,
                    "title": text(f"papers.watched.groups.{name}"),
                    "hint": text("papers.watched.steps_hint") if name == "what" else "",
                    "fields": [self._field(each) for each in fields],
                }
            )
        return {
            "id": "form",
            "kind": "field",
            "serial": self._serial,
            "form": self.form,
            "groups": groups,
            "problems": self.problems,
            "problems_title": text("papers.watched.problems"),
            "labels": {
                "judge": text("papers.watched.keep"),
                "kept": text("papers.watched.kept_hint"),
                "judging": text("papers.watched.keep"),
            },
        }

    def _field(self, name: str) -> dict[str, Any]:
        part = name.removeprefix("points_")
        if part in PARTS and part != name:
            label = text("papers.job.part", label=text(f"marking.{part}.label"), points=f"{PARTS[part]:g}")
            return {"id": name, "kind": "number", "label": label}
        out: dict[str, Any] = {"id": name, "kind": "text", "label": text(f"papers.watched.fields.{name}")}
        if name == "proof_s":
            out |= {"kind": "number", "unit": "s"}
        elif name == "rig":
            rigs = [{"id": each, "label": load_rig(each).title} for each in rig_names()]
            out |= {
                "kind": "choice",
                "options": [*rigs, {"id": ELSE, "label": text("papers.watched.other_rig")}],
            }
        elif name == "ending":
            endings = [{"id": each, "label": text(f"papers.watched.endings.{each}")} for each in ENDINGS]
            out |= {"kind": "choice", "options": endings}
        elif name in LONG:
            out |= {"kind": "long", "wide": True}
        return out

    # clicks

    def _act(self, action: str, args: dict[str, Any], click: str) -> str:
        if action == "open":
            self.open = bool(args.get("open"))
            said = ""
        elif action == "draft":
            self.form = self._clean(args.get("form"))
            return ""
        elif action == "judge":
            self.form = self._clean(args.get("form"))
            said = self._keep()
        else:
            raise InputError(f"there is no act {action!r} here")
        self.part().refresh()
        return said

    def _clean(self, form: Any) -> dict[str, str]:
        given = form if isinstance(form, dict) else {}
        return {name: str(given.get(name, "")) for name in self._blank()}

    def _keep(self) -> str:
        self.problems = []
        numbers = {name: self._number(name) for name in NUMBERS}
        if self.problems:
            return text("papers.watched.not_kept")
        plain: dict[str, Any] = {n: value.strip() for n, value in self.form.items() if n not in NUMBERS}
        plain["steps"] = tuple(line.strip() for line in plain["steps"].splitlines() if line.strip())
        job = ObservedJob(**plain, proof_s=numbers.pop("proof_s"))
        given = {n.removeprefix("points_"): value for n, value in numbers.items() if value is not None}
        try:
            keep_job(self.session.store, replace(job, points=given))
        except InputError as error:
            self.problems = [
                {"field": error.where or "form", "sentence": f"{error.what[:1].upper()}{error.what[1:]}."}
            ]
            return text("papers.watched.not_kept")
        self.form, self.open = self._blank(), False
        self._serial += 1
        return text("papers.watched.kept", learner=job.learner)

    def _number(self, name: str) -> float | None:
        typed = self.form[name].strip().replace(",", ".")
        if not typed:
            return None
        try:
            return float(typed)
        except ValueError:
            label = self._field(name)["label"]
            self.problems.append(
                {"field": name, "sentence": text("papers.watched.no_number", label=label, found=typed)}
            )
            return None
