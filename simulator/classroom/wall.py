"""The page for the wall: address, the square that a phone reads, and the class word, large."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import segno
from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup

from simulator.texts import entry, language, text

TEMPLATES = Path(__file__).parent / "templates"


def square(address: str) -> Markup:
    """The address as a QR code (ISO/IEC 18004), an SVG in the colours of the page; the class word is not in it.

    Parameters
    ----------
    address : at which the class is open.

    Examples
    --------
    >>> square("http://10.0.0.5:8000/").startswith("<svg")
    True
    """
    code = segno.make(address, error="m", micro=False)
    drawn = code.svg_inline(
        border=4, omitsize=True, dark="#000", light="#fff", svgclass="square", lineclass=None
    )
    return Markup(drawn)  # made of the address by us: modules, no text


def wall_fields(address: str, class_word: str, encrypted: bool) -> dict[str, Any]:
    """The fields of the page's template.

    Parameters
    ----------
    address : at which the class is open.
    class_word : for learners.
    encrypted : whether the pages go over the line encrypted.
    """
    return {
        "texts": entry("classroom.wall"),
        "address": address.rstrip("/"),
        "square": square(address),
        "class_word": class_word,
        "plain": not encrypted,
    }


def wall_page(address: str, class_word: str, encrypted: bool) -> str:
    """The page as a file of its own, for a machine that shows the wall without logging in.

    Parameters
    ----------
    address : at which the class is open.
    class_word : for learners.
    encrypted : whether the pages go over the line encrypted.

    Examples
    --------
    >>> "copper-willow" in wall_page("http://10.0.0.5:8000/", "copper-willow", False)
    True
    """
    pages = Environment(loader=FileSystemLoader(TEMPLATES), autoescape=True)
    return pages.get_template("class_wall.html").render(
        **wall_fields(address, class_word, encrypted), **page_words()
    )


def page_words() -> dict[str, str]:
    """What every page of the class needs: its language and title."""
    return {"language": language()[:2], "class_title": text("classroom.title")}
