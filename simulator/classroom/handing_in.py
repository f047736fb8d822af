"""Handing a learner's records in to the class: kept here first, handed over whenever the service answers, fetched back.

What is still to be handed over is never written down anywhere: it is the difference between the records here and what
the service says it has. So nothing is lost or doubled by a service that was away, a kernel that was ended, or a backup
that was put back there. What the service has and this place has not, as on a new machine, is fetched the same way.
"""

from __future__ import annotations

import json
import os
import random
import threading
import time
from collections.abc import Callable

from simulator.classroom.asking import ADDRESS, TOKEN, in_a_class
from simulator.classroom.kept_sealed import played_at_service
from simulator.classroom.line import Line, Refused
from simulator.errors import InputError
from simulator.records import Store
from simulator.records.chain import Head, Link
from simulator.records.hand_over import Coming, chain_of, coming_from, standing, take_in
from simulator.texts import entry, text

PATIENCE = 15.0  # [s] for an answer: thirty may hand in at once
PARCEL = 192 * 1024  # [byte] of one handing in; a larger step goes alone
LOOK_AGAIN = 1.0  # [s] between two looks at the records here
FIRST_WAIT, LONGEST_WAIT = 1.0, 10.0  # [s] between two tries while the service is away
SHOWN_EVERY = 10.0  # [s] between two times at which only how far a page has shown is handed over
ASK_AGAIN = (
    300.0  # [s] after which the service is asked anew what it has: a backup may have been put back there
)
FIRST_LOOK = 6.0  # [s] that a page in a new place waits for what the class has
HEED_EVERY = 2.0  # [s] between two looks whether the trainer holds the class
HOLD_LASTS = 60.0  # [s] for which a hold is kept while nobody answers
CALM = 4.0  # [s] for which nothing is said of what is still on its way

#: The service is away or answers nonsense, the records here cannot be read, the page's loop has just ended.
TROUBLE = (InputError, ValueError, TypeError, LookupError, OSError, RuntimeError)
KEPT_HERE, HANDED_OVER, LEFT_HERE, UNKNOWN = "kept_here", "handed_over", "left_here", ""


