"""The message catalogue: every sentence a learner reads, one folder a language, one file an area; a lesson's own words
stand in its folder.

Arguments, the same throughout: ``key`` area and names that lead to a message, joined by dots; ``InputError``
is raised where there is none.
"""

from __future__ import annotations

import os
import re
import string
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from simulator.errors import BrokenFile, InputError, MissingMessage, shown_path

_HERE = Path(__file__).parent
#: Where lessons keep their words, each in its own folder.
_LESSONS = _HERE.parent / "panels" / "lessons"
#: What a lesson's file says beside its words: key there, area and group here, by the lesson's number.
_PLACES = (("title", "lessons", "titles"), ("minutes", "lessons", "minutes"), ("plan", "plans", "lessons"))
#: A field that is counted, with its word for one and for more.
_COUNTED = re.compile(r"\{\w+:[^{}|]+\|[^{}|]+\}")
#: A full stop after another mark that ends a sentence; three of them are meant.
_TWICE = re.compile(r"([?!…]|(?<!\.)\.)\.(?!\.)")
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Catalogue(dict[str, Any]):
    """Messages by area; asked for an area whose file is ``broken``, it says so.

    Examples
    --------
    >>> Catalogue(broken={"bench": BrokenFile("these texts cannot be read", "bench.yaml")})["bench"]
    Traceback (most recent call last):
    simulator.errors.BrokenFile: bench.yaml: these texts cannot be read.
    """

    def __init__(self, areas: Iterable[tuple[str, Any]] = (), *, broken: dict[str, BrokenFile]) -> None:
        super().__init__(areas)
        self.broken = broken

    def __missing__(self, area: str) -> Any:
        if area in self.broken:
            error = self.broken[area]
            raise BrokenFile(error.what, error.where, error.legal) from error
        raise KeyError(area)


@lru_cache(maxsize=8)
def catalogue(language: str = "en") -> Catalogue:
    """All messages of a language, nested by area, those of the lessons among them; a file that cannot be read takes its
    own area alone.

    Raises
    ------
    BrokenFile : there is no such language.

    Examples
    --------
    >>> "common" in catalogue()
    True
    """
    folder = _HERE / language
    if not folder.is_dir():
        known = ", ".join(
            sorted(p.name for p in _HERE.iterdir() if p.is_dir() and not p.name.startswith("_"))
        )
        raise BrokenFile(f"there are no texts in the language {language!r}", "language", known)
    out = Catalogue(broken={})
    for path in sorted(folder.glob("*.yaml")):
        try:
            out.update(_read(path))
        except BrokenFile as error:
            out.broken[path.stem] = error
    for number, said in _of_lessons(language)[0].items():
        for key, area, kind in _PLACES:
            if key in said:
                out.setdefault(area, {}).setdefault(kind, {})[number] = said[key]
        if said.get("words"):
            out[f"lesson_{number}"] = said["words"]
    return out


def _read(path: Path) -> Any:
    try:
        return yaml.load(path.read_text(encoding="utf-8"), Loader=_LOADER) or {}
    except (OSError, ValueError, TypeError, yaml.YAMLError) as error:
        mark, shown = getattr(error, "problem_mark", None), shown_path(path)
        line = f", line {mark.line + 1}" if mark else ""
        problem = " ".join(str(getattr(error, "problem", None) or error).split())[:200]
        raise BrokenFile(
            f"these texts cannot be read ({problem})",
            f"{shown if '/' in shown else f'{path.parent.name}/{shown}'}{line}",
            "keys and sentences, as in the files of texts/en",
        ) from error


def lesson_files(language: str = "en") -> dict[str, Path]:
    """The files in which each lesson says its title, minutes, plan and words, by the lesson's folder.

    English stands in the lesson's own folder, another language below its own: ``lessons/FOLDER.yaml``.

    Parameters
    ----------
    language : as in ``SIMULATOR_LANGUAGE``.

    Examples
    --------
    >>> lesson_files()["air_gets_in"].name
    'words.yaml'
    """
    if language == "en":
        return {path.parent.name: path for path in sorted(_LESSONS.glob("*/words.yaml"))}
    return {path.stem: path for path in sorted((_HERE / language / "lessons").glob("*.yaml"))}


@lru_cache(maxsize=8)
def _of_lessons(language: str) -> tuple[dict[str, dict[str, Any]], list[str]]:
    """What the lessons say, by number; and what is wrong with those that say nothing: a broken one breaks no other."""
    found, wrong = {}, []
    for folder, path in lesson_files(language).items():
        try:
            said = _read(path)
        except InputError as error:
            wrong.append(f"{error.where}: {error.what}")
            continue
        if not isinstance(said, dict) or not isinstance(said.get("number"), str):
            wrong.append(
                f'the words of {folder} name no lesson: begin with its number in quotes, such as number: "12"'
            )
        else:
            found[said["number"]] = said
    return dict(sorted(found.items())), wrong


