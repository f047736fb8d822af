"""The JupyterLab extension that opens the simulator's own lessons as pages.

It is written by hand and ready to use: ``labextension/`` is what JupyterLab loads, from a wheel under
``share/jupyter/labextensions``, from a source tree by the option ``--LabApp.extra_labextensions_path``.
Only a notebook whose fingerprint stands in ``manifest.json`` is touched.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from simulator.page_extension.charts import install

NAME = "callout-lesson-page"
#: Set where a proxy stands in front that cannot pass on packed messages, as the class's in plain Python.
PLAIN_SOCKETS = "SIMULATOR_PLAIN_SOCKETS"


def labextensions_path() -> Path:
    """The folder to hand to JupyterLab as an extra path for extensions.

    Examples
    --------
    >>> (labextensions_path() / NAME / "package.json").is_file()
    True
    """
    return Path(__file__).parent / "labextension"


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    """How the server finds the extension; it is switched on in ``jupyter_server_config.d`` or by an option."""
    return [{"module": "simulator.page_extension"}]


def _load_jupyter_server_extension(server: Any) -> None:
    """Called by the server when it starts: charts come when asked for, and scripts, styles and pages go out packed."""
    from tornado.web import GZipContentEncoding  # here: who only asks for a path needs no server

    from simulator.page_extension.waiting import WaitingPage

    install(server.web_app.settings)
    server.web_app.add_transform(WaitingPage)  # before it is packed
    server.web_app.add_transform(GZipContentEncoding)
    if not os.environ.get(PLAIN_SOCKETS):
        server.web_app.settings["websocket_compression_options"] = {}  # what kernels say too
