"""Kernels that are forked from a process in which everything is imported already.

Starting a lesson's kernel the ordinary way costs seconds of processor time, most of it for the same imports again
and again. On Linux the server starts one process (``serve.py``) that imports what the lessons need and warms the model
up; each kernel is then a fork of it (``provisioner.py``, by way of ``client.py``): it stands ready in a fraction of a
second and shares the memory of all that was imported. Where that cannot be done (another system, another kernel than
our own Python, a fork server that failed) a kernel starts as it always did. It is a server extension: the launcher and
the image for Binder switch it on, and it can be left out.
"""

from __future__ import annotations

from importlib.metadata import EntryPoint
from typing import Any

from simulator.fork_server.system import can_fork, say_ready

#: Name of the provisioner; jupyter_client finds it under this name.
NAME = "callout-fork-server"


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
