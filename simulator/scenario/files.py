"""Scenario files: read with a sentence for what does not fit, written all or not at all.

Arguments, the same throughout: ``path`` the file; ``content`` its bytes; ``written`` its text.
"""

from __future__ import annotations

import json
import os
import re
import tempfile
from pathlib import Path
from typing import Any

import yaml
from pydantic import ValidationError

from simulator.errors import InputError
from simulator.rig.plain_yaml import Document, read_bytes, read_file
from simulator.scenario.choices import moved_place
from simulator.scenario.model import COUNTS_FROM_ONE, FORMAT, OLDEST, VERSION, Scenario, fits
from simulator.scenario.sentences import sentence

ENDING = ".scenario.yaml"
_PLACE = re.compile(r"\b[a-z]+:(?:0|[1-9]\d?)\b")


def load_scenario(path: Path | str) -> Scenario:
    """A scenario from a ``*.scenario.yaml`` file. Judges the form only, not whether it can be solved.

    Raises
    ------
    InputError : names file, line, key and what would be legal.
    """
    return _scenario(read_file(path))


def read_scenario(written: str | bytes, source: str = "scenario") -> Scenario:
    """A scenario from the text of a file.

    Raises
    ------
    InputError : names the source, line, key and what would be legal.

    Examples
    --------
    >>> lines = ["format: callout-scenario", "version: 1", "title: A call", "brief: It will not draw.",
    ...          "site:", "  lift_m: 30"]
    >>> read_scenario("\\n".join(lines))
    Traceback (most recent call last):
    simulator.errors.InputError: scenario, line 6, site.lift_m: 30 is out of range. Legal: -5 to 12 m.
    """
    raw = written if isinstance(written, bytes) else written.encode("utf-8", errors="surrogatepass")
    return _scenario(read_bytes(raw, source))


def scenario_from(data: dict[str, Any], source: str = "scenario") -> Scenario:
    """A scenario from plain data with the keys of the file, such as a form or a record holds.

    Raises
    ------
    InputError : names the source, key and what would be legal.

    Examples
    --------
    >>> call = scenario_from({"format": "callout-scenario", "version": 1, "title": "A call",
    ...                       "brief": "It will not draw.", "site": {"lift_m": 3}})
    >>> scenario_from(call.content()) == call
    True
    """
    try:
        plain = json.loads(json.dumps(data, allow_nan=False))
    except (TypeError, ValueError) as error:
        raise InputError(
            f"this is not plain data ({error})", source, "text, finite numbers, lists"
        ) from error
    return _scenario(Document(plain, {}, source))


def _scenario(document: Document) -> Scenario:
    data = document.data
    if not isinstance(data, dict):
        raise InputError("the file is no list of keys and values", document.where(()), f"format: {FORMAT}")
    if data.get("format") != FORMAT:
        shown = f"the format is {data['format']!r}" if "format" in data else "the key 'format' is missing"
        raise InputError(shown, document.where(("format",)), f"format: {FORMAT}")
    version = data.get("version")
    if version is None or isinstance(version, bool):
        shown = (
            f"{str(version).lower()} is no version" if "version" in data else "the key 'version' is missing"
        )
        raise InputError(shown, document.where(("version",)), f"version: {VERSION}")
    if isinstance(version, int) and version > VERSION:
        raise InputError(
            f"the file has version {version} and was made by a newer program",
            document.where(("version",)),
            f"version {VERSION}, or a newer release of this program",
        )
    try:
        scenario = Scenario.model_validate(_brought_up(data))
    except ValidationError as error:
        raise sentence(error, document) from error
    misfit = fits(scenario)
    if misfit:
        location, problem = misfit
        what, legal = problem.what, problem.legal
        if location[-1] == "place" and version < COUNTS_FROM_ONE:  # said in the numbers of the file
            what, legal = (
                _PLACE.sub(lambda found: moved_place(found[0], -1), words) for words in (what, legal)
            )
            legal += f"; version {version} of the format counts from 0"
        raise InputError(what, document.where(location), legal)
    return scenario


def _brought_up(data: dict[str, Any]) -> dict[str, Any]:
    """The data of an older version as this version has them.

    Version 2 only adds keys that may be left out; version 3 counts joints and lengths from 1.
    """
    version = data["version"]
    if not isinstance(version, int) or not OLDEST <= version < VERSION:
        return data
    new, faults = {**data, "version": VERSION}, data.get("faults")
    if version < COUNTS_FROM_ONE and isinstance(faults, list):
        new["faults"] = [_counted_from_one(item) for item in faults]
    return new


def _counted_from_one(item: Any) -> Any:
    place = item.get("place") if isinstance(item, dict) else None
    if not isinstance(place, str) or not _PLACE.fullmatch(place):
        return item
    return {**item, "place": moved_place(place, 1)}


def scenario_text(scenario: Scenario) -> str:
    """The text of a scenario file. Reading it gives the same scenario.

    Examples
    --------
    >>> from simulator.scenario.choices import SiteChoice
    >>> call = Scenario(title="A call", brief="It will not draw.", site=SiteChoice(lift_m=3.0))
    >>> read_scenario(scenario_text(call)) == call
    True
    """
    return yaml.dump(
        scenario.content(), Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100, indent=2
    )


def save_scenario(scenario: Scenario, path: Path | str) -> Path:
    """Write a scenario file: all of it, or the old file stays. Comments of an old file are lost.

    Raises
    ------
    InputError : the name does not end in ``.scenario.yaml``, or the file cannot be written.
    """
    path = Path(path)
    if not path.name.endswith(ENDING) or path.name == ENDING:
        raise InputError("the file has another ending", path.name, f"a name that ends in {ENDING}")
    misfit = fits(scenario)
    if misfit:
        raise InputError(misfit[1].what, path.name, misfit[1].legal)
    write_whole(path, scenario_text(scenario).encode("utf-8"))
    return path


def make_folder(folder: Path) -> None:
    """Make the folder of a trainer's own files where it is not there yet.

    Parameters
    ----------
    folder : with all above it.

    Raises
    ------
    InputError : it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"the folder cannot be made ({error.strerror or error})",
            str(folder),
            "a folder that can be written to",
        ) from error


def write_whole(path: Path, content: bytes) -> None:
    """Write a file beside its place and put it there in one step, so that a failure leaves the old one.

    Raises
    ------
    InputError : the folder is missing, not writable or full.
    """
    temporary = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=".", suffix=".part", dir=path.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        mode = path.stat().st_mode & 0o777 if path.exists() else 0o644
        Path(temporary).chmod(mode)
        Path(temporary).replace(path)
        temporary = None
    except OSError as error:
        raise InputError(
            f"the file could not be saved ({error.strerror or error}); what was there before is unchanged",
            path.name,
            "a folder that can be written to and has room",
        ) from error
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)


class _Dumper(yaml.SafeDumper):
    """Briefs as readable blocks, every other value as the library writes it."""


def _text(dumper: yaml.SafeDumper, value: str) -> yaml.ScalarNode:
    # YAML 1.2 readers would take some plain words for numbers; a block keeps what is written
    style = "|" if "\n" in value and not re.search(r"^\s|[ \t]$", value, re.MULTILINE) else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style=style)


_Dumper.add_representer(str, _text)
