"""A provisioner, as jupyter_client calls what starts its kernels: ours come from the fork server where they can."""

from __future__ import annotations

import asyncio
import os
import sys
from pathlib import Path
from typing import Any

from jupyter_client.provisioning.local_provisioner import LocalProvisioner

from simulator.fork_server.client import NotForkedError, fork_server
from simulator.fork_server.system import can_fork

OURS = ["-m", "ipykernel_launcher"]


def arguments_of(command: list[str]) -> list[str] | None:
    """What an ordinary kernel of this very Python is started with; nothing for any other program.

    Parameters
    ----------
    command : program and arguments.

    Examples
    --------
    >>> arguments_of([sys.executable, "-m", "ipykernel_launcher", "-f", "kernel.json"])
    ['-f', 'kernel.json']
    >>> arguments_of(["/usr/bin/R", "--slave"])
    """
    ours = Path(command[0]).parent == Path(sys.executable).parent and command[1:3] == OURS
    return command[3:] if ours else None


class ForkProvisioner(LocalProvisioner):
    """Starts a kernel as a fork of the fork server, or as its base class does where that cannot be."""

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> Any:
        """Start a kernel.

        Parameters
        ----------
        cmd : the command of the kernel's specification, filled in.

        Returns
        -------
        How to connect to it.
        """
        arguments = arguments_of(cmd) if can_fork() else None
        if arguments is not None:
            cwd, env = str(kwargs.get("cwd") or Path.cwd()), kwargs.get("env") or dict(os.environ)
            try:
                process = await asyncio.to_thread(fork_server().fork, arguments, cwd, env)
            except NotForkedError as error:
                self.log.warning("The kernel starts without the fork server: %s", error)
            else:
                self.process = process  # type: ignore[assignment]
                self.pid = self.pgid = process.pid  # it leads a group of its own
                self.cwd = cwd  # type: ignore[assignment]
                return self.connection_info
        return await super().launch_kernel(cmd, **kwargs)
