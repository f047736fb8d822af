"""A page that is loaded anew on a running kernel is told of its own widgets, not of those of the page before."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import ipywidgets

from simulator.panels.page.own_widgets import ASKED, CONTROL, TOLD, own_widgets_only


class Line:
    """The line on which a page asks."""

    def __init__(self) -> None:
        self.sent: list[dict[str, Any]] = []

    def on_msg(self, answer: Any) -> None:
        self.answer = answer

    def send(self, data: dict[str, Any]) -> None:
        self.sent.append(data)


class Kernel:
    """What of a kernel is used: who asks, and the comms that are open."""

    def __init__(self) -> None:
        self.page = ""
        self.targets: dict[str, Any] = {}
        self.comm_manager = SimpleNamespace(comms={}, register_target=self.targets.__setitem__)
        self.comm_manager.register_comm = self._register

    def get_parent(self) -> dict[str, Any]:
        return {"header": {"session": self.page}} if self.page else {}

    def _register(self, comm: Any) -> str:
        self.comm_manager.comms[comm.comm_id] = comm
        return str(comm.comm_id)

    def widget(self, page: str) -> str:
        """Make one for a page; its id."""
        self.page = page
        made = ipywidgets.IntSlider()
        self.comm_manager.register_comm(SimpleNamespace(comm_id=made.model_id))
        return str(made.model_id)

    def asked_by(self, page: str) -> dict[str, Any]:
        line = Line()
        self.targets[CONTROL](line, {"header": {"session": page}})
        line.answer({"content": {"data": {"method": "something else"}}})
        assert line.sent == []
        line.answer({"content": {"data": {"method": ASKED}}})
        (told,) = line.sent
        assert (told["method"], told["buffer_paths"]) == (TOLD, [])
        return dict(told["states"])


def test_a_page_is_told_of_what_was_made_for_it() -> None:
    kernel = Kernel()
    own_widgets_only(kernel)
    one, two, nobody = kernel.widget("one"), kernel.widget("two"), kernel.widget("")
    assert set(kernel.asked_by("one")) == {one, nobody}
    assert set(kernel.asked_by("two")) == {two, nobody}
    assert set(kernel.asked_by("a third")) == {nobody}
    state = kernel.asked_by("one")[one]
    assert state["model_name"] == "IntSliderModel"
    assert state["state"]["value"] == 0


def test_it_is_set_up_once_and_passes_over_what_is_no_kernel() -> None:
    kernel = Kernel()
    own_widgets_only(kernel)
    answer = kernel.targets[CONTROL]
    own_widgets_only(kernel)
    assert kernel.targets[CONTROL] is answer
    own_widgets_only(SimpleNamespace())
    own_widgets_only()
