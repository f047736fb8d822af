"""Minutes that an old hand looks at each call, as they are shown and chosen by on the call sheet.

``python -m simulator.panels.trainer.call_sheet.minutes`` plays all calls of the book and writes them anew.
"""

from __future__ import annotations

import sys
from functools import lru_cache
from pathlib import Path

import yaml

from simulator.attempt.level import effort
from simulator.panels.trainer.own_minutes import own_minutes
from simulator.rig.command import command
from simulator.rig.plain_yaml import read_file
from simulator.scenario import Scenario, load_scenario, scenario_hash
from simulator.scenario.files import ENDING

TABLE = Path(__file__).parent / "minutes.yaml"
BOOK = Path(__file__).parents[4] / "lessons" / "scenarios"
_HEAD = "# Minutes of looking that a call costs an old hand, by its content. Made by minutes.py beside it.\n"


@lru_cache(maxsize=1)
def _table() -> dict[str, float]:
    return {str(name): float(value) for name, value in read_file(TABLE).data.items()}


def minutes_of(scenario: Scenario) -> float | None:
    """Minutes [min] of looking that a call-out costs an old hand: of the book, or of the trainer's own where they were
    worked out; None for any other.

    Parameters
    ----------
    scenario : the call-out.
    """
    found = _table().get(_key(scenario))
    return own_minutes(scenario) if found is None else found


def _key(scenario: Scenario) -> str:
    return scenario_hash(scenario)[:16]


def main() -> int:
    """Play every call of the book and write the table."""
    rows = {}
    for path in sorted(BOOK.glob(f"*{ENDING}")):
        scenario = load_scenario(path)
        rows[_key(scenario)] = round(effort(scenario).minutes, 1)
        sys.stdout.write(f"{path.name}: {rows[_key(scenario)]:g} min\n")
    TABLE.write_text(_HEAD + yaml.safe_dump(rows, sort_keys=False), encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(command(main))
