"""How hard a text is to read: the Flesch-Kincaid grade."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

FIELD = re.compile(r"\{\w+\}")
WORD = re.compile(r"[A-Za-z][A-Za-z'’]*|\d+(?:\.\d+)?")


def sentences_of(node: Any) -> Iterator[str]:
    """Every string of a part of the catalogue."""
    if isinstance(node, str):
        yield node
    elif isinstance(node, dict):
        for each in node.values():
            yield from sentences_of(each)
    elif isinstance(node, (list, tuple)):
        for each in node:
            yield from sentences_of(each)


def syllables(word: str) -> int:
    """Syllables of an English word, by its vowels; a figure counts as it is mostly said, two."""
    if word[0].isdigit():
        return 2
    low = re.sub(r"[^a-z]", "", word.lower())
    groups = len(re.findall(r"[aeiouy]+", low))
    spoken = re.search(r"(?:[td]ed|(?:[sxzcg]|ch|sh)es|[^aeiouy]les?|[eyo]e)$", low)
    silent = groups > 1 and re.search(r"(?:e|ed|es)$", low) is not None and spoken is None
    apart = len(re.findall(r"i[ao](?!n)|eo|ua(?!ge)", low))
    return max(1, groups - int(silent) + apart)


def grade(texts: Iterable[str]) -> float:
    """0.39 words a sentence + 11.8 syllables a word - 15.59 (Kincaid and others 1975; from memory)."""
    words = counted = ends = 0
    for text in texts:
        plain = FIELD.sub("ten", text.replace("**", ""))
        found = WORD.findall(plain)
        if not found:
            continue
        words += len(found)
        counted += sum(syllables(word) for word in found)
        ends += max(1, len(re.findall(r"[.!?:](?=\s|$|[”\"])", plain)))
    return 0.39 * words / ends + 11.8 * counted / words - 15.59