class HandingIn:
    """Hands the records of one learner over, a parcel at a time.

    Parameters
    ----------
    store : the records here.
    learner : whose they are.
    line : to the service.
    now : a clock that never goes back [s].
    """

    def __init__(
        self, store: Store, learner: str, line: Line, now: Callable[[], float] = time.monotonic
    ) -> None:
        self._store, self._learner, self._line, self._now = store, learner, line, now
        self._theirs: dict[str, Head] | None = None  # as the service said it; None: to be asked
        self._shown: dict[str, str] = {}
        self._asked_at = 0.0
        self._refused: dict[str, tuple[Head, str]] = {}
        self._settled: dict[str, tuple[Head, Head]] = {}  # handed over, and nothing was new
        self._own_way: set[tuple[str, Head]] = set()  # not to be fetched
        self._wait, self._shown_at, self._behind_since = FIRST_WAIT, -SHOWN_EVERY, -1.0
        self._listeners: list[Callable[[], bool]] = []
        self._thread = threading.Thread(target=self._go_on, daemon=True)
        self._heeded_at = self._heard_at = -HOLD_LASTS
        self.state, self.held = UNKNOWN, False
        self.sheets: int | None = None  # another number where the trainer handed out, opened or took back

    # what the page asks

    def sentence(self) -> str:
        """One calm line for the page; empty until it is known how things stand."""
        if self.state == LEFT_HERE:
            why = next(iter(self._refused.values()))[1]
            return text("classroom.records.left_here", n=len(self._refused), why=why)
        return text(f"classroom.records.{self.state}") if self.state else ""

    def badge(self) -> str:
        """The same in a few words, for a call that fills the window."""
        return text(f"classroom.records.badge.{self.state}") if self.state else ""

    def listen(self, told: Callable[[], bool]) -> None:
        """Tell somebody of every change, in the thread in which it comes about.

        Parameters
        ----------
        told : called without anything; gives back whether to tell it again.
        """
        self._listeners.append(told)

    # handing over

    def start(self) -> None:
        """Go on by itself from now, beside the page, for as long as this process lives."""
        self._thread.start()

    def fetch_first(self) -> None:
        """Before a page is made in a new place: what the class has of this learner, for as long as a page may wait."""
        late = self._now() + FIRST_LOOK
        while self.step() == 0.0 and self._now() < late:
            pass

    def step(self) -> float:
        """Look once and hand one parcel over; returns when to look again [s], 0 where there is more to hand over."""
        try:
            return self._hand_over()
        except Refused as error:
            if error.wait:  # there is much, and it goes bit by bit
                return error.wait
            self._theirs = None
            self._say(KEPT_HERE)
            return self._longer()
        except TROUBLE:
            self._theirs = None
            self._say(KEPT_HERE)
            return self._longer()

    def _hand_over(self) -> float:
        if self._theirs is None or self._now() - self._asked_at > ASK_AGAIN:
            said = self._line.ask("GET", "records")
            self._shown = {str(key): str(at) for key, at in dict(said.get("shown", {})).items()}
            self._theirs, self._asked_at = _heads(said), self._now()
        here = standing(self._store, self._learner)
        self._refused = {key: each for key, each in self._refused.items() if here.heads.get(key) == each[0]}
        if lacking := self._lacking(here.heads):
            self._fetch(lacking[-1])  # the latest first: it is what the learner goes on with
            return 0.0
        own = {
            key: head for key, head in here.heads.items() if not played_at_service(key)
        }  # those grow there alone
        behind = [key for key, head in own.items() if not self._is_there(key, head)]
        if not behind:
            self._behind_since, self._wait = -1.0, FIRST_WAIT
            self._say(LEFT_HERE if self._refused else HANDED_OVER)
            return self._hand_over_shown(here.shown)
        if self._behind_since < 0.0:
            self._behind_since = self._now()
        elif self._now() - self._behind_since > CALM:  # it answers, but there is much
            self._say(KEPT_HERE)
        self._send(self._parcel(behind), here.heads)
        return 0.0

    def _lacking(self, ours: dict[str, Head]) -> list[str]:
        """Attempts of which the service has more than this place."""
        theirs = (self._theirs or {}).items()
        return [
            key
            for key, head in theirs
            if head[0] > ours.get(key, (0, ""))[0] and (key, head) not in self._own_way
        ]

    def _fetch(self, key: str) -> None:
        """Take in what the service has of an attempt; where that was taken out here, or went another way, it is not."""
        coming = coming_from(self._line.ask("GET", f"records/{key}"))
        take_in(self._store, self._learner, [coming])
        head = (self._theirs or {})[key]
        if standing(self._store, self._learner).heads.get(key, (0, ""))[0] < head[0]:
            self._own_way.add((key, head))

    def _is_there(self, key: str, head: Head) -> bool:
        theirs = (self._theirs or {}).get(key, (0, ""))
        return head == theirs or key in self._refused or self._settled.get(key) == (head, theirs)

    def _hand_over_shown(self, shown: dict[str, str]) -> float:
        """How far pages have shown: of use to whoever looks, and no loss where it comes late."""
        newer = [
            key
            for key, at in shown.items()
            if self._shown.get(key, "") < at and key not in self._refused and not played_at_service(key)
        ]
        if newer and self._now() - self._shown_at >= SHOWN_EVERY:
            self._shown_at = self._now()
            self._send([Coming(each.attempt_id, (), each.shown) for each in map(self._chain, newer[:20])], {})
        return LOOK_AGAIN

    def _chain(self, key: str, start: int = 0) -> Coming:
        return chain_of(self._store, key, start)

    def _parcel(self, behind: list[str]) -> list[Coming]:
        """The next links, the oldest attempt first, as many as go into one parcel."""
        assert self._theirs is not None
        out: list[Coming] = []
        room = PARCEL
        for key in behind:
            whole = self._chain(key, self._theirs.get(key, (0, ""))[0])
            links: list[Link] = []
            for link in whole.links:
                room -= len(json.dumps(link.values)) + 200
                if room < 0 and (links or out):
                    break
                links.append(link)
            if whole.links and not links:
                break
            # Where nothing follows on what is there, the last link tells whether that has gone another way.
            out.append(Coming(key, tuple(links) or self._chain(key).links[-1:], whole.shown))
            if room < 0:
                break
        return out

    def _send(self, parcel: list[Coming], ours: dict[str, Head]) -> None:
        body = json.dumps({"attempts": [each.as_dict() for each in parcel]})
        said = self._line.ask("POST", "records", body)
        assert self._theirs is not None
        refused, before = dict(said.get("refused", {})), self._theirs
        self._theirs = before | _heads(said)
        for key, shown in ((each.attempt_id, each.shown) for each in parcel):
            if key in refused and key in ours:
                self._refused[key] = (ours[key], str(refused[key]))
            elif shown is not None:
                self._shown[key] = str(shown["made_at"])
            if key in ours and self._theirs.get(key) == before.get(key):
                self._settled[key] = (ours[key], self._theirs.get(key, (0, "")))

    def heed(self) -> None:
        """Look whether the trainer holds the class: then ``held``, and every page stands still. Where what is handed out
        has changed, or an envelope was opened, whoever listens is told too.

        A service that is away holds nobody for long, and one that was begun anew holds nobody.
        """
        now = self._now()
        if now - self._heeded_at < HEED_EVERY:
            return
        self._heeded_at = now
        sheets = self.sheets
        try:
            said = self._line.ask("GET", "now")
            held, sheets, self._heard_at = said.get("held") is True, int(str(said.get("sheets", 0))), now
        except TROUBLE:
            held = self.held and now - self._heard_at < HOLD_LASTS
        news = held != self.held or self.sheets not in (None, sheets)
        self.held, self.sheets = held, sheets
        if news:
            self._tell()

    def _longer(self) -> float:
        """The next wait: longer each time, and not the same for thirty at once [s]."""
        wait = self._wait
        self._wait = min(LONGEST_WAIT, 2.0 * wait)
        return wait * random.uniform(0.6, 1.0)

    def _say(self, state: str) -> None:
        if state == self.state:
            return
        self.state = state
        self._tell()

    def _tell(self) -> None:
        self._listeners = [told for told in self._listeners if told()]

    def _go_on(self) -> None:
        while True:
            late = self._now() + self.step()
            self.heed()
            while (left := late - self._now()) > 0.0:
                time.sleep(min(left, HEED_EVERY))
                self.heed()


