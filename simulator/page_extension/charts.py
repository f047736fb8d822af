"""Plotly's extension for JupyterLab is left off the page and fetched with the first chart: a server's hook, a few lines.

``disabledExtensions`` would not do: JupyterLab downloads the script of a disabled extension of this kind all the same.
"""

from __future__ import annotations

from typing import Any

from simulator.page_extension.lean import lean

PLOTLY = "jupyterlab-plotly"
#: Under this name the page learns where the extension lies that was left out.
KEY = "chartsExtension"


def without_charts(page_config: dict[str, Any]) -> dict[str, Any]:
    """The page's configuration with plotly's extension moved from the list of those that are loaded to a note of its own.

    Parameters
    ----------
    page_config : as JupyterLab has put it together; changed in place and returned.

    Examples
    --------
    >>> page = {"federated_extensions": [{"name": "jupyterlab-plotly", "load": "static/a.js"}, {"name": "other"}]}
    >>> without_charts(page)
    {'federated_extensions': [{'name': 'other'}], 'chartsExtension': {'name': 'jupyterlab-plotly', 'load': 'static/a.js'}}
    """
    extensions = page_config.get("federated_extensions", [])
    for extension in extensions:
        if extension.get("name") == PLOTLY:
            page_config[KEY] = extension
    page_config["federated_extensions"] = [each for each in extensions if each.get("name") != PLOTLY]
    return page_config


def install(settings: dict[str, Any]) -> None:
    """Put the hook into a server's settings, behind one that stands there already.

    Parameters
    ----------
    settings : of the server's web application.

    Examples
    --------
    >>> settings = {}
    >>> install(settings)
    >>> settings["page_config_hook"](None, {"federated_extensions": []})
    {'federated_extensions': []}
    """
    from simulator.page_extension.waiting import is_lesson  # here: it needs a server

    before = settings.get("page_config_hook")

    def hook(handler: Any, page_config: dict[str, Any]) -> dict[str, Any]:
        page = without_charts(before(handler, page_config) if before else page_config)
        return lean(page) if handler is not None and is_lesson(handler.request.path) else page

    settings["page_config_hook"] = hook
