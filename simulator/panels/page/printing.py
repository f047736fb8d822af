"""Pages to print: one file that needs nothing else, with every word of a learner or a rig escaped."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

_STYLE = """
@page { margin: 15mm }
body { font: 11pt/1.45 "Liberation Sans", Arial, sans-serif; color: #1a1a1a; background: #fff }
body { max-width: 190mm; margin: 1.5rem auto; padding: 0 1rem }
h1 { font-size: 17pt; margin: 0 0 0.3rem } p { margin: 0.3rem 0 }
table { border-collapse: collapse; margin: 1rem 0; width: 100% }
th, td { border: 1px solid #555; padding: 0.4rem 0.6rem; text-align: left; vertical-align: top }
thead th { background: #eee } .caution { border: 2px solid #1a1a1a; padding: 0.5rem 0.8rem; margin-top: 1rem }
"""


def _whole(words: str) -> str:
    """What stands in brackets is kept on one line."""
    return re.sub(r"\([^()]{1,20}\)", lambda found: found.group().replace(" ", "\u00a0"), words)


def printable(
    title: str,
    lines: Sequence[str],
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    foot: Sequence[str],
    language: str = "en",
) -> str:
    """A page with a table, as one HTML file; the first cell of a row is its name, ``foot`` stands in a frame.

    Parameters
    ----------
    title : of the page and its heading.
    lines : paragraphs above the table.
    columns, rows : of the table, as words.
    language : of the words, as HTML names it.

    Examples
    --------
    >>> "&lt;b&gt;" in printable("<b>", [], ["a"], [["1"]], [])
    True
    """

    def cells(tag: str, texts: Sequence[str], scope: str = "") -> str:
        opening = f"{tag} scope={scope}" if scope else tag
        return "".join(f"<{opening}>{escape(_whole(each))}</{tag}>" for each in texts)

    head = cells("th", columns, "col")
    body = "".join(f"<tr>{cells('th', row[:1], 'row')}{cells('td', row[1:])}</tr>" for row in rows)
    return (
        f'<!doctype html><html lang="{escape(language)}"><head><meta charset="utf-8"><title>{escape(title)}</title>'
        f"<style>{_STYLE}</style></head><body><h1>{escape(title)}</h1>"
        f"{cells('p', lines)}<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
        f'<div class="caution">{cells("p", foot)}</div></body></html>'
    )
