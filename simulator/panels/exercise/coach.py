"""Who gives hints on a page: the advisor that marks and debrief go by; rules of thumb where there is no compiler."""

from __future__ import annotations

from simulator.attempt.hints import RuleOfThumbCoach
from simulator.attempt.notes import Note
from simulator.attempt.state import AttemptState


class PageCoach:
    """Hints of the one expert that the debrief and the marks go by, so that whoever follows them loses nothing.

    What could be wrong is simulated for it, or taken from what is kept. Without a compiler that would take minutes where
    nothing is kept: then the rules of thumb give the hint.
    """

    def hint(self, state: AttemptState, step: int) -> Note:
        """A note for hint step 1, 2 or 3.

        Parameters
        ----------
        state : where the call-out stands; it is not changed.
        step : of the hint [-].
        """
        # here, as a page without a hint needs neither
        from simulator.diagnosis.hypothesis_set import at_hand
        from simulator.marking.service import Coaching

        if not at_hand(state.case.sound_rig, state.case.sound_site):
            return RuleOfThumbCoach().hint(state, step)
        return Coaching().hint(state, step)
