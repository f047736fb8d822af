"""Where the class lies on the disk, what is kept of it, and the folder and variables that a learner's server is given."""

from __future__ import annotations

import json
import os
import shutil
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.records import data_folder
from simulator.records.private import private_folder, write_private
from simulator.rig.plain_yaml import read_whole
from simulator.texts import text

CLASS_FOLDER_VARIABLE = "SIMULATOR_CLASS_DIR"
SETTINGS, OPENED = "class.json", "opened.json"
MAX_BYTES = 64 * 1024


def class_folder() -> Path:
    """The folder of the class: ``SIMULATOR_CLASS_DIR`` if set, else ``class`` in the user's own data folder.

    Examples
    --------
    >>> class_folder().is_absolute()
    True
    """
    named = os.environ.get(CLASS_FOLDER_VARIABLE, "")
    return (Path(named).expanduser() if named else data_folder() / "class").absolute()


@dataclass(frozen=True)
class Settings:
    """What is kept of a class from one day to the next: its word, and the hash of the trainer's password."""

    class_word: str
    trainer: str


@dataclass(frozen=True)
class Opened:
    """How the class is open now.

    The address of its front door as it listens, and as learners reach it; the four ports behind it on loopback, the
    files of certificate and key (empty: none), the folder of the project, how many learners are let in at once [-], and
    under which accounts their pages run (``kept_sealed.OWN`` or ``SHARED``).
    """

    address: str
    public: str
    hub_port: int
    proxy_port: int
    service_port: int
    sealed_port: int
    certificate: str
    key: str
    project: str
    most: int
    accounts: str


def read_settings(folder: Path) -> Settings | None:
    """What is kept of a class; None where none was opened yet.

    Parameters
    ----------
    folder : of the class.

    Raises
    ------
    InputError : the file is damaged; it is left as it is.
    """
    return _read(folder / SETTINGS, Settings)


def keep_settings(folder: Path, settings: Settings) -> None:
    """Keep them in a file for its owner alone.

    Parameters
    ----------
    folder : of the class; made where it is missing.
    settings : to be kept.

    Raises
    ------
    OSError : it cannot be written.
    """
    _write(folder / SETTINGS, settings)


def read_opened(folder: Path) -> Opened:
    """How the class is open now.

    Parameters
    ----------
    folder : of the class.

    Raises
    ------
    InputError : nobody opened it, or the file is damaged.
    """
    found = _read(folder / OPENED, Opened)
    if found is None:
        raise InputError(text("classroom.settings_damaged").rstrip("."), str(folder / OPENED))
    return found


def keep_opened(folder: Path, opened: Opened) -> None:
    """Keep for the hub how the class is to be opened.

    Parameters
    ----------
    folder : of the class.
    opened : to be kept.

    Raises
    ------
    OSError : it cannot be written.
    """
    _write(folder / OPENED, opened)


def _read(path: Path, kind: Any) -> Any:
    if not path.exists():
        return None
    try:
        found = json.loads(read_whole(path, MAX_BYTES).decode("utf-8"))
        types = {"str": str, "int": int}
        values = {name: found[name] for name in kind.__annotations__}
        if any(type(values[name]) is not types[of] for name, of in kind.__annotations__.items()):
            raise TypeError
        return kind(**values)
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise InputError(text("classroom.settings_damaged").rstrip("."), str(path)) from error


def _write(path: Path, what: Any) -> None:
    private_folder(path.parent, tighten=True)
    write_private(path, json.dumps(asdict(what), indent=1, ensure_ascii=False))


def lay_out(folder: Path, lessons: Path, names: list[str]) -> Path:
    """A learner's own folder with the lessons in it, as they come; nothing else in it is touched.

    A copy of a lesson is for reading: a learner who changes one keeps it under another name.

    Parameters
    ----------
    folder : of the learner; made where it is missing.
    lessons : the project's lessons.
    names : of the notebooks that are laid out.

    Returns
    -------
    The folder that a server may show: ``folder`` itself, with ``lessons`` in it.

    Raises
    ------
    OSError : it cannot be written.
    """
    there = folder / "lessons"
    private_folder(there, tighten=False)
    for name in names:
        copy, beside = there / name, there / f".{name}.new"
        shutil.copyfile(lessons / name, beside)
        beside.chmod(0o400)
        beside.replace(copy)
    for old in sorted(there.glob("*.ipynb")):
        gone = not (lessons / old.name).exists() or old.name not in names
        if gone and not old.stat().st_mode & 0o200:  # a copy of ours that is not laid out any more
            old.unlink()
    return folder


def variables_of(folder: Path, name: str) -> dict[str, str]:
    """What a learner's pages are told: where the records lie, and who this is.

    Parameters
    ----------
    folder : of the learner.
    name : of the learner, as it stands in the list of the class.
    """
    return {
        "SIMULATOR_DATA_DIR": str(folder / "records"),
        "SIMULATOR_CALLS_DIR": str(folder / "own_call_outs"),
        "SIMULATOR_LEARNER": name,
    }
