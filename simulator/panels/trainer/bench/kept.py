"""Demonstrations kept as readable files in the trainer's own folder, and taken up again.

Arguments, the same throughout: ``name`` of a demonstration, its file's name without the ending.
"""

from __future__ import annotations

import os
from typing import Annotated, Any, Literal

import yaml
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from simulator.attempt.timeline import TICK, tick_of
from simulator.errors import InputError, RefusedAct
from simulator.panels.lessons.practice_yard.call_book import own_folder
from simulator.panels.trainer.bench.run import KINDS, LONGEST, MOST_ACTS, Act, BenchRun, Setting
from simulator.panels.trainer.call_builder.own_calls import MOST, legal_name
from simulator.rig.plain_yaml import LARGEST_FILE, read_bytes, read_whole
from simulator.scenario.files import write_whole
from simulator.scenario.sentences import sentence

ENDING = ".demonstration.yaml"
FORMAT, VERSION = "callout-demonstration", 1
_STRICT = ConfigDict(extra="forbid", strict=False)


class _KeptAct(BaseModel):
    model_config = _STRICT
    at_s: Annotated[float, Field(ge=0.0, le=LONGEST * TICK)]
    act: Literal[KINDS]  # type: ignore[valid-type]
    args: dict[str, Any] = {}


class _Kept(BaseModel):
    model_config = _STRICT
    format: Literal["callout-demonstration"]
    version: Literal[1]
    rig: Annotated[str, Field(max_length=60)]
    lift_m: float
    hose_length_m: float | None = None
    seed: int = 1
    shown_s: Annotated[float, Field(ge=0.0, le=LONGEST * TICK)] = 0.0
    acts: Annotated[list[_KeptAct], Field(max_length=MOST_ACTS)] = []


def kept_names() -> list[str]:
    """What was kept, in order; nothing while the folder is not there."""
    try:
        found = sorted(item.name for item in os.scandir(own_folder()) if item.name.endswith(ENDING))
    except OSError:
        return []
    return [each.removesuffix(ENDING) for each in found if not each.startswith(".")][:MOST]


def kept_text(run: BenchRun, shown: int) -> str:
    """A demonstration as the text of a file.

    Parameters
    ----------
    run : the demonstration.
    shown : tick up to which it was seen.

    Examples
    --------
    >>> read_kept(kept_text(BenchRun(Setting(lift_m=4.0)), 0).encode())[0].setting.lift_m
    4.0
    """
    setting = run.setting
    plain: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "rig": setting.rig,
        "lift_m": setting.lift_m,
    }
    if setting.hose_length_m is not None:
        plain["hose_length_m"] = setting.hose_length_m
    acts = [
        {"at_s": round(a.tick * TICK, 1), "act": a.kind} | ({"args": a.args} if a.args else {})
        for a in run.acts
    ]
    plain |= {"seed": setting.seed, "shown_s": round(shown * TICK, 1), "acts": acts}
    return yaml.safe_dump(plain, sort_keys=False, allow_unicode=True, width=100)


def read_kept(written: bytes, source: str = "demonstration") -> tuple[BenchRun, int]:
    """A demonstration from the text of a file, and the tick up to which it was seen.

    Parameters
    ----------
    written : the file's bytes.
    source : what errors call it.

    Raises
    ------
    InputError : the file cannot be used, with what is wrong and where.
    """
    document = read_bytes(written, source)
    try:
        kept = _Kept.model_validate(document.data)
    except ValidationError as error:
        raise sentence(error, document) from error
    setting = Setting(kept.rig, kept.lift_m, kept.hose_length_m, kept.seed)
    acts = [Act(tick_of(each.at_s), each.act, each.args) for each in kept.acts]
    try:
        return BenchRun(setting, acts), tick_of(kept.shown_s)
    except RefusedAct as error:
        raise InputError(error.sentence.rstrip("."), source) from error


def keep(name: str, run: BenchRun, shown: int, *, over: bool = False) -> str:
    """Write a demonstration into the trainer's folder; the name that it then has.

    Parameters
    ----------
    run : the demonstration.
    shown : tick up to which it was seen.
    over : whether one of that name may be written over.

    Raises
    ------
    InputError : the name cannot be one, there is one already, or the folder cannot be written to.
    """
    made = legal_name(name.removesuffix(ENDING))
    path = own_folder() / f"{made}{ENDING}"
    if path.exists() and not over:
        raise InputError(f"there is a demonstration {made!r} already", "name", "another name")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        said = f"the folder cannot be made ({error.strerror or error})"
        raise InputError(said, str(path.parent), "a folder that can be written to") from error
    write_whole(path, kept_text(run, shown).encode())
    return made


def take_up(name: str) -> tuple[BenchRun, int]:
    """A demonstration that was kept, and the tick up to which it was seen.

    Raises
    ------
    InputError : there is none of that name, or it cannot be used.
    """
    if name not in kept_names():
        raise InputError(f"there is no demonstration {name!r}", "the list", "one that stands in the list")
    return read_kept(read_whole(own_folder() / f"{name}{ENDING}", LARGEST_FILE + 1), f"{name}{ENDING}")
