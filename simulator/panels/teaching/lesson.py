"""What every lesson has: the learner's session, the work at it, its parts on the page, and how clicks are answered."""

from __future__ import annotations

from typing import Any

from simulator.classroom.asking import page_of_class
from simulator.errors import InputError
from simulator.panels.exercise.debrief_work import in_page_thread
from simulator.panels.learner.session import LearnerSession, Work
from simulator.panels.learner.work_transfer import WorkTransfer, is_ephemeral
from simulator.panels.lessons.registry import LESSONS
from simulator.panels.page.blocks import Block, Builder, notice
from simulator.panels.page.part import LessonPart
from simulator.panels.page.words import format_quantity
from simulator.rig import trainer
from simulator.texts import entry, text
from simulator.units import SYSTEMS


class Lesson:
    """A lesson on the page; its public methods are its parts, each a widget.

    A click comes to ``on_<action>``: ``args`` as the page sent them, ``click`` its id, kept with what follows.

    Parameters
    ----------
    session : the learner's; that of this machine by default.
    """

    number = ""
    #: The parts on its page, in order: its methods of these names, each shown by a cell of its notebook.
    on_page: tuple[str, ...] = ()

    def __init__(self, session: LearnerSession | None = None) -> None:
        self.session = session or LearnerSession()
        self.work = Work(self.session, self.number)
        self.transfer = WorkTransfer(self.session)
        self.parts: dict[str, LessonPart] = {}
        if self.session.handing is not None:
            in_page_thread(self.session.handing.listen, self.refresh)

    @property
    def units(self) -> str:
        """The unit system in use."""
        return self.session.units

    @property
    def answers(self) -> dict[str, Any]:
        """What was answered in this sitting."""
        return self.work.answers

    def part(self, name: str, build: Builder) -> LessonPart:
        """Put a part on the page; asked for again, it is the same one.

        Parameters
        ----------
        name : of the part, for style and tests.
        build : gives its blocks as they now are.
        """
        if name not in self.parts:
            self.parts[name] = LessonPart(name, build, self.act, self.carried)
        return self.parts[name]

    def refresh(self) -> None:
        """Describe every part anew."""
        for part in self.parts.values():
            part.refresh()

    def act(self, action: str, args: dict[str, Any], click: str) -> str:
        """Do what a click asks for; a sentence to say, or an empty one.

        Parameters
        ----------
        action : that a click asks for.

        Raises
        ------
        InputError : there is no such thing to do, or it cannot be done.
        """
        handler = getattr(self, f"on_{action}", None)
        if handler is None:
            raise InputError(f"there is no act {action!r} in this lesson")
        said = handler(args, click)
        self.refresh()
        return said or ""

    def carried(self, message: dict[str, Any]) -> dict[str, Any]:
        """Answer a message about the file that work is saved in or loaded from.

        Raises
        ------
        InputError : the file cannot be used; nothing is changed then.
        """
        answer = self.transfer.receive(message)
        if answer.get("loaded"):
            self.take_up()
        if "sentence" in answer:
            self.refresh()
        return answer

    def take_up(self) -> None:
        """Go on with what the records hold now."""
        self.work = Work(self.session, self.number)

    def on_units(self, args: dict[str, Any], click: str) -> None:
        """The switch between unit systems."""
        self.session.set_units(str(args.get("value", "")))

    def on_seen(self, args: dict[str, Any], click: str) -> None:
        """Something was looked at to its end."""
        self.work.keep(f"seen:{str(args.get('what', ''))[:60]}", True, click)

    def seen(self, what: str) -> bool:
        """Whether something was looked at to its end.

        Parameters
        ----------
        what : the id of a block, or "run:" and that of a run.
        """
        return bool(self.answers.get(f"seen:{what}"))

    # blocks that every lesson uses

    def heading(self, block_id: str, key: str, paragraphs: list[str] | None = None) -> Block:
        """A heading with paragraphs under it.

        Parameters
        ----------
        block_id : by which the page knows it.
        key : of its words, under the lessons'.
        """
        return {
            "id": block_id,
            "kind": "heading",
            "text": text(f"lessons.{key}"),
            "paragraphs": paragraphs or [],
        }

    def opening(self, area: str, kicker: str) -> list[Block]:
        """What a page begins with: its title, what the learner is to know now, and what the page is for, point by point.

        Parameters
        ----------
        area : of the catalogue, with ``title``, ``lead`` and ``plan``.
        kicker : key of the line above the title.
        """
        return [
            {
                "id": "title",
                "kind": "title",
                "kicker": text(kicker),
                "text": text(f"{area}.title"),
                "lead": text(f"{area}.lead"),
            },
            *self.notices(),
            {"id": "plan", "kind": "list", "ordered": True, "items": list(entry(f"{area}.plan"))},
        ]

    def units_block(self) -> Block:
        """The switch between unit systems."""
        options = [{"id": system, "label": text(f"lessons.units.{system}")} for system in SYSTEMS]
        label = text("lessons.units.label")
        return {
            "id": "units",
            "kind": "choices",
            "label": label,
            "action": "units",
            "options": options,
            "value": self.units,
        }

    def notices(self) -> list[Block]:
        """What has to be said before anything else."""
        out: list[Block] = []
        if self.session.trouble:
            out.append(
                {"id": "trouble", "kind": "notice", "tone": "wait", "paragraphs": [self.session.trouble]}
            )
        out += self.class_line()
        wrong = trainer.trouble()
        if wrong is not None:
            said = [text("lessons.words.trainer_file", what=str(wrong).rstrip("."))]
            out.append({"id": "trainer_file", "kind": "notice", "tone": "wait", "paragraphs": said})
        out += self.own_figures()
        if self.number != "00":
            out += self.forgets()
        if not self.session.name and self.number != "00":
            link = {"file": LESSONS["00"].notebook, "label": text("lessons.words.nameless_link")}
            said = [text("lessons.words.nameless")]
            out.append(
                {"id": "nameless", "kind": "notice", "tone": "quiet", "paragraphs": said, "link": link}
            )
        return out

    def own_figures(self) -> list[Block]:
        """Whether a trainer's own figures are in use, and of what kind they are."""
        kinds = [
            text(f"figures.use.{group}") for group in trainer.GROUPS if getattr(trainer.overrides(), group)
        ]
        said = text("figures.use.said", what=", ".join(kinds))
        return [notice("own_figures", "quiet", said)] if kinds else []

    def class_line(self) -> list[Block]:
        """In a class: whether all work is handed over to it, or kept here for now."""
        said = self.session.handing.sentence() if self.session.handing is not None else ""
        if not said:
            return []
        line: Block = {"id": "class_line", "kind": "notice", "tone": "quiet", "paragraphs": [said]}
        if self.session.given:  # the next one at this machine is somebody else
            line["link"] = {"address": page_of_class("logout"), "label": text("classroom.records.log_out")}
        return [line]

    def forgets(self) -> list[Block]:
        """On a machine that forgets, before anything is done: where work from before is loaded."""
        if not is_ephemeral() or self.session.in_file() or self.transfer.unsaved():
            return []
        link = {"file": LESSONS["00"].notebook, "label": text("lessons.carry.link")}
        said = list(entry("lessons.carry.passing"))
        return [{"id": "passing", "kind": "notice", "tone": "quiet", "paragraphs": said, "link": link}]

    def caution(self) -> Block:
        """The line that every lesson carries."""
        return {
            "id": "caution",
            "kind": "notice",
            "tone": "wait",
            "paragraphs": [text("common.training_aid")],
        }

    def links(self, block_id: str, *numbers: str) -> Block:
        """Links to other lessons, the first one the plain next step.

        Parameters
        ----------
        block_id : by which the page knows it.
        """
        links = []
        for number in numbers:
            title = LESSONS[number].title
            label = (
                text("lessons.home_link")
                if number == "00"
                else text("lessons.open_link", number=number, title=title)
            )
            links.append({"file": LESSONS[number].notebook, "label": label})
        return {"id": block_id, "kind": "go", "links": links}

    def figure(self, quantity: str, value: float) -> str:
        """An SI value in the learner's units.

        Parameters
        ----------
        quantity : such as "vacuum" or "length".
        """
        return format_quantity(quantity, value, self.units)
