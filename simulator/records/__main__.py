"""``python -m simulator.records backup|restore|check|rescue|export|forget``: sentences, and 0 where all is well.

Throughout: ``arguments`` are those of the command line; without them those it was called with.
"""

from __future__ import annotations

import argparse
import os
import stat
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from simulator.errors import SimulatorError
from simulator.records import tables
from simulator.records.aside import sentence
from simulator.records.checking import links_of
from simulator.records.connect import look, read_only
from simulator.records.export import SHEETS, export_csv
from simulator.records.forgetting import forget
from simulator.records.heads import Heads
from simulator.records.keeping import backup, copies_of, restore, there
from simulator.records.private import BESIDE
from simulator.records.rescue import rescue
from simulator.records.store import Store
from simulator.rig.command import Words, as_typed
from simulator.texts import text


def main(arguments: list[str] | None = None) -> int:
    """Do what a command asks for; 0 where all is well, 1 where records are damaged, 2 where it could not be done."""
    asked = _parser().parse_args(arguments)
    try:
        return int(asked.act(asked))
    except SimulatorError as error:
        _say(str(error))
        return 2
    except OSError as error:
        _say(f"{error.filename or asked.records or ''}: {error.strerror or error}.")
        return 2


def _parser() -> argparse.ArgumentParser:
    def said(key: str) -> str:
        return text(f"records.command.{key}")

    parser = Words(prog=as_typed("simulator.records"), description=said("about"))
    commands = parser.add_subparsers(
        required=True, metavar="backup | restore | check | rescue | export | forget"
    )
    acts: dict[str, Callable[[argparse.Namespace], int]] = {
        "backup": _backup,
        "restore": _restore,
        "check": _check,
        "rescue": _rescue,
        "export": _export,
        "forget": _forget,
    }
    for name, act in acts.items():
        typed = as_typed(f"simulator.records {name}")
        command = commands.add_parser(name, prog=typed, help=said(name), description=said(name))
        command.add_argument("--records", metavar="PATH", help=said("records"))
        command.set_defaults(act=act)
        if name == "backup":
            command.add_argument("--to", metavar="PATH", help=said("to"))
        elif name == "restore":
            command.add_argument("copy", metavar="COPY", help=said("copy"))
        elif name == "export":
            command.add_argument("folder", metavar="FOLDER", help=said("folder"))
        elif name == "forget":
            command.add_argument("name", metavar="NAME", help=said("name"))
    return parser


def _say(sentence: str) -> None:
    sys.stdout.write(sentence.strip() + "\n")


def _backup(asked: argparse.Namespace) -> int:
    kept = backup(asked.records, asked.to)
    for each in kept.notices:
        _say(each)
    _say(text("records.command.backed_up", attempts=kept.attempts, rows=kept.rows, place=kept.place))
    return 0


def _restore(asked: argparse.Namespace) -> int:
    kept = restore(asked.copy, asked.records)
    _say(text("records.command.restored", attempts=kept.attempts, rows=kept.rows, place=kept.place))
    if kept.before is not None:
        _say(text("records.command.restored_before", before=kept.before))
    return 0


def _export(asked: argparse.Namespace) -> int:
    folder = Path(asked.folder)
    with Store.open(there(asked.records)) as store:
        folder.mkdir(parents=True, exist_ok=True)
        for sheet in SHEETS:
            (folder / f"{sheet}.csv").write_text(export_csv(store, sheet), encoding="utf-8", newline="")
    _say(text("records.command.exported", files=", ".join(f"{sheet}.csv" for sheet in SHEETS), folder=folder))
    return 0


def _check(asked: argparse.Namespace) -> int:
    path = there(asked.records)
    said = list(_findings(path))
    for each in said or [_holds(path)]:
        _say(each)
    return 1 if said else 0


def _holds(path: Path) -> str:
    found = look(path, Heads(path).read().heads)
    if found.schema < tables.RECORD_SCHEMA:
        return text("records.command.old")
    return text("records.command.whole", attempts=found.findings.attempts, rows=found.findings.rows)


def _findings(path: Path) -> Iterator[str]:
    """All that is to be said of a records file, reading only."""
    beside = Heads(path).read()
    found = look(path, beside.heads, known_as_ours=bool(beside.heads))
    if found.schema == tables.RECORD_SCHEMA:
        if not beside.there and found.findings.attempts:
            yield text("records.command.heads_gone")
        with read_only(path) as connection:
            for each in found.findings.broken:
                links = links_of(connection, [each.attempt_id]).get(each.attempt_id, [])
                yield f"{sentence(each, links)} {text('records.command.to_set_aside')}"
            for row in connection.execute(tables.set_aside.select()):
                yield text("records.command.aside", reason=row.reason)
    if beside.damaged:
        yield text("records.command.heads_bad", lines=beside.damaged)
    for end in BESIDE if os.name == "posix" else ():
        each_file = path.with_name(path.name + end)
        if each_file.exists() and stat.S_IMODE(each_file.stat().st_mode) & 0o077:
            yield text("records.command.open_to_others", place=each_file)


def _rescue(asked: argparse.Namespace) -> int:
    done = rescue(asked.records)
    said = {"attempts": done.attempts, "rows": done.rows, "short": done.short, "lost": done.lost}
    _say(text("records.command.rescued", **said))
    if done.others:
        _say(text("records.command.others", others=done.others))
    _say(text("records.command.restored_before", before=done.before))
    return 0


def _forget(asked: argparse.Namespace) -> int:
    with Store.open(there(asked.records)) as store:
        for each in store.notices:
            _say(each)
        gone = forget(store, asked.name)
    if not gone:
        _say(text("records.command.forgot_none", learner=asked.name))
        return 2
    _say(text("records.command.forgot", attempts=gone, learner=asked.name))
    for copy in copies_of(there(asked.records)):
        _say(text("records.command.copy_left", place=copy))
    return 0


if __name__ == "__main__":
    sys.exit(main())
