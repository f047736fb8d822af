"""The trainer's saved sheets: one signed file each, in a folder beside the trainer's own call-outs."""

from __future__ import annotations

from pathlib import Path

from simulator.classroom.call_sheet import MAX_BYTES, CallSheet, file_text, opened, read_file_text
from simulator.errors import InputError
from simulator.panels.lessons.practice_yard.call_book import own_folder
from simulator.panels.trainer.call_builder.own_calls import legal_name
from simulator.records.private import private_folder, write_private
from simulator.rig.plain_yaml import read_whole
from simulator.signing.envelope import Envelope
from simulator.signing.ring import Ring
from simulator.texts import text

ENDING = ".sheet.json"
MOST = 200


def sheets_folder() -> Path:
    """Where they lie."""
    return own_folder().absolute().parent / "call_sheets"


def saved_names() -> list[str]:
    """Their names without the ending, in order; none while the folder is not there."""
    try:
        found = sorted(path.name for path in sheets_folder().iterdir())
    except OSError:
        return []
    return [name.removesuffix(ENDING) for name in found if name.endswith(ENDING)][:MOST]


def save_sheet(title: str, envelope: Envelope) -> str:
    """Write a sheet into its file, over what was kept of the same sheet; the name it has.

    Another sheet of the same title stays where it is: this one gets the next number behind its name.

    Parameters
    ----------
    title : of the sheet.
    envelope : signed.

    Raises
    ------
    InputError : the title gives no name, there are too many sheets of it, or the folder cannot be written to.
    """
    plain, folder = legal_name(title), sheets_folder()
    names = (plain, *(f"{plain}_{n}" for n in range(2, MOST + 1)))
    name = next((each for each in names if _id_in(folder / f"{each}{ENDING}") in ("", _id_of(envelope))), "")
    if not name:
        raise InputError(text("sheets.too_many_files", most=MOST).rstrip("."), "title")
    try:
        private_folder(folder, tighten=False)
        write_private(folder / f"{name}{ENDING}", file_text(envelope))
    except OSError as error:
        raise InputError(error.strerror or str(error), str(folder)) from error
    return name


def _id_of(envelope: Envelope) -> str:
    return str(envelope.content.get("id", "")) if isinstance(envelope.content, dict) else ""


def _id_in(file: Path) -> str:
    """By which the sheet in a file is known; empty where there is no file, odd where it cannot be read."""
    if not file.exists():
        return ""
    try:
        return _id_of(read_file_text(read_whole(file, MAX_BYTES), file.name)) or file.name
    except InputError:
        return file.name


def load_sheet(name: str) -> CallSheet:
    """A saved sheet, whole and signed by a key that is trusted here.

    Parameters
    ----------
    name : as it stands in the list.

    Raises
    ------
    InputError : there is none, it was altered, or it is signed by a key that is not trusted.
    """
    if name not in saved_names():
        raise InputError(text("sheets.no_sheet").rstrip("."), name)
    raw = read_whole(sheets_folder() / f"{name}{ENDING}", MAX_BYTES)
    return opened(read_file_text(raw, name), Ring.load())
