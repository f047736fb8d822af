"""Training simulator for self-priming diesel pumps: find out, safely, why a pump will not prime.

The public door. Every name is loaded when it is first asked for, so that ``import simulator`` stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

# name -> module that defines it
_DOOR: dict[str, str] = {
    "InputError": "simulator.errors",
    "RefusedAct": "simulator.errors",
    "RunFailed": "simulator.errors",
    "SimulatorError": "simulator.errors",
}

__all__ = ["__version__", *sorted(_DOOR)]


def __getattr__(name: str) -> Any:
    if name not in _DOOR:
        raise AttributeError(f"module 'simulator' has no attribute {name!r}")
    value = getattr(import_module(_DOOR[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_DOOR})