def _heads(said: dict[str, object]) -> dict[str, Head]:
    found = said.get("heads")
    rows = found.items() if isinstance(found, dict) else ()
    return {str(key): (int(head[0]), str(head[1])) for key, head in rows}


_handing: dict[tuple[int, str, str], HandingIn] = {}


def handing_in(store: Store, learner: str) -> HandingIn | None:
    """What hands a learner's records over in this process, begun where it is asked for first; None outside a class.

    Parameters
    ----------
    store : the records here.
    learner : whose they are, as the log-in gave the name.

    Examples
    --------
    >>> with Store.open("sqlite://") as store:
    ...     handing_in(store, "Ash") is None
    True
    """
    if not in_a_class() or not learner:
        return None
    key = (os.getpid(), os.environ[ADDRESS], learner)
    if key not in _handing:
        line = Line(os.environ[ADDRESS], os.environ[TOKEN], "records", PATIENCE)
        _handing[key] = hands = HandingIn(store, learner, line)
        if not standing(store, learner).heads:  # a new place: the page begins with what the class has
            hands.fetch_first()
        hands.start()
    return _handing[key]


def at_work() -> HandingIn | None:
    """What hands records over in this process; None where nothing does.

    Examples
    --------
    >>> at_work() is None
    True
    """
    return next((each for (pid, _, _), each in _handing.items() if pid == os.getpid()), None)


def held_words() -> dict[str, str] | None:
    """What stands over a page while the trainer holds the class: ``title``, ``text`` and ``stuck``; None otherwise.

    Examples
    --------
    >>> held_words() is None
    True
    """
    hands = at_work()
    return dict(entry("classroom.held")) if hands is not None and hands.held else None
