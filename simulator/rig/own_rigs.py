"""A trainer's own rigs: a folder of readable rig files beside the lessons, and a rig as the text of such a file.

Arguments, the same throughout: ``name`` of a rig, its file's name without the ending; ``folder`` the trainer's own.
"""

from __future__ import annotations

import dataclasses
import math
import os
import re
import stat
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from simulator.errors import InputError
from simulator.rig.files import FILE_UNITS, keys_of
from simulator.rig.plain_yaml import LARGEST_FILE, read_bytes, read_whole
from simulator.rig.quantity import unit_of
from simulator.rig.rig import Rig
from simulator.rig.rig_format import read_rig

OWN_RIGS = "SIMULATOR_RIGS_DIR"  # where a trainer's own rigs lie
ENDING = ".rig.yaml"
MOST = 60  # rigs that are read of a folder
FORMAT, VERSION = "pump-rig", 1
_NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
#: The unit in which a file says a quantity, where its SI unit has several: by the end of the field's name.
_SAID_IN = {
    "m": (("bore", "mm"), ("diameter", "mm"), ("hole", "mm"), ("roughness", "mm"), ("", "m")),
    "Pa": (("set_pressure", "bar"), ("", "kpa")),
}


def own_rigs_folder() -> Path:
    """Where a trainer's own rigs lie: ``SIMULATOR_RIGS_DIR``, else ``own_rigs`` beside the lessons."""
    named = os.environ.get(OWN_RIGS)
    if named:
        return Path(named)
    for lessons in (Path.cwd(), Path(__file__).parents[2] / "lessons"):
        if (lessons / "scenarios").is_dir():
            return lessons / "own_rigs"
    return Path("own_rigs")


def own_rigs() -> dict[str, Rig]:
    """The own rigs that can be used, by name.

    Examples
    --------
    >>> isinstance(own_rigs(), dict)
    True
    """
    return {name: found for name, found in _looked_over().items() if isinstance(found, Rig)}


def rigs_left_out() -> tuple[str, ...]:
    """A sentence for each file of the own folder that cannot be used.

    Examples
    --------
    >>> isinstance(rigs_left_out(), tuple)
    True
    """
    return tuple(found for found in _looked_over().values() if isinstance(found, str))


def _looked_over() -> dict[str, Rig | str]:
    folder = own_rigs_folder()
    try:
        with os.scandir(folder) as found:
            names = sorted(item.name for item in found if item.name.endswith(ENDING) and item.name[:1] != ".")
    except OSError:
        return {}
    out: dict[str, Rig | str] = {}
    for name in names[:MOST]:
        try:
            state = (folder / name).stat()
        except OSError:  # a link to nowhere
            continue
        size = state.st_size if stat.S_ISREG(state.st_mode) else -1
        out[name.removesuffix(ENDING)] = _kept(str(folder / name), state.st_mtime_ns, size, state.st_ino)
    return out


@lru_cache(maxsize=2 * MOST)
def _kept(path: str, changed: int, size: int, number: int) -> Rig | str:
    """The rig of a file as it stood then, or what is wrong with it."""
    file = Path(path)
    try:
        return read_own_rig(read_whole(file, LARGEST_FILE + 1), file.name.removesuffix(ENDING), file.name)
    except InputError as error:
        return str(error)


def read_own_rig(written: bytes, name: str, source: str = "") -> Rig:
    """The rig of a file's bytes, whose name must be that of the file.

    Parameters
    ----------
    written : the file's bytes.
    source : what to call it in an error; ``name`` by default.

    Raises
    ------
    InputError : it is no rig, or goes by another name; says the line.
    """
    document = read_bytes(written, source or name)
    rig = read_rig(document)
    if rig.name != name or not _NAME.fullmatch(name):
        legal = f"name: {name}" if _NAME.fullmatch(name) else "small letters, figures and _, at most 40"
        raise InputError(
            f"the rig is called {rig.name!r} and its file {name!r}", document.where(("name",)), legal
        )
    return rig


def rig_text(rig: Rig, note: str = "") -> str:
    """A rig as the text of its file; read and written again it is the same to the byte.

    What stands as every new part has it is left out. Figures are said in the units of the package's own files.

    Parameters
    ----------
    rig : in good order.
    note : one line about it.

    Raises
    ------
    InputError : the rig changes while it runs, which no file of a rig can say.

    Examples
    --------
    >>> from simulator.rig.presets import load_rig
    >>> written = rig_text(load_rig("osier"))
    >>> read_own_rig(written.encode(), "osier") == load_rig("osier")
    True
    """
    if rig.ramps or rig.late:
        raise InputError("a rig that changes while it runs has no file", "rig", "a rig in good order")
    head: dict[str, Any] = {"format": FORMAT, "version": VERSION, **({"note": note} if note else {})}
    written: str = yaml.safe_dump(head | _said(rig), sort_keys=False, allow_unicode=True, width=110)
    return written


def _said(part: Any) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for item in dataclasses.fields(part):
        value = getattr(part, item.name)
        if _as_new(item, value):
            continue
        if dataclasses.is_dataclass(value):
            out[item.name] = _said(value)
        elif isinstance(value, tuple):
            out[item.name] = [_said(each) for each in value]
        elif isinstance(value, (str, bool)):
            out[item.name] = value
        else:
            key, figure = said_in_file(type(part), item.name, float(value))
            out[key] = figure
    return out


def _as_new(item: dataclasses.Field[Any], value: Any) -> bool:
    if item.default is not dataclasses.MISSING:
        return bool(value == item.default) and item.default is not None
    return item.default_factory is not dataclasses.MISSING and bool(value == item.default_factory())


def said_in_file(kind: type, field: str, value: float) -> tuple[str, int | float]:
    """Key and figure of a quantity in a file.

    Parameters
    ----------
    kind : of the part.
    field : of the part.
    value : of the quantity [SI].

    Examples
    --------
    >>> from simulator.rig.parts import SuctionHose
    >>> said_in_file(SuctionHose, "bore", 0.15)
    ('bore_mm', 150)
    """
    item = next(each for each in dataclasses.fields(kind) if each.name == field)
    keys = {ending: key for key, (each, ending) in keys_of(kind).items() if each.name == field}
    wanted = next(
        (unit for end, unit in _SAID_IN.get(unit_of(item), ()) if field.endswith(end)), next(iter(keys))
    )
    figure = FILE_UNITS[wanted].from_si(value) if wanted else value
    whole = math.isfinite(figure) and figure == int(figure) and abs(figure) < 1e9
    return keys[wanted], int(figure) if whole else figure
