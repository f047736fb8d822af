"""Statements of what was done, for a learning record store: xAPI 1.0.3 (ADL), IEEE 9274.1.1.

Verbs and kinds of activity are those of the ADL vocabulary; what is our own stands under an example domain and is
neither a verb nor a kind of activity. The same records give the same ids, so that what is sent twice is known again.

Throughout: ``calls`` are summaries of call-outs; ``words`` the trainer's.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from simulator.classroom.after_class import passed, taken_for
from simulator.classroom.seen import Seen
from simulator.classroom.trainer_words import REMARK, SIGNED, Word
from simulator.texts import language, text

#: Domains that nobody owns (RFC 2606): a place that sends statements on puts its own in their stead.
HOME = "https://callouts.example/class"
OWN = "https://callouts.example/xapi"
ADL_VERBS = "http://adlnet.gov/expapi/verbs/"
ADL_ACTIVITIES = "http://adlnet.gov/expapi/activities/"
VERBS = ("attempted", "completed", "passed", "failed", "commented")
_NAMES = uuid.uuid5(uuid.NAMESPACE_URL, OWN)


def statements(
    calls: Sequence[Seen], words: Iterable[Word], accounts: Mapping[str, str]
) -> list[dict[str, Any]]:
    """Statements of calls begun, ended and marked, of remarks and of sign-offs, in the order of time.

    Parameters
    ----------
    accounts : of learners at the class, by their names; whoever has none is known by an id made of the name.

    Examples
    --------
    >>> call = Seen("a", "Ada", "call", "09", "practice", "2026-03-02T07:10:00.000Z", "2026-03-02T07:40:00.000Z", True,
    ...             ended="finished", title="The pit", rig="osier", faults=("drain_open",), troubles=("air_gets_in",),
    ...             call="0f" * 32, total=81.0)
    >>> [each["verb"]["id"].rpartition("/")[2] for each in statements([call], [], {})]
    ['attempted', 'completed', 'passed']
    """
    out = [statement for call in calls for statement in _of_call(call, accounts)]
    of = {call.attempt_id: call for call in calls}
    for word in words:
        if word.kind == REMARK and word.attempt_id in of:
            out.append(_of_remark(word, of[word.attempt_id], accounts))
        elif word.kind == SIGNED:
            out.append(_of_sign_off(word, accounts))
    return sorted(out, key=lambda each: (str(each["timestamp"]), VERBS.index(_verb_of(each))))


def statements_text(calls: Sequence[Seen], words: Iterable[Word], accounts: Mapping[str, str]) -> str:
    """The same as the text of a JSON file: one list.

    Parameters
    ----------
    accounts : as in :func:`statements`.

    Examples
    --------
    >>> statements_text([], [], {})
    '[]'
    """
    return json.dumps(statements(calls, words, accounts), ensure_ascii=False, indent=1)


def _verb_of(statement: Mapping[str, Any]) -> str:
    return str(statement["verb"]["id"]).rpartition("/")[2]


def _of_call(call: Seen, accounts: Mapping[str, str]) -> Iterable[dict[str, Any]]:
    common = {"actor": _learner(call.learner, accounts), "object": _activity(call), "context": _context(call)}
    yield _statement(common, "attempted", call.attempt_id, call.made_at)
    if not call.finished or call.ended == "left":
        return
    taken = datetime.fromisoformat(call.last_at) - datetime.fromisoformat(call.made_at)
    result: dict[str, Any] = {
        "completion": True,
        "duration": f"PT{max(round(taken.total_seconds(), 2), 0.0):.2f}S",
        "extensions": {
            f"{OWN}/yard-minutes": call.minutes,
            f"{OWN}/starts-of-the-engine": call.starts,
            f"{OWN}/hints": call.hints,
            f"{OWN}/breaches-of-safety": len(call.breaches),
            f"{OWN}/taken-for": taken_for(call),
            f"{OWN}/ended": call.ended,
        },
    }
    yield _statement({**common, "result": result}, "completed", call.attempt_id, call.last_at)
    if call.total is not None:
        through = passed(call)
        judged = {"score": _score(call.total), "success": through}
        verb = "passed" if through else "failed"
        yield _statement({**common, "result": judged}, verb, call.attempt_id, call.last_at)


def _of_remark(word: Word, call: Seen, accounts: Mapping[str, str]) -> dict[str, Any]:
    result: dict[str, Any] = {"response": word.text} if word.text else {}
    if word.total is not None:
        result["score"] = _score(word.total)
    said_of = _learner(word.about, accounts)["account"]["name"]
    common = {
        "actor": _trainer(word.by),
        "object": _activity(call),
        "result": result,
        "context": {**_context(call), "extensions": {f"{OWN}/said-of": said_of}},
    }
    return _statement(common, "commented", f"{call.attempt_id} {word.by}", word.at)


def _of_sign_off(word: Word, accounts: Mapping[str, str]) -> dict[str, Any]:
    name = text(f"faults.families.{word.trouble}")
    common = {
        "actor": _learner(word.about, accounts),
        "object": {
            "objectType": "Activity",
            "id": f"{OWN}/sign-offs/{_plain(word.rig)}/{word.trouble}",
            "definition": {
                "name": {_language(): f"{word.rig}: {name}"},
                "type": f"{ADL_ACTIVITIES}assessment",
            },
        },
        "result": {"success": True, "extensions": {f"{OWN}/valid-until": word.until}},
        "context": {"instructor": _trainer(word.by), "language": _language()},
    }
    return _statement(common, "passed", f"{word.about} {word.rig} {word.trouble}", word.at)


def _statement(common: Mapping[str, Any], verb: str, what: str, at: str) -> dict[str, Any]:
    made = uuid.uuid5(_NAMES, f"{verb} {what} {at}")
    return {
        "id": str(made),
        **common,
        "verb": {"id": f"{ADL_VERBS}{verb}", "display": {"en": verb}},
        "timestamp": at,
    }


def _learner(name: str, accounts: Mapping[str, str]) -> dict[str, Any]:
    known = accounts.get(name) or str(uuid.uuid5(_NAMES, f"learner {name}"))
    return {"objectType": "Agent", "name": name, "account": {"homePage": HOME, "name": known}}


def _trainer(name: str) -> dict[str, Any]:
    known = str(uuid.uuid5(_NAMES, f"trainer {name}"))
    return {"objectType": "Agent", "name": name, "account": {"homePage": HOME, "name": known}}


def _activity(call: Seen) -> dict[str, Any]:
    return {
        "objectType": "Activity",
        "id": f"{OWN}/calls/{call.call or call.attempt_id}",
        "definition": {"name": {_language(): call.title or "-"}, "type": f"{ADL_ACTIVITIES}simulation"},
    }


def _context(call: Seen) -> dict[str, Any]:
    return {
        "registration": _registration(call.attempt_id),
        "language": _language(),
        "extensions": {
            f"{OWN}/rig": call.rig,
            f"{OWN}/kinds-of-trouble": list(call.troubles),
            f"{OWN}/mode": call.mode,
        },
    }


def _registration(attempt_id: str) -> str:
    try:
        return str(uuid.UUID(attempt_id))
    except ValueError:
        return str(uuid.uuid5(_NAMES, f"attempt {attempt_id}"))


def _score(marks: float) -> dict[str, float]:
    return {"scaled": round(marks / 100.0, 4), "raw": marks, "min": 0.0, "max": 100.0}


def _plain(name: str) -> str:
    """A name as it may stand in an IRI."""
    return (
        "".join(sign if (sign.isascii() and sign.isalnum()) or sign in "-_" else "-" for sign in name) or "-"
    )


def _language() -> str:
    return language()[:2]
