"""Reading a YAML file that came from anybody: plain data only, and the line of every key.

Tags, anchors and aliases are refused (they can run code or blow up), so are duplicate keys, numbers that are
not finite, and files that are too large or too deeply nested.

Arguments, the same throughout: ``location`` the keys that lead to a value; ``path`` the file; ``raw`` its
bytes; ``source`` what to call it in an error; ``written`` its text.
"""

from __future__ import annotations

import math
import os
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from simulator.errors import InputError, shown_path

LARGEST_FILE = 256 * 1024  # [byte]
DEEPEST_NESTING = 12
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_PREFIX = "tag:yaml.org,2002:"

Location = tuple[str | int, ...]


@dataclass(frozen=True)
class Document:
    """Plain data of a file, and where each piece of it stands.

    ``lines`` maps a path of keys and list indices to the line [-], counted from 1.
    """

    data: Any
    lines: dict[Location, int]
    source: str

    def line(self, location: Location) -> int:
        """Line of a location, or of the nearest thing around it [-].

        Examples
        --------
        >>> read_text("site:\\n  lift_m: 3\\n", "a file").line(("site", "lift_m", "missing"))
        2
        """
        while location and location not in self.lines:
            location = location[:-1]
        return self.lines.get(location, 1)

    def where(self, location: Location) -> str:
        """File, line and key of a location, as words for an error.

        Examples
        --------
        >>> read_text("site:\\n  lift_m: 3\\n", "a file").where(("site", "lift_m"))
        'a file, line 2, site.lift_m'
        """
        return f"{self.source}, line {self.line(location)}" + (f", {dotted(location)}" if location else "")


def dotted(location: Location) -> str:
    """A path of keys as people write it; list items are counted from 1.

    Examples
    --------
    >>> dotted(("faults", 0, "place"))
    'faults[1].place'
    """
    out = ""
    for part in location:
        out += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if out else part
    return out


def read_file(path: Path | str) -> Document:
    """Plain data of a YAML file.

    Raises
    ------
    InputError : the file cannot be opened, is too large, is no UTF-8 text, or is not plain YAML.
    """
    path = Path(path)
    return read_bytes(read_whole(path, LARGEST_FILE + 1), shown_path(path))


def read_whole(path: Path | str, most: int) -> bytes:
    """The first ``most`` bytes of a plain file; nothing else is waited for: no pipe, no device.

    Raises
    ------
    InputError : it cannot be opened, or it is a folder, a pipe or a device.

    Examples
    --------
    >>> read_whole(__file__, 3)
    b'\"\"\"'
    """
    path = Path(path)
    how = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)
    try:
        handle = os.open(path, how)
        try:
            kind = os.fstat(handle).st_mode
            if stat.S_ISREG(kind):
                with os.fdopen(handle, "rb", closefd=False) as stream:
                    return stream.read(most)
        finally:
            os.close(handle)
    except OSError as error:
        raise InputError(
            f"the file cannot be opened ({error.strerror or error})", path.name, "a file that can be read"
        ) from error
    except ValueError as error:  # a name that no file can have
        raise InputError("no file can have this name", repr(path.name), "the name of a file") from error
    what = "a folder" if stat.S_ISDIR(kind) else "no plain file"
    raise InputError(f"the file cannot be opened (it is {what})", path.name or str(path), "a text file")


def read_bytes(raw: bytes, source: str) -> Document:
    """Plain data of the bytes of a YAML file.

    Raises
    ------
    InputError : the bytes are too many, are no UTF-8 text, or are not plain YAML.
    """
    if len(raw) > LARGEST_FILE:
        raise InputError("the file is too large", source, f"at most {LARGEST_FILE // 1024} KiB")
    try:
        written = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise InputError(
            "this is not a text file in UTF-8", f"{source}, line {line}", "plain text saved as UTF-8"
        ) from error
    return read_text(written, source)


