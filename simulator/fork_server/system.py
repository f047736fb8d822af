"""What the system can do, and what the processes agree upon."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

LONGEST = 1 << 20  # [bytes] of one message
#: Variable: address of the fork server of a class, where there is one.
SHARED = "SIMULATOR_FORK_SERVER"
#: A file of the runtime folder that says that the fork server is ready, or that it has failed and nobody needs to wait.
READY = "fork-server-ready"


def can_fork() -> bool:
    """Whether this system forks a process that is full of libraries safely, and can watch it by a descriptor.

    Examples
    --------
    >>> can_fork() and sys.platform != "linux"
    False
    """
    if sys.platform != "linux" or not hasattr(os, "pidfd_open"):
        return False
    try:
        os.close(os.pidfd_open(os.getpid()))
    except OSError:
        return False
    return True


def say_ready() -> None:
    """Leave the file by which others see that there is nothing to wait for."""
    folder = os.environ.get("JUPYTER_RUNTIME_DIR")
    if folder:
        with suppress(OSError):
            (Path(folder) / READY).touch(mode=0o600)
