"""A local account for each learner of a class, so that nobody's code can reach what another's pages, or the class, hold.

For a class that the machine's administrator opens on Linux. Accounts are made at the first log-in (``useradd``), are
nobody's to log in with otherwise, and go with the learner. What learners' pages run from is opened to all users of the
machine, what holds answers is shut to them.

Throughout: ``account`` is that of a learner at the hub, such as ``learner-1``.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import stat
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from jupyterhub.spawner import LocalProcessSpawner, set_user_setuid
from traitlets import Unicode

from simulator.classroom.people_and_pins import TRAINER
from simulator.classroom.starting import InTurn
from simulator.errors import InputError
from simulator.texts import text

PREFIX = "class-"
OURS = "learner of a class"  # what stands in the list of accounts beside those made here
TOOLS = ("useradd", "userdel")
READ, ENTER = 0o044, 0o011


def why_not() -> str:
    """Why learners cannot have accounts of their own here; nothing where they can.

    Examples
    --------
    >>> isinstance(why_not(), str)
    True
    """
    if sys.platform != "linux" or any(shutil.which(tool) is None for tool in TOOLS):
        return text("classroom.accounts.not_here")
    if os.geteuid() != 0:
        return text("classroom.accounts.not_root")
    return ""


def account_name(account: str) -> str:
    """What the machine calls a learner's account.

    Examples
    --------
    >>> account_name("learner-1")
    'class-learner-1'
    """
    return f"{PREFIX}{account}"


def local_account(account: str) -> Any:
    """The local account of a learner, as ``pwd`` has it; made where there is none yet, with a home for it alone.

    Raises
    ------
    InputError : somebody else's account has this name, or none can be made.
    """
    import pwd

    name = account_name(account)
    try:
        found = pwd.getpwnam(name)
    except KeyError:
        made = [
            "useradd",
            "--create-home",
            "--user-group",
            "--shell",
            "/usr/sbin/nologin",
            "--comment",
            OURS,
            name,
        ]
        done = subprocess.run([*made, "--key", "UMASK=0077"], capture_output=True, text=True, check=False)
        if done.returncode:
            raise InputError(
                text("classroom.accounts.not_made", reason=done.stderr.strip()).rstrip("."), name
            ) from None
        found = pwd.getpwnam(name)
        Path(found.pw_dir).chmod(0o700)
    if found.pw_gecos.split(",")[0] != OURS or found.pw_uid == 0:
        raise InputError(text("classroom.accounts.taken").rstrip("."), name)
    return found


def remove_account(account: str) -> None:
    """Take a learner's local account away with its home and all that still runs under it; nothing where there is none."""
    import pwd

    try:
        found = pwd.getpwnam(account_name(account))
    except KeyError:
        return
    if found.pw_gecos.split(",")[0] != OURS or found.pw_uid == 0:
        return
    for process in Path("/proc").iterdir():
        with contextlib.suppress(OSError):  # it has just ended
            if process.name.isdecimal() and process.stat().st_uid == found.pw_uid:
                os.kill(int(process.name), signal.SIGKILL)
    subprocess.run(["userdel", "--remove", "--force", found.pw_name], capture_output=True, check=False)


def as_account(account: str, command: list[str], told: str = "") -> str:
    """What a command says that runs under a learner's account, in its home, with nothing of the caller's variables.

    Parameters
    ----------
    command : with its arguments.
    told : what it reads.

    Raises
    ------
    InputError : it failed.
    """
    who = local_account(account)
    done = subprocess.run(
        command, input=told, capture_output=True, text=True, check=False, cwd=who.pw_dir, user=who.pw_uid,
        group=who.pw_gid, extra_groups=[], umask=0o077,
        env={"PATH": os.defpath, "HOME": who.pw_dir, "LC_ALL": "C.UTF-8", "PYTHONNOUSERSITE": "1"},
    )  # fmt: skip
    if done.returncode:
        raise InputError(
            text("classroom.accounts.cannot", reason=done.stderr.strip()[-300:]).rstrip("."), who.pw_name
        )
    return done.stdout


def open_to_all(folders: Iterable[Path]) -> None:
    """Let all users of the machine read what learners' pages run from; nobody else may change any of it.

    Parameters
    ----------
    folders : with all in them; links are left as they are.
    """
    for top in folders:
        for folder, _, names in os.walk(top):
            _add(Path(folder), READ | ENTER)
            for name in names:
                path = Path(folder, name)
                if not path.is_symlink():
                    _add(path, READ | (ENTER if path.stat().st_mode & stat.S_IXUSR else 0))


def let_enter(folder: Path) -> None:
    """Let all users of the machine go through a folder, but not look what is in it.

    Parameters
    ----------
    folder : that lies above what they may read.
    """
    _add(folder, ENTER)


def shut_to_others(paths: Iterable[Path]) -> None:
    """Let nobody but their owner read what holds answers.

    Parameters
    ----------
    paths : files and folders; those that are not there are left out.
    """
    for path in paths:
        if path.exists():
            path.chmod(stat.S_IMODE(path.stat().st_mode) & 0o700)


def _add(path: Path, rights: int) -> None:
    mode = stat.S_IMODE(path.stat().st_mode)
    if mode & rights != rights:
        path.chmod(mode | rights)


class OwnAccountSpawner(InTurn, LocalProcessSpawner):
    """Starts each learner's server under the learner's own local account, the trainer's under the hub's."""

    trainer_home = Unicode("", help="Where the trainer's server runs.").tag(config=True)

    def make_preexec_fn(self, name: str) -> Any:
        """What the new process does before all else: it becomes the learner's.

        Parameters
        ----------
        name : of the account at the hub.
        """
        if name != TRAINER:
            return set_user_setuid(account_name(name))
        home = self.trainer_home

        def at_home() -> None:
            Path(home).mkdir(0o700, parents=True, exist_ok=True)
            os.chdir(home)

        return at_home

    def user_env(self, env: dict[str, str]) -> dict[str, str]:
        """Name and home of the account.

        Parameters
        ----------
        env : variables that the server is started with.
        """
        if self.user.name == TRAINER:
            return env | {"USER": TRAINER, "HOME": self.trainer_home, "SHELL": "/bin/sh"}
        who = local_account(self.user.name)
        return env | {"USER": who.pw_name, "LOGNAME": who.pw_name, "HOME": who.pw_dir, "SHELL": who.pw_shell}
