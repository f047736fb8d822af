"""The certificate sheet: a page to print, with the marks and their evidence, all sittings, and what it is not."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from simulator.marking.certificate import CaseResult, SittingLine, SittingResult
from simulator.marking.decision import PASSED, UNDECIDED
from simulator.marking.sheet import PASS
from simulator.texts import entry, text

FOLDER = Path(__file__).parent / "templates"


def certificate_html(result: SittingResult, lines: Sequence[SittingLine], sealing: str = "") -> str:
    """The sheet of a sitting as one HTML page that needs nothing else.

    Parameters
    ----------
    result : of a sitting that is over.
    lines : all sittings of the same learner, see :func:`simulator.marking.certificate.history`.
    sealing : what has to be said of how well the cases were sealed where they were played; most often nothing.
    """
    # Every value is escaped: the name is whatever the learner typed.
    shelf = Environment(
        loader=FileSystemLoader(FOLDER), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    return shelf.get_template("certificate.html").render(
        result=result,
        words=_words(result) | {"sealing": sealing},
        cases=[_case(case) for case in result.cases],
        lines=[_line(line, result) for line in lines],
        cautions=entry("marking.sheet_page.cautions"),
    )


def _say(key: str, **fields: Any) -> str:
    return text(f"marking.sheet_page.{key}", **fields)


def _words(result: SittingResult) -> dict[str, str]:
    plain = (
        "kicker", "title", "aid", "cases_title", "all_title", "cautions_title", "column_sitting",
        "column_date", "column_state", "column_marks", "this_one",
    )  # fmt: skip
    count = sum(1 for case in result.cases if case.attempt_id)
    verdict = {PASSED: "passed", UNDECIDED: "undecided"}.get(result.decision, "not_passed")
    return {
        **{name: _say(name) for name in plain},
        "sitting": _say("sitting", n=result.number, date=result.date[:10]),
        "verdict": _say(verdict if result.complete else "not_passed"),
        "total": _say("total", marks=f"{result.total:.1f}", n=len(result.cases)),
        "error": "" if result.error is None else _say("error", error=f"{result.error:.1f}"),
        "error_means": "" if result.error is None else _say("error_means"),
        "rule": _rule(result),
        "no_source": _say("no_source") if result.rule.pass_mark == PASS else _say("set_by_trainer"),
        "signature": result.signature.sentence,
        "signature_means": _say("signed_means" if result.signature.good else "unsigned_means"),
        "grave": _say("grave") if result.grave else "",
        "incomplete": "" if result.complete else _say("incomplete", n=count, of=len(result.cases)),
        "foot": _say("foot", version=result.version, model=result.model),
    }


def _rule(result: SittingResult) -> str:
    rule = result.rule
    if not rule.case_sd:
        return _say("rule_of_five", n=f"{rule.pass_mark:g}")
    return _say(
        "rule",
        n=f"{rule.pass_mark:g}",
        least=rule.least,
        most=rule.most,
        margin=f"{rule.z * rule.error(len(result.cases)):.1f}",
    )


def _case(case: CaseResult) -> dict[str, Any]:
    minutes = ""
    if case.attempt_id:
        minutes = _say("minutes", own=f"{case.minutes:.0f}", expert=f"{case.expert_minutes:.0f}")
    marks = _say("case_marks", marks=f"{case.total:.1f}") if case.attempt_id else _say("not_played")
    trainer = ""
    if case.trainer is not None:
        key = "by_trainer" if case.trainer_signature.good else "by_trainer_unsigned"
        trainer = _say(key, trainer=f"{case.trainer:.1f}", automatic=f"{case.automatic:.1f}")
    return {
        "title": _say("case_title", n=case.number, title=case.title),
        "marks": marks + (f" {_say('case_grave')}" if case.grave else ""),
        "truth": case.truth,
        "minutes": minutes,
        "trainer": trainer,
        "parts": [_part(part) for part in case.parts],
    }


def _part(part: dict[str, Any]) -> dict[str, Any]:
    if part["points"] is None:
        points = _say("not_marked")
    elif not part["out_of"]:  # safety takes off and gives nothing
        off = -part["points"]
        points = _say("taken_off", points=f"{off:.0f}") if off > 0.0 else _say("none_off")
    else:
        points = _say("points", points=f"{part['points']:.1f}", of=f"{part['out_of']:.0f}")
    return {"label": part["label"], "points": points, "evidence": part["evidence"]}


def _line(line: SittingLine, result: SittingResult) -> dict[str, Any]:
    return {
        "number": line.number,
        "date": line.date[:10],
        "state": _say(f"states.{line.state}"),
        "marks": "" if line.total is None else f"{line.total:.1f}",
        "here": line.sitting_id == result.sitting_id,
    }
