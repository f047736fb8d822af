"""Where the records lie: a folder of the user's own, on a disk of this machine."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import platformdirs

from simulator.errors import InputError
from simulator.records.private import private_folder
from simulator.texts import text

DATA_FOLDER_VARIABLE = "SIMULATOR_DATA_DIR"
FILE_NAME = "records.sqlite3"
#: File systems on which locks and shared memory cannot be relied upon.
NETWORK_TYPES = frozenset(
    {
        *("nfs", "nfs3", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "afpfs", "afs", "ncpfs", "webdav"),
        *("davfs", "davfs2", "ceph", "glusterfs", "lustre", "beegfs", "gpfs", "ocfs2", "gfs2", "orangefs"),
        *("pvfs2", "9p", "fuse.sshfs", "fuse.ceph", "fuse.glusterfs", "fuse.rclone", "fuse.s3fs"),
        *("fuse.davfs2", "fuse.gvfsd-fuse", "fuse.smbnetfs", "fuse.gcsfuse", "fuse.goofys"),
    }
)


def data_folder() -> Path:
    """The folder records lie in: ``SIMULATOR_DATA_DIR`` if set, else the user's own data folder.

    Examples
    --------
    >>> data_folder().is_absolute()
    True
    """
    named = os.environ.get(DATA_FOLDER_VARIABLE, "")
    folder = Path(named) if named else Path(platformdirs.user_data_dir("callout-simulator", appauthor=False))
    return folder.expanduser().absolute()


def ready_file(path: Path) -> Path:
    """The records file at a path, its folder made; a folder means the file of the usual name in it.

    A folder that is made is closed to others, and so is the user's own data folder where it was open.

    Raises
    ------
    InputError : the folder cannot be made or written to, or lies on a network file system.
    """
    path = path.expanduser().absolute()
    if path.is_dir():
        path = path / FILE_NAME
    folder = path.parent
    refuse_network(folder)
    try:
        private_folder(folder, tighten=folder == data_folder())
        handle, probe = tempfile.mkstemp(prefix=".probe", dir=folder)
        os.close(handle)
        Path(probe).unlink()
    except OSError as error:
        raise InputError(
            text("records.folder_not_writable", reason=error.strerror or str(error)),
            str(folder),
            text("records.folder_legal", variable=DATA_FOLDER_VARIABLE),
        ) from error
    return path


def refuse_network(folder: Path) -> None:
    """Raise a sentence where a folder lies on a network file system.

    Raises
    ------
    InputError : it does.
    """
    kind = file_system_type(folder)
    if kind in NETWORK_TYPES:
        raise InputError(
            text("records.network", kind=kind),
            str(folder),
            text("records.folder_legal", variable=DATA_FOLDER_VARIABLE),
        )


def file_system_type(folder: Path) -> str:
    """Type of the file system a folder lies on, as the system names it; empty where it cannot be told.

    The folder need not exist yet. A Windows network drive or share gives ``smb``.
    """
    resolved = Path(os.path.realpath(folder))
    if sys.platform == "win32":
        return "smb" if _windows_network(str(resolved)) else ""
    return _type_in(_mounts(), resolved)


def _mounts() -> list[tuple[str, str]]:
    """(folder, type) of every mounted file system, the latest last."""
    try:
        written = Path("/proc/self/mounts").read_text(encoding="utf-8", errors="surrogateescape")
    except OSError:
        return _mounts_by_command()
    rows = [line.split(" ") for line in written.splitlines()]
    return [(_unescaped(row[1]), row[2]) for row in rows if len(row) > 2]


def _unescaped(folder: str) -> str:
    return re.sub(r"\\([0-7]{3})", lambda found: chr(int(found[1], 8)), folder)


def _mounts_by_command() -> list[tuple[str, str]]:
    """The same where there is no /proc, from the lines of ``mount``: ``what on folder (type, options)``."""
    try:
        done = subprocess.run(["/sbin/mount"], capture_output=True, text=True, timeout=5, check=False)
    except (OSError, subprocess.SubprocessError):
        return []
    found = (re.match(r".* on (/.*) \(([^,)]+)", line) for line in done.stdout.splitlines())
    return [(each[1], each[2]) for each in found if each]


def _type_in(mounts: list[tuple[str, str]], folder: Path) -> str:
    """Type of the deepest mount a folder lies under.

    Examples
    --------
    >>> _type_in([("/", "ext4"), ("/class", "nfs4")], Path("/class/ash"))
    'nfs4'
    >>> _type_in([("/", "ext4"), ("/class", "nfs4")], Path("/classroom"))
    'ext4'
    """
    best, kind = -1, ""
    for mount, each in mounts:
        inside = folder == Path(mount) or Path(mount) in folder.parents
        if inside and len(mount) >= best:  # a later mount hides an earlier one
            best, kind = len(mount), each
    return kind


def _windows_network(path: str) -> bool:
    r"""Whether a Windows path is a share (``\\host\share``) or on a drive that stands for one."""
    device = path.startswith(("\\\\?\\", "\\\\.\\"))
    if path.startswith("\\\\?\\UNC") or (path.startswith("\\\\") and not device):
        return True
    if sys.platform != "win32":
        return False
    import ctypes

    remote = 4  # DRIVE_REMOTE
    return ctypes.windll.kernel32.GetDriveTypeW(Path(path).drive + "\\") == remote
