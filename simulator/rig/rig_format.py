"""What a file must say to be a rig or a site, before its keys are read.

Arguments, the same throughout: ``document`` plain data of a file.
"""

from __future__ import annotations

from typing import TypeVar

from simulator.errors import InputError
from simulator.rig.files import read_part
from simulator.rig.plain_yaml import Document
from simulator.rig.rig import Rig, Site

VERSION = 1
T = TypeVar("T", Rig, Site)


def read_rig(document: Document) -> Rig:
    """The rig of a file, in SI units.

    Raises
    ------
    InputError : names file, line, key and legal range.
    """
    return _read(document, Rig, "pump-rig")


def read_site(document: Document) -> Site:
    """The site of a file, in SI units.

    Raises
    ------
    InputError : names file, line, key and legal range.
    """
    return _read(document, Site, "pump-site")


def _read(document: Document, kind: type[T], wanted: str) -> T:
    data = dict(document.data) if isinstance(document.data, dict) else {}
    if data.pop("format", None) != wanted:
        raise InputError("this is another kind of file", document.where(("format",)), f"format: {wanted}")
    version = data.pop("version", None)
    if version != VERSION or isinstance(version, bool):
        raise InputError(
            f"version {version!r} cannot be read", document.where(("version",)), f"version: {VERSION}"
        )
    data.pop("note", None)
    return read_part(kind, data, document)