def read_text(written: str, source: str) -> Document:
    """Plain data of YAML text.

    Raises
    ------
    InputError : the text is empty, is no YAML, or uses what is not plain data; says the line.

    Examples
    --------
    >>> read_text("site:\\n  lift_m: 3.5\\n", "a file").data
    {'site': {'lift_m': 3.5}}
    >>> read_text("a: 1\\na: 2\\n", "a file")
    Traceback (most recent call last):
    simulator.errors.InputError: a file, line 2, a: the key stands twice (first in line 1). Legal: ...
    """
    try:
        _refuse_what_is_not_plain(written, source)
        root = yaml.compose(written, Loader=_LOADER)
    except yaml.YAMLError as error:
        raise _not_yaml(error, written, source) from error
    if root is None:
        raise InputError("the file is empty", f"{source}, line 1", "keys and values, one a line")
    lines: dict[Location, int] = {}
    return Document(_plain(root, (), lines, source), lines, source)


def _not_yaml(error: yaml.YAMLError, written: str, source: str) -> InputError:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    if mark is not None:
        line = mark.line + 1
    else:  # a character YAML does not allow
        line = written.count("\n", 0, max(getattr(error, "position", 0) or 0, 0)) + 1
    problem = getattr(error, "problem", None) or getattr(error, "reason", None) or "it cannot be read"
    return InputError(
        f"this is not YAML ({problem})", f"{source}, line {line}", "lines such as 'lift_m: 3.0'"
    )


def _refuse_what_is_not_plain(written: str, source: str) -> None:
    depth = documents = 0
    for event in yaml.parse(written, Loader=_LOADER):
        where = f"{source}, line {event.start_mark.line + 1 if event.start_mark else 1}"
        if isinstance(event, yaml.DocumentStartEvent):
            documents += 1
            if documents > 1:
                raise InputError(
                    "a second document begins here", where, "one document a file, no '---' inside"
                )
        elif isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise InputError("anchors and aliases (& and *) are not allowed", where, "write the values out")
        elif tag := getattr(event, "tag", None):
            raise InputError(f"the tag {tag!r} is not allowed", where, "plain values without '!'")
        if isinstance(event, (yaml.MappingStartEvent, yaml.SequenceStartEvent)):
            depth += 1
            if depth > DEEPEST_NESTING:
                raise InputError(
                    "the values are nested too deeply", where, f"at most {DEEPEST_NESTING} levels"
                )
        elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            depth -= 1


def _plain(node: yaml.Node, location: Location, lines: dict[Location, int], source: str) -> Any:
    lines.setdefault(location, node.start_mark.line + 1)
    if isinstance(node, yaml.MappingNode):
        out: dict[str, Any] = {}
        for key_node, value_node in node.value:
            line = key_node.start_mark.line + 1
            if not isinstance(key_node, yaml.ScalarNode):
                raise InputError(
                    "a list or group stands where a key should", f"{source}, line {line}", "a word"
                )
            key = str(key_node.value)
            here = (*location, key)
            if key in out:
                raise InputError(
                    f"the key stands twice (first in line {lines[here]})",
                    f"{source}, line {line}, {dotted(here)}",
                    "each key once",
                )
            lines[here] = line
            out[key] = _plain(value_node, here, lines, source)
        return out
    if isinstance(node, yaml.SequenceNode):
        return [_plain(item, (*location, index), lines, source) for index, item in enumerate(node.value)]
    return _scalar(node, location, source)


def _scalar(node: Any, location: Location, source: str) -> Any:
    kind = node.tag.removeprefix(_PREFIX)
    where = f"{source}, line {node.start_mark.line + 1}, {dotted(location)}".removesuffix(", ")
    constructor = yaml.constructor.SafeConstructor()
    try:
        if kind == "null":
            return None
        if kind == "bool":
            return constructor.construct_yaml_bool(node)
        if kind == "int":
            whole = constructor.construct_yaml_int(node)
            float(whole)  # an OverflowError for hundreds of digits
            return whole
        if kind == "float":
            value = constructor.construct_yaml_float(node)
            if not math.isfinite(value):
                raise InputError(f"{node.value} is not a number one can work with", where, "a finite number")
            return value
    except (ValueError, OverflowError) as error:
        raise InputError("the number cannot be read", where, "a number such as 3.5") from error
    return str(node.value)
