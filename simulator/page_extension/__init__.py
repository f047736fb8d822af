"""The JupyterLab extension that opens the simulator's own lessons as pages.

It is written by hand and ready to use: ``labextension/`` is what JupyterLab loads, from a wheel under
``share/jupyter/labextensions``, from a source tree by the option ``--LabApp.extra_labextensions_path``.
Only a notebook whose fingerprint stands in ``manifest.json`` is touched.
"""

from __future__ import annotations

from pathlib import Path

NAME = "callout-lesson-page"


def labextensions_path() -> Path:
    """The folder to hand to JupyterLab as an extra path for extensions.

    Examples
    --------
    >>> (labextensions_path() / NAME / "package.json").is_file()
    True
    """
    return Path(__file__).parent / "labextension"
