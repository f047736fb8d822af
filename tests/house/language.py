"""The message catalogue judged as a whole: how hard its running text is, and a made-up language to try layouts with.

How reading grade is counted: Flesch-Kincaid over running text, that is every string of a file that ends like a
sentence or has eight words or more. Labels are left out: counted as sentences they would make any file look easy.
Trade words, which nobody can avoid and which the glossary explains, count two syllables at the most; a field counts
as one word of one syllable ("ten").
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from simulator.texts import catalogue, lesson_files
from tests.house.reading import FIELD, WORD, sentences_of, syllables

LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
DUMPER = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
TEXTS = Path(__file__).parents[2] / "simulator" / "texts"
#: Trade words of three syllables and more.
TRADE = {
    "compressor", "ejector", "impeller", "atmosphere", "separator", "receiver", "non-return", "submergence",
    "isolating", "altitude", "diameter", "assessment", "instrument", "manometer", "tachometer", "certificate",
}  # fmt: skip
ENDS = re.compile(r"[.!?:](?=\s|$|[”\"])")
LABEL = 8  # words from which a string without a full stop is running text too


def running_text(node: Any) -> Iterator[str]:
    """The strings of a part of the catalogue that are sentences."""
    for text in sentences_of(node):
        plain = text.replace("**", "").strip()
        if plain.endswith((".", "!", "?", ":", ".”")) or len(plain.split()) >= LABEL:
            yield plain


def spoken(word: str) -> int:
    """Syllables of a word as they are counted here."""
    low = word.lower()
    trade = low in TRADE or low.removesuffix("s") in TRADE
    return min(syllables(word), 2) if trade else syllables(word)


def fair_grade(texts: Iterator[str] | list[str]) -> float:
    """Flesch-Kincaid grade: 0.39 words a sentence + 11.8 syllables a word - 15.59.

    Kincaid and others 1975; from memory.
    """
    words = counted = ends = 0
    for text in texts:
        found = WORD.findall(FIELD.sub("ten", text))
        words += len(found)
        counted += sum(spoken(word) for word in found)
        ends += max(1, len(ENDS.findall(text))) if found else 0
    return 0.39 * words / ends + 11.8 * counted / words - 15.59


def read(path: Path) -> Any:
    """One file of the catalogue."""
    return yaml.load(path.read_text(encoding="utf-8"), Loader=LOADER)


@lru_cache(maxsize=1)
def areas() -> dict[str, Any]:
    """Every area of the catalogue, and under it each group that has sentences of its own."""
    out = {}
    for area, node in catalogue("en").items():
        out[area] = node
        if isinstance(node, dict):
            out |= {f"{area}.{name}": part for name, part in node.items()}
    return {name: node for name, node in out.items() if len(list(running_text(node))) >= 3}


# a made-up language

ACCENTS = str.maketrans("aeioucnyAEIOUCN", "áéîöúçñýÁÉÎÖÚÇÑ")
LONGER = 1.4
KEPT = re.compile(r"(\{[^{}]*\}|\*\*|<[^<>]*>|\\n)")
FILL = "lo mir tans "
#: Keys whose strings are no words for people: places in a page, names of pictures, forms searched for.
NOT_WORDS = {"where", "picture", "forms"}


def pseudo(text: str) -> str:
    """A text with accents and 40 % more length; fields and marks stay as they are.

    >>> pseudo("Shut the **drain** at {n} kPa.")
    'Shút thé **dráîñ** át {n} kPá lo mir t.'
    """
    accented = "".join(part if KEPT.fullmatch(part) else part.translate(ACCENTS) for part in KEPT.split(text))
    visible = len(KEPT.sub("", text))
    more = round((LONGER - 1.0) * visible)
    if more <= 0:
        return accented
    fill = " " + (FILL * (more // len(FILL) + 1))[: max(more - 1, 1)].strip()
    end = re.search(r"[.!?:”]*\s*$", accented)
    at = end.start() if end else len(accented)
    return accented[:at] + fill + accented[at:]


def pseudo_node(node: Any, key: str = "") -> Any:
    """A part of the catalogue in the made-up language."""
    if key in NOT_WORDS and not isinstance(node, dict):
        return node
    if isinstance(node, str):
        return pseudo(node)
    if isinstance(node, dict):
        return {name: pseudo_node(each, str(name)) for name, each in node.items()}
    if isinstance(node, list):
        return [pseudo_node(each) for each in node]
    return node


def write_pseudo_language(folder: Path) -> Path:
    """Write the whole catalogue in the made-up language into a folder; name it by ``SIMULATOR_LANGUAGE``."""
    folder.mkdir(parents=True, exist_ok=True)
    files = {path.name: path for path in (TEXTS / "en").glob("*.yaml")}
    files |= {f"lessons/{name}.yaml": path for name, path in lesson_files().items()}
    (folder / "lessons").mkdir(exist_ok=True)
    for name, path in files.items():
        english = read(path)
        made = pseudo_node(english)
        if name.startswith("lessons/"):
            made["number"] = english["number"]
        (folder / name).write_text(
            yaml.dump(made, Dumper=DUMPER, allow_unicode=True, sort_keys=False), encoding="utf-8"
        )
    return folder
