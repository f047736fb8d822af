"""Tables that are read when they are first asked for: a broken file of records gives its sentence then, and breaks no
import.

Arguments, the same throughout: ``read`` gives the whole table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, MutableMapping
from typing import TypeVar

K = TypeVar("K")
T = TypeVar("T")


class LazyTable(MutableMapping[K, T]):
    """A table that is read once, when something is first asked of it; what ``read`` raises comes then, and again.

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
