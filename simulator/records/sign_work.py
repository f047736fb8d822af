"""Command of a trainer: ``python -m simulator.records.sign_work WORK --out SIGNED [--sheet SHEET] [--case N --total T]``.

It reads a learner's work file, replays the latest sitting in it, marks it again and signs its sheet.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from simulator.errors import InputError, RefusedAct
from simulator.marking.certificate import Sitting, history
from simulator.marking.certificate_page import certificate_html
from simulator.marking.certificate_signing import sign_sitting
from simulator.marking.signed import sign_marks
from simulator.records.store import Store
from simulator.records.work_file import read_work, write_work
from simulator.records.work_merge import merge_work
from simulator.signing import TrainerKey, key_folder
from simulator.texts import text


def run(arguments: Sequence[str] | None = None) -> int:
    """Sign what a work file holds: 0 when it was signed, 1 where it was refused, with the reason told.

    ``arguments`` of the command line.
    """
    parser = argparse.ArgumentParser(
        prog="python -m simulator.records.sign_work", description=text("marking.signed.help")
    )
    parser.add_argument("work", type=Path, metavar="WORK")
    parser.add_argument("--out", type=Path, required=True, help=text("marking.signed.help_out"))
    parser.add_argument("--sheet", type=Path, help=text("marking.signed.help_sheet"))
    parser.add_argument("--case", type=int, help=text("marking.signed.help_case"))
    parser.add_argument("--total", type=float, help=text("marking.signed.help_total"))
    given = parser.parse_args(arguments)
    try:
        sys.stdout.write(_signed(given) + "\n")
    except (InputError, RefusedAct) as error:
        sys.stderr.write(f"{error}\n")
        return 1
    except OSError as error:
        sys.stderr.write(f"{error.filename}: {error.strerror}\n")
        return 1
    return 0


def _signed(given: argparse.Namespace) -> str:
    key = TrainerKey.load()
    if key is None:
        raise InputError(
            text("marking.signed.no_key"), str(key_folder()), text("marking.signed.no_key_legal")
        )
    work = read_work(given.work.read_bytes())
    now = datetime.now(UTC)
    with Store.open("sqlite://") as opened:
        merge_work(opened, work)
        store: Any = opened
        sitting = Sitting.latest(store, work.learner)
        if sitting is None or not sitting.over:
            raise InputError(text("marking.signed.no_sitting"), str(given.work))
        if given.case is not None and given.total is not None:
            if not 1 <= given.case <= len(sitting.cases):
                raise InputError(text("marking.signed.no_case"), "--case", f"1 to {len(sitting.cases)}")
            sign_marks(store, sitting.case_id(given.case), given.total, key, now)
        sign_sitting(store, sitting, key, now)
        result = sitting.result()
        given.out.write_text(write_work(store, work.learner, work.units), encoding="utf-8")
        if given.sheet is not None:
            given.sheet.write_text(certificate_html(result, history(store, work.learner)), encoding="utf-8")
    return text(
        "marking.signed.done",
        learner=result.learner,
        number=result.number,
        total=f"{result.total:.1f}",
        verdict=result.signature.sentence,
    )


if __name__ == "__main__":
    sys.exit(run())