def language() -> str:
    """The language in use: the environment variable ``SIMULATOR_LANGUAGE``, else English."""
    return os.environ.get("SIMULATOR_LANGUAGE", "en")


def file_of(key: str, language: str = "en") -> str:
    """The file of a ``language`` that holds the messages of a dotted key's area, with its way from the project's folder.

    Examples
    --------
    >>> file_of("desks.sizes.gap_mm2"), file_of("lesson_03.aim")
    ('simulator/texts/en/desks.yaml', 'simulator/panels/lessons/reading_the_gauge/words.yaml')
    """
    return _file_of(key.partition(".")[0], language)


@lru_cache(maxsize=256)
def _file_of(area: str, language: str) -> str:
    if area.startswith("lesson_"):
        wanted = re.compile(rf"^number: *[\"']{re.escape(area.removeprefix('lesson_'))}[\"']", re.MULTILINE)
        files = list(lesson_files(language).values())
    else:
        wanted = re.compile(rf"^{re.escape(area)} *:", re.MULTILINE)
        files = sorted((_HERE / language).glob("*.yaml"))
    for path in files:
        if wanted.search(path.read_text(encoding="utf-8", errors="replace")):
            return shown_path(path)
    return f"simulator/texts/{language}"


def entry(key: str) -> Any:
    """The node of the catalogue at a dotted key: a sentence, a list or a group.

    Examples
    --------
    >>> entry("common.training_aid").startswith("Training aid only")
    True
    """
    return _entry(key, language())


@lru_cache(maxsize=8192)  # a page asks for the same few hundred sentences after every press
def _entry(key: str, language: str) -> Any:
    node: Any = catalogue(language)
    if (area := key.partition(".")[0]) in node.broken:
        return node[area]  # says what is wrong with its file
    for part in key.split("."):
        if not isinstance(node, dict) or part not in node:
            why = "".join(f"; {each}" for each in _of_lessons(language)[1])
            raise MissingMessage(f"the message {key!r} is not in the catalogue{why}", file_of(key, language))
        node = node[part]
    return node


def knows(key: str) -> bool:
    """Whether the catalogue of the language in use has a message at a dotted key.

    Raises
    ------
    BrokenFile : the file that would hold it cannot be read, so that nobody knows.

    Examples
    --------
    >>> knows("common.minutes"), knows("common.hours")
    (True, False)
    """
    try:
        entry(key)
    except MissingMessage:
        return False
    return True


class _Counted(string.Formatter):
    """Fills in as str.format does, and ``{n:step|steps}`` as a number with the word that fits it."""

    def format_field(self, value: Any, format_spec: str) -> str:
        one, many, words = format_spec.partition("|")
        if not many:
            return str(super().format_field(value, format_spec))
        return f"{value} {one if str(value) == '1' else words}"


def text(key: str, **fields: Any) -> str:
    """One sentence, with its fields filled in. What is counted is written ``{n:step|steps}``: "1 step", "2 steps".

    Raises
    ------
    BrokenFile : the message takes other fields.

    Examples
    --------
    >>> text("common.minutes", n=4)
    '4 min'
    >>> [text("attempt.refused.marker_count", n=n).partition(". ")[0] for n in (1, 2)]
    ['You have placed 1 marker', 'You have placed 2 markers']
    """
    said = str(entry(key))
    if not fields:
        return said
    try:
        filled = (
            _Counted().vformat(said, (), fields) if _COUNTED.search(said) else said.format(**fields)
        )  # the plain way is the quick one
        return tidy(filled)
    except (KeyError, IndexError, ValueError, AttributeError) as error:
        raise BrokenFile(
            f"the message {key!r} cannot be filled in ({type(error).__name__}: {error})",
            file_of(key, language()),
            f"the fields {', '.join(f'{{{name}}}' for name in fields)}",
        ) from error


def tidy(sentence: str) -> str:
    """A sentence whose fields ended in a mark of their own, without the mark that came after it.

    Examples
    --------
    >>> tidy("Still to do: Do you have it?."), tidy("Wait ..."), tidy("It stands at 3 kPa..")
    ('Still to do: Do you have it?', 'Wait ...', 'It stands at 3 kPa.')
    """
    return _TWICE.sub(r"\1", sentence)
