"""Tables that are read when they are first asked for: a broken file of records gives its sentence then, and breaks no
import; a broken record breaks none of the others.

Arguments, the same throughout: ``key`` of an entry.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, MutableMapping
from typing import TypeVar

from simulator.errors import BrokenFile, own_files
from simulator.rig.plain_yaml import Document

K = TypeVar("K")
T = TypeVar("T")


class LazyTable(MutableMapping[K, T]):
    """A table that is read once, when something is first asked of it; what ``read`` raises comes then, and again.

    Parameters
    ----------
    read : gives the whole table.

    Examples
    --------
    >>> table = LazyTable(lambda: {"belt": 4.0})
    >>> table.is_read, table["belt"], table.is_read
    (False, 4.0, True)
    """

    def __init__(self, read: Callable[[], dict[K, T]]) -> None:
        self._read = read
        self._table: dict[K, T] | None = None

    @property
    def is_read(self) -> bool:
        """Whether the table has been read."""
        return self._table is not None

    @property
    def _items(self) -> dict[K, T]:
        if self._table is None:
            with own_files():
                self._table = self._read()
        return self._table

    def __getitem__(self, key: K) -> T:
        return self._items[key]

    def __setitem__(self, key: K, value: T) -> None:
        self._items[key] = value

    def __delitem__(self, key: K) -> None:
        del self._items[key]

    def __iter__(self) -> Iterator[K]:
        return iter(self._items)

    def __len__(self) -> int:
        return len(self._items)

    def __contains__(self, key: object) -> bool:
        return key in self._items

    def __repr__(self) -> str:
        return f"LazyTable({self._table!r})" if self.is_read else "LazyTable(not read yet)"


class RecordTable(LazyTable[str, T]):
    """The records of a file by name, each read when it is first asked for.

    By its name a sound record is had although another is broken. Whoever goes over all of them, or counts them, meets
    the sentence of the broken one: what is believed, offered and marked must lack none.

    Parameters
    ----------
    document : gives the file.
    read_one : makes one record of the file, by its name.

    Examples
    --------
    >>> from simulator.rig.plain_yaml import read_text
    >>> table = RecordTable(lambda: read_text("belt: 4\\nhose: wide\\n", "sizes.yaml"), lambda d, n: float(d.data[n]))
    >>> table["belt"], "hose" in table
    (4.0, True)
    >>> list(table)
    Traceback (most recent call last):
    ValueError: could not convert string to float: 'wide'
    """

    def __init__(self, document: Callable[[], Document], read_one: Callable[[Document, str], T]) -> None:
        super().__init__(self._read_all)
        self._document, self._read_one = document, read_one
        self._sound: dict[str, T] = {}

    @property
    def is_read(self) -> bool:
        """Whether any record has been read."""
        return bool(self._sound) or super().is_read

    def __getitem__(self, key: str) -> T:
        if self._table is not None:
            return self._table[key]
        if key not in self._sound:
            with own_files():
                document = self._document()
                if key not in document.data:
                    raise KeyError(key)
                self._sound[key] = self._read_one(document, key)
        return self._sound[key]

    def __contains__(self, key: object) -> bool:
        if self._table is not None:
            return key in self._table
        with own_files():
            return key in self._document().data

    def _read_all(self) -> dict[str, T]:
        broken, names = [], list(self._document().data)
        for name in names:
            try:
                self[name]
            except BrokenFile as error:
                broken.append(error)
        if broken:
            first = broken[0]
            others = "".join(f"; {each}".rstrip(".") for each in broken[1:])
            raise BrokenFile(first.what + others, first.where, "" if others else first.legal) from first
        return {name: self._sound[name] for name in names}
