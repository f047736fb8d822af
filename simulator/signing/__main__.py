"""Commands for keys: ``python -m simulator.signing {make,show,trust,drop,backup,restore,rotate,follow,check}``."""

from __future__ import annotations

import argparse
import getpass
import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from simulator.errors import InputError
from simulator.signing.envelope import MAX_BYTES, Envelope, check
from simulator.signing.keys import PRIVATE_FILE, PublicKey, TrainerKey, key_folder, write_private
from simulator.signing.ring import Ring, make_key, rotate
from simulator.texts import text


def parser() -> argparse.ArgumentParser:
    """What the command takes."""
    out = argparse.ArgumentParser(prog="python -m simulator.signing", description=text("signing.help.all"))
    commands = out.add_subparsers(dest="command", required=True)

    def command(name: str, *files: str) -> argparse.ArgumentParser:
        each = commands.add_parser(
            name, help=text(f"signing.help.{name}"), description=text(f"signing.help.{name}")
        )
        for field in files:
            each.add_argument(field, type=Path, metavar=field.upper())
        return each

    command("make").add_argument("name", metavar="NAME")
    command("show").add_argument("--out", type=Path, metavar="FILE")
    command("trust", "file")
    command("drop").add_argument("fingerprint", metavar="FINGERPRINT")
    command("backup", "file")
    command("restore", "file")
    command("rotate", "file")
    command("follow", "file")
    command("check", "file")
    return out


def run(arguments: list[str] | None = None, *, passphrase: str | None = None) -> int:
    """Carry out one command: 0 when it was done and what was checked is good, 1 otherwise.

    ``arguments`` of the command line; ``passphrase`` of a backup; asked for at the terminal where it is None.
    """
    given = parser().parse_args(arguments)
    try:
        sentence, good = _COMMANDS[given.command](given, passphrase)
    except InputError as error:
        _say(str(error), sys.stderr)
        return 1
    _say(sentence, sys.stdout)
    return 0 if good else 1


def _make(given: argparse.Namespace, passphrase: str | None) -> tuple[str, bool]:
    key = make_key(given.name, _now())
    return text("signing.done.make", fingerprint=key.public.fingerprint, folder=key_folder()), True


def _show(given: argparse.Namespace, passphrase: str | None) -> tuple[str, bool]:
    key = _own()
    if given.out is not None:
        _write(given.out, json.dumps(key.public.as_dict(), indent=1, ensure_ascii=False))
    return text("signing.done.show", name=key.public.name, fingerprint=key.public.fingerprint), True


def _trust(given: argparse.Namespace, passphrase: str | None) -> tuple[str, bool]:
    raw = _read(given.file)
    if not isinstance(raw, dict) or set(raw) != {"name", "since", "digits"}:
        raise InputError(text("signing.bad_key"), str(given.file), text("signing.bad_key_legal"))
    try:
        key = PublicKey(**raw)
    except InputError as error:
        raise InputError(error.what, f"{given.file}, {error.where}", error.legal) from error
    Ring.load().trusting(key).save()
    return text("signing.done.trust", name=key.name, fingerprint=key.fingerprint), True


def _drop(given: argparse.Namespace, passphrase: str | None) -> tuple[str, bool]:
    ring, wanted = Ring.load(), given.fingerprint.replace(" ", "").lower()
    found = [each.key for each in ring.keys if each.key.fingerprint.replace(" ", "") == wanted]
    if not found:
        known = "; ".join(each.key.fingerprint for each in ring.keys)
        raise InputError(text("signing.not_in_ring"), "fingerprint", known)
    ring.without(found[0].digits).save()
    return text("signing.done.drop", name=found[0].name), True


def _backup(given: argparse.Namespace, passphrase: str | None) -> tuple[str, bool]:
    secret = getpass.getpass(text("signing.ask")) if passphrase is None else passphrase
    write_private(given.file, _own().as_text(secret))
    return text("signing.done.backup", file=given.file), True


def _restore(given: argparse.Namespace, passphrase: str | None) -> tuple[str, bool]:
    secret = getpass.getpass(text("signing.ask")) if passphrase is None else passphrase
    try:
        content = given.file.read_bytes()
    except OSError as error:
        raise InputError(
            text("signing.unreadable", reason=error.strerror or str(error)), str(given.file)
        ) from error
    key = TrainerKey.from_text(content, secret, str(given.file))
    write_private(key_folder() / PRIVATE_FILE, key.as_text())
    Ring.load().trusting(key.public).save()
    return text("signing.done.restore", name=key.public.name, fingerprint=key.public.fingerprint), True


def _rotate(given: argparse.Namespace, passphrase: str | None) -> tuple[str, bool]:
    if given.file.exists():
        raise InputError(text("signing.is_there"), str(given.file), text("signing.is_there_legal"))
    key, note = rotate(_now())
    _write(given.file, json.dumps(note.as_dict(), indent=1, ensure_ascii=False))
    return text("signing.done.rotate", fingerprint=key.public.fingerprint, file=given.file), True


def _follow(given: argparse.Namespace, passphrase: str | None) -> tuple[str, bool]:
    Ring.load().succeeded(Envelope.from_dict(_read(given.file), str(given.file))).save()
    return text("signing.done.follow"), True


def _check(given: argparse.Namespace, passphrase: str | None) -> tuple[str, bool]:
    envelope = Envelope.from_dict(_read(given.file), str(given.file))
    verdict = check(envelope, envelope.kind, Ring.load())
    return verdict.sentence, verdict.good


_COMMANDS = {
    "make": _make,
    "show": _show,
    "trust": _trust,
    "drop": _drop,
    "backup": _backup,
    "restore": _restore,
    "rotate": _rotate,
    "follow": _follow,
    "check": _check,
}


def _own() -> TrainerKey:
    key = TrainerKey.load()
    if key is None:
        raise InputError(text("signing.no_key"), str(key_folder()), text("signing.no_key_legal"))
    return key


def _read(path: Path) -> Any:
    try:
        if not path.is_file():
            raise InputError(text("signing.no_file"), str(path), text("signing.not_signed_legal"))
        if path.stat().st_size > 4 * MAX_BYTES:
            raise InputError(
                text("signing.too_large"),
                str(path),
                text("signing.too_large_legal", most=4 * MAX_BYTES // 10**6),
            )
        return json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(
            text("signing.unreadable", reason=error.strerror or str(error)), str(path)
        ) from error
    except (ValueError, RecursionError) as error:
        raise InputError(text("signing.not_json"), str(path), text("signing.not_signed_legal")) from error


def _write(path: Path, content: str) -> None:
    try:
        path.write_text(content + "\n", encoding="utf-8")
    except OSError as error:
        raise InputError(
            text("signing.unwritable", reason=error.strerror or str(error)), str(path)
        ) from error


def _now() -> datetime:
    return datetime.now(UTC)


def _say(sentence: str, stream: Any) -> None:
    stream.write(sentence + "\n")


if __name__ == "__main__":
    sys.exit(run())
