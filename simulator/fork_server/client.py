"""The server's side: starts the fork server, asks it for kernels, and watches what it forked."""

from __future__ import annotations

import json
import os
import select
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from functools import lru_cache

from simulator.fork_server.system import LONGEST, SHARED, say_ready

PATIENCE = 90.0  # [s] for the imports and, the first time on a machine, the compiler


class NotForkedError(RuntimeError):
    """The fork server is not there, or not any more: start the kernel the ordinary way."""


class NotReadyError(NotForkedError):
    """It is still importing."""


class ForkedProcess:
    """A process that another one forked, with what jupyter_client asks of a ``subprocess.Popen``.

    Its number may be somebody else's once it has ended; the descriptor is this process for good.

    Parameters
    ----------
    pid : its number.
    watch : a descriptor of the process, which is closed with this object.
    """

    stdin = stdout = stderr = None

    def __init__(self, pid: int, watch: int) -> None:
        self.pid = pid
        self.returncode: int | None = None
        self._watch = watch

    def poll(self) -> int | None:
        """Nothing while it runs, afterwards 0: how it ended is known to the fork server alone."""
        if self.returncode is None and select.select([self._watch], [], [], 0)[0]:
            self._ended()
        return self.returncode

    def wait(self, timeout: float | None = None) -> int:
        """Wait for its end.

        Parameters
        ----------
        timeout : longest wait [s]; without one, for ever.

        Raises
        ------
        subprocess.TimeoutExpired : it still runs after ``timeout`` seconds.
        """
        if self.returncode is None:
            if not select.select([self._watch], [], [], timeout)[0]:
                raise subprocess.TimeoutExpired("kernel", timeout or 0.0)
            self._ended()
        return self.returncode or 0

    def _ended(self) -> None:
        self.returncode = 0
        os.close(self._watch)

    def send_signal(self, signum: int) -> None:
        """Send it a signal, unless it has ended.

        Parameters
        ----------
        signum : number of the signal.
        """
        if self.poll() is None:
            signal.pidfd_send_signal(self._watch, signum)

    def terminate(self) -> None:
        """Ask it to end."""
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        """End it."""
        self.send_signal(signal.SIGKILL)

    def __del__(self) -> None:
        if self.returncode is None:
            os.close(self._watch)


class ForkServer:
    """The one fork server of a Jupyter server."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._link: socket.socket | None = None
        self._process: subprocess.Popen[bytes] | None = None
        self._ready = False
        self._slow: list[
            object
        ] = []  # sockets and processes that are asked for nothing any more, and live on

    def begin(self) -> None:
        """Start it, if it does not run; it imports while others do something else."""
        with self._lock:
            self._begin()

    def _begin(self) -> None:
        if self._link is not None:
            return
        self._link = _of_the_class()
        if self._link is not None:
            say_ready()
            return
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        for end in (ours, theirs):
            end.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, LONGEST)
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "simulator.fork_server.serve", "--link", str(theirs.fileno())],
                stdin=subprocess.DEVNULL,
                pass_fds=[theirs.fileno()],
                start_new_session=True,
            )
        self._link = ours

    def fork(self, arguments: Sequence[str], cwd: str, env: Mapping[str, str]) -> ForkedProcess:
        """A new kernel. Waits for the imports where they are not done yet.

        Parameters
        ----------
        arguments : of the kernel, such as ``["-f", "kernel.json"]``.
        cwd : its folder.
        env : all its variables.

        Raises
        ------
        NotForkedError : there is no fork server any more, or it does not answer in time.
        """
        message = {"arguments": list(arguments), "cwd": cwd, "env": dict(env)}
        with self._lock:
            self._begin()
            assert self._link is not None
            self._link.settimeout(PATIENCE)
            try:
                self._wait_for_imports(self._link)
                self._link.send(json.dumps(message).encode())
                answer, watched, _, _ = socket.recv_fds(self._link, LONGEST, 1)
                if not answer or not watched:
                    raise NotForkedError("the fork server has ended")
            except NotReadyError:
                raise  # it goes on, and will be ready for a later kernel
            except TimeoutError as error:
                # Kernels end with the process they were forked from: one that only dawdles is left alone with its own.
                self._slow.append((self._link, self._process))
                self._link, self._process, self._ready = None, None, False
                raise NotForkedError(str(error)) from error
            except (OSError, NotForkedError) as error:
                self._leave()
                raise NotForkedError(str(error)) from error
            return ForkedProcess(int(answer), watched[0])

    def _wait_for_imports(self, link: socket.socket) -> None:
        if self._ready:
            return
        if not select.select([link], [], [], PATIENCE)[0]:
            raise NotReadyError(f"not everything was imported within {PATIENCE:g} s")
        if link.recv(LONGEST) != b"ready":
            raise NotForkedError("the fork server has ended")
        self._ready = True

    def _leave(self) -> None:
        """Let it go with all that it was asked; the next kernel gets a new one."""
        if self._link is not None:
            self._link.close()
        if self._process is not None:
            self._process.kill()
            self._process.wait()
        self._link, self._process, self._ready = None, None, False

    def end(self) -> None:
        """End it; kernels that it forked see that their parent is gone, and end too."""
        with self._lock:
            self._leave()


def _of_the_class() -> socket.socket | None:
    """A link to a server forked for this one by that of the class; None where there is none, or it is not there yet."""
    address = os.environ.get(SHARED, "")
    if not address:
        return None
    link = socket.socket(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    try:
        link.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, LONGEST)
        link.connect(address)
    except OSError:
        link.close()
        return None
    return link


@lru_cache(maxsize=1)
def fork_server() -> ForkServer:
    """The fork server of this process."""
    return ForkServer()
