"""How a server of the lessons is set up: the options and variables of JupyterLab, for one person and for a class.

Standard library only: the launchers read it before anything is installed.
"""

from __future__ import annotations

import json
import os
from datetime import UTC, datetime
from pathlib import Path

from environment import PROJECT, clean_variables, own_folder

# Runs the model once: what it compiles is kept, so that no lesson has to wait for the compiler.
WARM_UP = "from simulator.instruments.warm_up import warm_up; warm_up()"
QUIET_SETTINGS = {
    "@jupyterlab/apputils-extension:notification": {
        "fetchNews": "false",
        "checkForUpdates": False,
        "doNotDisturbMode": True,
    },
    "@jupyterlab/docmanager-extension:plugin": {"autosave": False},
    "@jupyterlab/notebook-extension:tracker": {"autoStartDefaultKernel": True, "windowingMode": "none"},
}


def policy(sockets: str = "ws://127.0.0.1:*") -> str:
    """What a page may load, and from where: from this server. A picture in a stranger's notebook asks nobody outside.

    ``sockets`` are the addresses at which kernels are spoken with.
    """
    parts = (
        "default-src 'self'",
        "script-src 'self' 'unsafe-inline' 'unsafe-eval' blob:",  # the notebook compiles code, widgets come as blobs
        "style-src 'self' 'unsafe-inline'",
        "img-src 'self' data: blob:",
        "font-src 'self' data:",
        "media-src 'self' data: blob:",
        f"connect-src 'self' {sockets} data: blob:",
        "worker-src 'self' blob:",
        "frame-src 'self' data: blob:",
        "object-src 'none'",
        "base-uri 'self'",
        "form-action 'self'",
        "frame-ancestors 'self'",
    )
    return "; ".join(parts)


def server_options(state: Path, port: int, root: Path = PROJECT) -> list[str]:
    """The options that make JupyterLab open quietly for one person, on this machine alone."""
    return [
        "--no-browser",
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.port={port}",
        "--ServerApp.port_retries=0",
        *common_options(state, root, policy()),
    ]


def common_options(state: Path, root: Path, allowed: str) -> list[str]:
    """The options of every server of the lessons: quiet, closed, with the project's own extensions.

    ``state`` is a folder for its settings, ``root`` holds the lessons, ``allowed`` is the policy of its pages.
    """
    settings = state / "app-settings"
    settings.mkdir(parents=True, exist_ok=True)
    (settings / "overrides.json").write_text(json.dumps(QUIET_SETTINGS, indent=1), encoding="utf-8")
    root_user = ["--allow-root"] if getattr(os, "geteuid", lambda: 1)() == 0 else []
    headers = {"headers": {"Content-Security-Policy": allowed}}
    return [
        *root_user,
        # the ports of a kernel stand open to everybody on the machine; what goes through them is for those with its key
        "--KernelManager.transport_encryption=required",
        f"--ServerApp.root_dir={root}",
        "--ServerApp.log_level=WARN",
        "--ServerApp.jpserver_extensions=simulator.page_extension=True",
        "--ServerApp.jpserver_extensions=simulator.fork_server=True",
        f"--ServerApp.tornado_settings={headers!r}",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
        f"--LabApp.app_settings_dir={settings}",
        f"--LabApp.extra_labextensions_path={PROJECT / 'simulator' / 'page_extension' / 'labextension'}",
    ]


def server_variables(state: Path, token: str, runtime: Path | None = None) -> dict[str, str]:
    """The caller's variables with folders of the project's own, and the token of the server of one person.

    The token is handed over here: a command line is for everybody on the machine to read, these variables are not.
    """
    own = {key for key in os.environ if key.startswith(("JUPYTER", "IPYTHON"))}
    kept = {key: value for key, value in clean_variables().items() if key not in own}
    return kept | own_folders(state, runtime) | {"JUPYTER_TOKEN": token}


def own_folders(state: Path, runtime: Path | None = None) -> dict[str, str]:
    """Folders of the project's own for all that JupyterLab and IPython write, or would read of the user's, made here.

    With them goes the time at which these lessons were opened, by which a page knows whose name was given since.
    """
    folders = {
        "JUPYTER_CONFIG_DIR": state / "config",
        "JUPYTER_DATA_DIR": state / "data",
        "JUPYTER_RUNTIME_DIR": runtime or state / "runtime",
        "JUPYTERLAB_SETTINGS_DIR": state / "settings",
        "JUPYTERLAB_WORKSPACES_DIR": state / "workspaces",
        "IPYTHONDIR": state / "ipython",
    }
    own_folder(state)
    for folder in folders.values():
        own_folder(folder)
    now = datetime.now(UTC).isoformat(timespec="milliseconds")
    chosen = {key: str(folder) for key, folder in folders.items()}
    return chosen | {"JUPYTER_PREFER_ENV_PATH": "1", "SIMULATOR_OPENED_AT": now.replace("+00:00", "Z")}
