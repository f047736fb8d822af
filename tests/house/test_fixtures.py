"""What the shared fixtures promise."""

from __future__ import annotations

import logging
import os
from pathlib import Path

import ipywidgets
import pytest

from tests.conftest import fail_on


def test_a_callback_that_raises_is_noticed(no_swallowed_exceptions: list[str]) -> None:
    button = ipywidgets.Button()
    button.on_click(lambda _: 1 / 0)
    button.click()
    logging.getLogger("traitlets").warning("Exception in callback %s", "f", exc_info=ValueError("bad"))
    assert len(no_swallowed_exceptions) >= 1
    with pytest.raises(pytest.fail.Exception, match="callback"):
        fail_on(no_swallowed_exceptions)
    no_swallowed_exceptions.clear()


def test_user_folders_are_the_tests_own(user_folders: dict[str, Path], tmp_path: Path) -> None:
    assert os.environ["SIMULATOR_DATA_DIR"] == str(user_folders["data"])
    assert not user_folders["data"].exists()
