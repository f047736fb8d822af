"""What stands in the fields of a desk, with every step back and on."""

from __future__ import annotations

MOST_STEPS = 200  # that can be taken back


class FieldSteps:
    """Texts by the names of their fields, as they are now and as they were.

    Parameters
    ----------
    fields : to begin with.

    Examples
    --------
    >>> desk = FieldSteps({"lift": "3"})
    >>> desk.step({"lift": "4"})
    >>> desk.undo()
    >>> desk.fields, desk.can_undo, desk.can_redo
    ({'lift': '3'}, False, True)
    """

    def __init__(self, fields: dict[str, str]) -> None:
        self._steps: list[dict[str, str]] = [fields]
        self._at = 0
        self._last = ""  # the field that was typed into last

    @property
    def fields(self) -> dict[str, str]:
        """What stands in the fields now."""
        return dict(self._steps[self._at])

    @property
    def can_undo(self) -> bool:
        """Whether there is a step back."""
        return self._at > 0

    @property
    def can_redo(self) -> bool:
        """Whether there is a step on."""
        return self._at < len(self._steps) - 1

    def undo(self) -> None:
        """One step back."""
        self._at, self._last = max(self._at - 1, 0), ""

    def redo(self) -> None:
        """One step on again."""
        self._at, self._last = min(self._at + 1, len(self._steps) - 1), ""

    def step(self, fields: dict[str, str], *, typed: str = "", same_word: bool = False) -> None:
        """Take what stands in the fields as one step more; what was taken back is gone.

        Parameters
        ----------
        fields : as they now are.
        typed : the field that was typed into, if one was.
        same_word : one goes on typing in the same field; the step before is part of the same.
        """
        joined = same_word and self._last == typed
        self._last = typed
        if joined and self._at == len(self._steps) - 1 and self._at > 0:
            self._steps[self._at] = fields
            return
        self._steps = [*self._steps[: self._at + 1], fields][-MOST_STEPS:]
        self._at = len(self._steps) - 1
