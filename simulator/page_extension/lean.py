"""What no lesson uses is left out of its page: parts of JupyterLab that would start, ask the server and show nothing.

The pages of our lessons alone go without; JupyterLab itself, and every other notebook in it, has all of them.
"""

from __future__ import annotations

from typing import Any

#: Extensions, or single plugins of one, that take time when a page opens and show nothing on a lesson.
NOT_USED = (
    "@jupyterlab/application-extension:faviconbusy",
    "@jupyterlab/application-extension:property-inspector",
    "@jupyterlab/apputils-extension:announcements",
    "@jupyterlab/apputils-extension:licenses-client",
    "@jupyterlab/apputils-extension:licenses-plugin",
    "@jupyterlab/apputils-extension:palette-restorer",
    "@jupyterlab/apputils-extension:resolver",  # a lesson's page opens its lesson; no window is remembered and waited for
    "@jupyterlab/apputils-extension:running-sessions-status",
    "@jupyterlab/apputils-extension:splash",
    "@jupyterlab/audio-extension",
    "@jupyterlab/celltags-extension",
    "@jupyterlab/console-extension",
    "@jupyterlab/csvviewer-extension",
    "@jupyterlab/debugger-extension",
    "@jupyterlab/extensionmanager-extension",
    "@jupyterlab/fileeditor-extension",
    "@jupyterlab/htmlviewer-extension",
    "@jupyterlab/imageviewer-extension",
    "@jupyterlab/inspector-extension",
    "@jupyterlab/javascript-extension",
    "@jupyterlab/json-extension",
    "@jupyterlab/json-lines-extension",
    "@jupyterlab/launcher-extension",
    "@jupyterlab/logconsole-extension",
    "@jupyterlab/lsp-extension",
    "@jupyterlab/markdownviewer-extension",
    "@jupyterlab/mermaid-extension",
    "@jupyterlab/metadataform-extension",
    "@jupyterlab/notebook-extension:code-console",
    "@jupyterlab/notebook-extension:export",
    "@jupyterlab/notebook-extension:language-server",
    "@jupyterlab/notebook-extension:log-output",
    "@jupyterlab/notebook-extension:metadata-editor",
    "@jupyterlab/notebook-extension:toc",
    "@jupyterlab/notebook-extension:tools",
    "@jupyterlab/notebook-extension:active-cell-tool",
    "@jupyterlab/pdf-extension",
    "@jupyterlab/pluginmanager-extension",
    "@jupyterlab/running-extension",
    "@jupyterlab/settingeditor-extension",
    "@jupyterlab/terminal-extension",
    "@jupyterlab/toc-extension",
    "@jupyterlab/tooltip-extension",
    "@jupyterlab/vega5-extension",
    "@jupyterlab/video-extension",
    "@jupyterlab/workspaces-extension",
)


def lean(page_config: dict[str, Any]) -> dict[str, Any]:
    """The configuration of a lesson's page: without what no lesson uses, and without asking whether a build is due.

    Parameters
    ----------
    page_config : as JupyterLab has put it together; stays as it is.

    Examples
    --------
    >>> page = lean({"disabledExtensions": ["other"], "buildCheck": True})
    >>> page["disabledExtensions"][0], "@jupyterlab/debugger-extension" in page["disabledExtensions"], page["buildCheck"]
    ('other', True, False)
    """
    off = [*page_config.get("disabledExtensions", []), *NOT_USED]
    return {**page_config, "disabledExtensions": off, "buildCheck": False}
