"""A page is told of its own widgets and no others: one loaded anew on a running kernel asks for all that are there, and
those of the page before would be sent and made over again for nothing."""

from __future__ import annotations

from typing import Any

from IPython.core.getipython import get_ipython
from ipywidgets import Widget

#: The protocol's names: the line on which a page asks for the state of all widgets, and what is said on it.
CONTROL, ASKED, TOLD = "jupyter.widget.control", "request_states", "update_states"


def asking_page() -> str:
    """The session of the page whose message is being answered; "" where there is none.

    Examples
    --------
    >>> asking_page()
    ''
    """
    kernel = _kernel()
    return "" if kernel is None else _session(kernel.get_parent())


def own_widgets_only(kernel: Any = None) -> None:
    """From now on tell a page, when it asks for the widgets of a kernel, of those that were made for it.

    Nothing is done where there is no kernel, and nothing twice.

    Parameters
    ----------
    kernel : an IPython kernel; the one that runs this where it is left out.
    """
    kernel = kernel or _kernel()
    manager = getattr(kernel, "comm_manager", None)
    if manager is None or hasattr(kernel, "widgets_of_pages"):
        return
    made_for: dict[str, str] = {}  # id of a widget's comm -> session of the page
    kernel.widgets_of_pages = made_for
    register = manager.register_comm

    def note(comm: Any) -> str:
        made_for[comm.comm_id] = _session(kernel.get_parent())
        return str(register(comm))

    def opened(line: Any, message: dict[str, Any]) -> None:
        page = _session(message)

        def answer(said: dict[str, Any]) -> None:
            if said["content"]["data"].get("method") == ASKED:
                own = [number for number in manager.comms if made_for.get(number, page) in ("", page)]
                line.send({"method": TOLD, "states": _states(own), "buffer_paths": []})

        line.on_msg(answer)

    manager.register_comm = note
    manager.register_target(CONTROL, opened)


def _states(comms: list[str]) -> dict[str, Any]:
    """Whole states of the widgets among some comms, as a page takes them."""
    there = Widget.get_manager_state()["state"] if comms else {}
    return {number: there[number] for number in comms if number in there}


def _kernel() -> Any:
    return getattr(get_ipython(), "kernel", None)


def _session(message: dict[str, Any] | None) -> str:
    return str((message or {}).get("header", {}).get("session", ""))
