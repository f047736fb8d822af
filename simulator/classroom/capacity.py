"""How many learners a machine carries at once, by its memory."""

from __future__ import annotations

import os
from pathlib import Path

#: Memory of one learner [byte] with two open lessons where kernels are forked (Linux) and a class shares what
#: is imported. Thirty at once took 188 MB each (``python -m tests.classroom.load``); a third is added.
EACH = 250e6
#: The same where each kernel imports for itself.
EACH_UNFORKED = 400e6
#: The same where each learner has an account of their own: then each imports for themselves.
EACH_PARTED = 600e6
#: Left for the system, the hub and what else runs here [byte].
SPARE = 1.5e9


def free_memory() -> float:
    """Memory that can be had without swapping [byte]; in a container what is left of its share.

    Examples
    --------
    >>> free_memory() > 0
    True
    """
    try:
        for line in Path("/proc/meminfo").read_text(encoding="ascii").splitlines():
            if line.startswith("MemAvailable:"):
                return min(float(line.split()[1]) * 1024.0, left_of_share())
    except OSError:
        pass
    return float(os.sysconf("SC_PAGE_SIZE")) * float(os.sysconf("SC_PHYS_PAGES")) * 0.7


def left_of_share(folder: Path = Path("/sys/fs/cgroup")) -> float:
    """What a container may still take [byte] (control groups of Linux, version 2); without a limit infinity.

    Parameters
    ----------
    folder : where the system tells it.

    Examples
    --------
    >>> left_of_share(Path("nowhere"))
    inf
    """
    try:
        most = (folder / "memory.max").read_text(encoding="ascii").strip()
        taken = (folder / "memory.current").read_text(encoding="ascii").strip()
        return float("inf") if most == "max" else max(float(most) - float(taken), 0.0)
    except (OSError, ValueError):
        return float("inf")


def carried(memory: float, *, own_accounts: bool = False, forked: bool = True) -> int:
    """How many learners may work at once [-], at least one.

    Parameters
    ----------
    memory : that can be had [byte].
    own_accounts : whether each learner has an account of their own.
    forked : whether kernels are forked on this system.

    Examples
    --------
    >>> carried(24e9), carried(8e9), carried(0.5e9), carried(8e9, forked=False)
    (90, 26, 1, 16)
    """
    each = EACH_PARTED if own_accounts else EACH if forked else EACH_UNFORKED
    return max(1, int((memory - SPARE) / each))
