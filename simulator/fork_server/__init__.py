"""Kernels that are forked from a process in which everything is imported already.

Starting a lesson's kernel the ordinary way costs seconds of processor time, most of it for the same imports again
and again. On Linux the server starts one process (``serve.py``) that imports what the lessons need and warms the model
up; each kernel is then a fork of it (``provisioner.py``, by way of ``client.py``): it stands ready in a fraction of a
second and shares the memory of all that was imported. Where that cannot be done (another system, another kernel than
our own Python, a fork server that failed) a kernel starts as it always did. It is a server extension: the launcher and
the image for Binder switch it on, and it can be left out.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from importlib.metadata import EntryPoint
from pathlib import Path
from typing import Any

#: Name of the provisioner; jupyter_client finds it under this name.
NAME = "callout-fork-server"
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


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    """How the server finds the extension; it is switched on by an option or in ``jupyter_server_config.d``."""
    return [{"module": "simulator.fork_server"}]


def _load_jupyter_server_extension(server: Any) -> None:
    """Called by the server when it starts: the imports begin while it still sets itself up."""
    if not can_fork():
        say_ready()
        return
    # the server alone pays for these
    from jupyter_client.provisioning.factory import KernelProvisionerFactory

    from simulator.fork_server.client import fork_server

    factory = KernelProvisionerFactory.instance(parent=server)
    where = "simulator.fork_server.provisioner:ForkProvisioner"
    factory.provisioners[NAME] = EntryPoint(NAME, where, factory.GROUP_NAME)
    factory.default_provisioner_name = NAME
    fork_server().begin()
