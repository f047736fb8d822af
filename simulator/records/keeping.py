"""Backups: a whole copy in one file, looked over before it counts, and put back over what is there.

Throughout: ``path`` is the records file, or the folder it lies in; None for the user's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from simulator.errors import InputError
from simulator.records import shared, tables
from simulator.records.connect import look
from simulator.records.copying import copy_file, copy_over
from simulator.records.heads import Heads
from simulator.records.places import FILE_NAME, data_folder, ready_file
from simulator.records.private import BESIDE, FOLDER, new_private_file, sync_folder, tighten_files
from simulator.texts import text


@dataclass(frozen=True)
class Kept:
    """A backup or what was put back: where, and how many attempts and steps [-] hold in it.

    ``before`` is what was there, ``notices`` what had to be said on opening it.
    """

    place: Path
    attempts: int
    rows: int
    before: Path | None = None
    notices: tuple[str, ...] = ()


def records_file(path: Path | str | None = None) -> Path:
    """The records file that is meant: the user's own by default; a folder means the file of the usual name in it.

    Raises
    ------
    InputError : a database URL is meant: its own tools make its backups.
    """
    if isinstance(path, str) and "://" in path:
        raise InputError(text("records.keeping.url"), path, text("records.keeping.url_legal"))
    found = (Path(path) if path is not None else data_folder()).expanduser().absolute()
    return found / FILE_NAME if found.is_dir() or path is None else found


def backup(path: Path | str | None = None, to: Path | str | None = None) -> Kept:
    """Copy the records into one file, and look the copy over.

    Parameters
    ----------
    path : the records; the user's own by default.
    to : a new file, or a folder for one named by the day; by default ``backups`` beside the records.

    Raises
    ------
    InputError : there are no records, the place is taken, or the copy does not hold; then it is taken away again.
    """
    source = there(path)
    database = shared.take(source)  # what does not hold is set aside first
    try:
        target = _place_for(source, to)
        if not new_private_file(target):
            raise InputError(text("records.keeping.taken"), str(target), text("records.keeping.taken_legal"))
        try:
            beside = Heads(source).read().heads
            copy_file(source, target)
            found = look(target, beside).findings
            if found.broken:
                raise _not_whole(source, len(found.broken))
        except InputError:
            target.unlink(missing_ok=True)
            raise
    finally:
        shared.release(database)
    sync_folder(target.parent)
    return Kept(target, found.attempts, found.rows, notices=database.notices)


def restore(copy: Path | str, path: Path | str | None = None) -> Kept:
    """Put a backup in the place of the records; what was there is kept beside them.

    Pages that are open go on: their next step finds the records as they now are.

    Raises
    ------
    InputError : the backup does not hold, or the records cannot be written; they are then as they were.
    """
    source = Path(copy).expanduser().absolute()
    if not source.is_file():
        raise InputError(
            text("records.keeping.no_backup"), str(source), text("records.keeping.no_backup_legal")
        )
    target = ready_file(records_file(path))
    if source.resolve() == target.resolve():
        raise InputError(text("records.keeping.itself"), str(source), text("records.keeping.no_backup_legal"))
    found = look(source, {})
    if found.schema < 1 or found.findings.broken:
        raise _not_whole(source, len(found.findings.broken))
    before = _move_or_copy(target) if target.exists() and target.stat().st_size else None
    copy_over(source, target)
    heads = Heads(target)
    heads.replace(found.findings.ends)
    tighten_files(target)
    if found.schema < tables.RECORD_SCHEMA:  # the next opening brings it up
        heads.path.unlink(missing_ok=True)
    return Kept(target, found.findings.attempts, found.findings.rows, before)


def copies_of(path: Path) -> list[Path]:
    """Copies of records that we have made beside them: backups, and what was kept before something was put over it."""
    beside = [each for each in path.parent.glob(f"{path.name}*") if each.name[len(path.name) :] not in BESIDE]
    return sorted([*beside, *(path.parent / "backups").glob("*.sqlite3")])


def _not_whole(where: Path, broken: int) -> InputError:
    said = text("records.keeping.not_whole", broken=broken)
    return InputError(said, str(where), text("records.keeping.no_backup_legal"))


def there(path: Path | str | None = None) -> Path:
    """The records file that is meant, which must be there.

    Raises
    ------
    InputError : it is not, or is empty.
    """
    found = records_file(path)
    if not found.exists() or found.stat().st_size == 0:
        raise InputError(text("records.keeping.none"), str(found), text("records.keeping.none_legal"))
    return found


def _place_for(source: Path, to: Path | str | None) -> Path:
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    folder = source.parent / "backups" if to is None else Path(to).expanduser().absolute()
    name = f"records-{stamp}.sqlite3"
    try:
        if to is None:
            folder.mkdir(mode=FOLDER, exist_ok=True)
        return folder / name if folder.is_dir() else folder
    except OSError as error:
        reason = error.strerror or str(error)
        raise InputError(text("records.folder_not_writable", reason=reason), str(folder)) from error


def _move_or_copy(target: Path) -> Path:
    """Keep what is there: as a copy where it can be read, else by taking the damaged file out of the way."""
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    before = target.with_name(f"{target.name}.before-restore-{stamp}")
    try:
        copy_file(target, before)
        look(before, {})
        return before
    except InputError:
        before.unlink(missing_ok=True)
    for end in ("-wal", "-shm", ""):
        each = target.with_name(target.name + end)
        if each.exists():
            each.rename(before.with_name(before.name + end))
    return before
