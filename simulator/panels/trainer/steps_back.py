"""Every step back and on of what lies on a desk."""

from __future__ import annotations

from typing import Generic, TypeVar

State = TypeVar("State")
MOST_STEPS = 200  # kept to go back


class StepsBack(Generic[State]):
    """What lies on a desk now, with every step back and on; states are never changed in place.

    Parameters
    ----------
    first : what lies there at first.

    Examples
    --------
    >>> steps = StepsBack("")
    >>> steps.to("a", "name"), steps.to("ab", "name", more=True), steps.to("5", "lift")
    (None, None, None)
    >>> steps.back(), steps.now, steps.back(), steps.now, steps.on(), steps.now
    (None, 'ab', None, '', None, 'ab')
    """

    def __init__(self, first: State) -> None:
        self._steps: list[State] = [first]
        self._at = 0
        self._last = ""

    @property
    def now(self) -> State:
        """What lies there now."""
        return self._steps[self._at]

    @property
    def can_back(self) -> bool:
        """Whether there is a step back."""
        return self._at > 0

    @property
    def can_on(self) -> bool:
        """Whether there is a step on."""
        return self._at < len(self._steps) - 1

    def to(self, state: State, what: str = "", *, more: bool = False) -> None:
        """One step to another state; none where nothing is changed.

        Parameters
        ----------
        state : as it is to be.
        what : was changed, such as the name of a field.
        more : one goes on with the same, as in typing a word: the step before is part of it.
        """
        if state == self.now:
            return
        if more and what and what == self._last and self._at == len(self._steps) - 1 and self._at > 0:
            self._steps[self._at] = state
            return
        self._steps = [*self._steps[: self._at + 1], state][-MOST_STEPS:]
        self._at = len(self._steps) - 1
        self._last = what

    def back(self) -> None:
        """One step back; none where there is none."""
        self._at, self._last = max(self._at - 1, 0), ""

    def on(self) -> None:
        """One step on again; none where there is none."""
        self._at, self._last = min(self._at + 1, len(self._steps) - 1), ""
