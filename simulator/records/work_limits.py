"""What a file from anywhere may ask of this machine: its whole size, how many values, how deep, how long a text.

Limits hold for the file as a whole, packed parts included, and are looked at before anything is built from it.

Throughout: ``raw`` are bytes, ``value`` is plain data.
"""

from __future__ import annotations

import json
import zlib
from typing import Any

from simulator.errors import InputError
from simulator.texts import text

MAX_BYTES = 24 * 1024 * 1024  # of a file, unpacked, with all that is packed in it
MAX_VALUES = 1_500_000  # values in a file; each takes some 100 bytes once it is read
MAX_ATTEMPTS = 5_000
MAX_EVENTS = 20_000  # of one attempt
DEEPEST = 24
LARGEST_NUMBER = 2**53  # of a whole number: beyond it figures lose their last digits
_MARKS = (b",", b":", b"[", b"{")  # each value of JSON stands after one of these


class Allowance:
    """How much of a file may still be unpacked and read.

    Examples
    --------
    >>> Allowance().parsed(b'{"a": [1, 2]}')
    {'a': [1, 2]}
    """

    def __init__(self, most_bytes: int = MAX_BYTES, most_values: int = MAX_VALUES) -> None:
        self._most, self._bytes, self._values = most_bytes, most_bytes, most_values

    def unpacked(self, raw: bytes, bits: int) -> bytes:
        """Bytes out of a zlib (``bits`` 15) or gzip (31) stream.

        Raises
        ------
        InputError : more comes out than is left.
        zlib.error : it is damaged or cut off.
        """
        unpack = zlib.decompressobj(bits)
        out = unpack.decompress(raw, self._bytes + 1)
        if len(out) > self._bytes:
            raise self._too_large()
        if not unpack.eof:
            raise zlib.error("the stream is cut off")
        return out

    def parsed(self, raw: bytes) -> Any:
        """The value of JSON text in UTF-8.

        Raises
        ------
        InputError : there is more of it than may be read, or it goes too deep.
        ValueError : it is no JSON, or holds figures that are not finite.
        """
        self._bytes -= len(raw)
        self._values -= sum(raw.count(mark) for mark in _MARKS)
        if self._bytes < 0 or self._values < 0:
            raise self._too_large()
        try:
            value = json.loads(raw.decode("utf-8-sig"), parse_constant=_refused)
        except RecursionError as error:
            raise ValueError("nested too deeply") from error
        look_over(value)
        return value

    def _too_large(self) -> InputError:
        most = text("records.work.too_large_legal", most=self._most // 2**20)
        return InputError(text("records.work.too_large"), "file", most)


def _refused(name: str) -> None:
    raise ValueError(f"{name} is no figure")


def look_over(value: Any) -> None:
    """Go through plain data once, level by level.

    Raises
    ------
    ValueError : it is nested too deeply, or holds a figure that is too large, or half a sign.

    Examples
    --------
    >>> look_over({"a": [1.5, "b"]})
    >>> look_over([1e999])
    Traceback (most recent call last):
    ValueError: a figure is too large
    """
    level, depth = [value], 0
    while level:
        depth += 1
        if depth > DEEPEST:
            raise ValueError("nested too deeply")
        below: list[Any] = []
        for each in level:
            kind = type(each)
            if kind is dict:
                for name in each:
                    _look_at_text(name)
                below.extend(each.values())
            elif kind is list:
                below.extend(each)
            elif kind is str:
                _look_at_text(each)
            elif kind in (int, float) and not -LARGEST_NUMBER * 1024 <= each <= LARGEST_NUMBER * 1024:
                raise ValueError("a figure is too large")
        level = below


def _look_at_text(written: str) -> None:
    if not written.isascii():
        written.encode("utf-8")  # half a pair of code units is a ValueError
