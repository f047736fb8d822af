"""The process that kernels are forked from: imports everything, then forks whenever the server asks.

It has no address: it is reached by one end of a pair of sockets that it inherits, and ends when the other end closes.
In a class one such process (``--listen``) imports for all: it forks a server for each learner's that connects, so
that what was imported is held once and read once. Its address is a file in a folder of its owner's alone.
Nothing here may leave a thread behind: only the thread that forks lives on in the child.
"""

from __future__ import annotations

import argparse
import ctypes
import gc
import json
import os
import select
import signal
import socket
import sys
from collections.abc import Iterable
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import Any

from simulator.fork_server.system import LONGEST, say_ready

SET_PARENT_DEATH_SIGNAL = 1  # of Linux's prctl
MOST_WAITING = 64  # [-] of a class who connect at once
#: What a kernel imports before a lesson comes.
KERNEL = ("ipykernel.kernelapp", "ipykernel.ipkernel", "ipykernel.zmqshell", "ipywidgets", "anywidget")


def modules() -> list[str]:
    """What is imported in advance: the kernel's own modules, and the page of every lesson with all it needs.

    Examples
    --------
    >>> "simulator.panels.lessons.start_here.page" in modules()
    True
    """
    registry = import_module("simulator.panels.lessons.registry")
    return [*KERNEL, *(entry.module for entry in registry.LESSONS.values())]


def prepare(names: Iterable[str]) -> list[str]:
    """Import modules; what cannot be imported is said by the kernel that needs it, so here it only counts as left out.

    Parameters
    ----------
    names : of modules.

    Returns
    -------
    The names that were left out.

    Examples
    --------
    >>> prepare(["json", "no_such_module"])
    ['no_such_module']
    """
    left_out = []
    for name in names:
        try:
            import_module(name)
        except Exception:  # noqa: BLE001 - whatever a lesson's module raises, the others are still wanted
            left_out.append(name)
    return left_out


def warm_up() -> None:
    """Run the model once: what is compiled, or read from what was, every kernel then has."""
    with suppress(Exception):  # a model that does not run is said where it is used
        import_module("simulator.instruments.warm_up").warm_up()


def reap() -> None:
    """Let go of kernels that have ended."""
    with suppress(ChildProcessError):
        while os.waitpid(-1, os.WNOHANG)[0]:
            pass


def end_with(parent: int) -> None:
    """In a forked child: end when the process that forked it ends, or has ended already.

    A kernel looks after its parent by itself, but only once it has begun, and not where it is then process 1 or
    another's that has taken it in.

    Parameters
    ----------
    parent : number of the process that forked it, as that one knew it.
    """
    ctypes.CDLL(None).prctl(SET_PARENT_DEATH_SIGNAL, signal.SIGKILL)
    if os.getppid() != parent:
        os._exit(0)


def become_a_kernel(asked: dict[str, Any], parent: int) -> list[str]:
    """In the forked child: folder, variables, signals and group of a program that was started by itself.

    Parameters
    ----------
    asked : ``arguments``, ``cwd`` and ``env``.
    parent : number of the process that forked it.

    Returns
    -------
    The arguments of the kernel.
    """
    end_with(parent)
    os.setsid()
    os.chdir(asked["cwd"])
    os.environ.clear()
    os.environ.update(asked["env"])
    os.environ["JPY_PARENT_PID"] = str(parent)
    with Path(os.devnull).open("rb") as nothing:
        os.dup2(nothing.fileno(), 0)
    signal.signal(signal.SIGINT, signal.default_int_handler)
    numpy = sys.modules.get("numpy")
    if numpy is not None:
        numpy.random.seed()  # all forks would draw the same
    return [*asked["arguments"], f"--IPKernelApp.parent_handle={parent}"]


def serve(link: socket.socket) -> list[str] | None:
    """Fork for each message until the other end closes.

    A message is a JSON object of ``arguments``, ``cwd`` and ``env``; the answer is the new process's number, with a
    descriptor of the process.

    Parameters
    ----------
    link : of a pair of sockets that keep messages apart.

    Returns
    -------
    In a forked child the arguments of its kernel; in the server, at its end, nothing.
    """
    while True:
        ready, _, _ = select.select([link], [], [], 1.0)
        reap()
        if not ready:
            continue
        message = link.recv(LONGEST)
        if not message:
            return None
        asked = json.loads(message)
        server, pid = os.getpid(), os.fork()
        if pid == 0:
            link.close()
            return become_a_kernel(asked, server)
        watch = os.pidfd_open(pid)
        try:
            socket.send_fds(link, [str(pid).encode()], [watch])
        finally:
            os.close(watch)


def share(address: Path) -> socket.socket | None:
    """Fork a server for each that connects, until the one that started this is gone.

    Parameters
    ----------
    address : of a file, which must not be there yet, in a folder that only its owner may enter.

    Returns
    -------
    In a forked server its link, with which it is to :func:`serve`; here, at the end, nothing.
    """
    parent = os.getppid()
    with socket.socket(socket.AF_UNIX, socket.SOCK_SEQPACKET) as door:
        door.bind(str(address))
        door.listen(MOST_WAITING)
        while os.getppid() == parent:
            ready, _, _ = select.select([door], [], [], 1.0)
            reap()
            if not ready:
                continue
            link, _ = door.accept()
            if os.fork() == 0:
                os.setsid()
                link.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, LONGEST)
                return link
            link.close()
    return None


def main(arguments: list[str] | None = None) -> None:
    """Prepare, serve; in a child, be the kernel.

    Parameters
    ----------
    arguments : of the command line.
    """
    parser = argparse.ArgumentParser(description=__doc__)
    way = parser.add_mutually_exclusive_group(required=True)
    way.add_argument("--link", type=int, help="descriptor of this end of the pair of sockets")
    way.add_argument("--listen", type=Path, help="address at which servers of a class connect")
    given = parser.parse_args(arguments)
    if sys.path and Path(sys.path[0] or ".").resolve() == Path.cwd():
        del sys.path[0]  # as ipykernel does: a file of the learner's must not stand in for a library
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    given_link = socket.socket(fileno=given.link) if given.listen is None else None
    try:
        prepare(modules())
        warm_up()
    finally:
        say_ready()
    gc.collect()
    gc.freeze()  # what is shared stays shared
    link = given_link or share(given.listen)
    if link is None:
        return
    with link:
        link.send(b"ready")
        kernel = serve(link)
    if kernel is not None:
        sys.argv = ["ipykernel_launcher", *kernel]
        import_module("ipykernel.kernelapp").launch_new_instance()


if __name__ == "__main__":
    main()
