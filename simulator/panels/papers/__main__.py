"""``python -m simulator.panels.papers --out papers`` writes every sheet there is."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from simulator.errors import SimulatorError
from simulator.panels.papers.card import yard_card
from simulator.panels.papers.job_form import job_form
from simulator.panels.papers.session_plans import plan_names, session_plan
from simulator.rig.presets import read_rig_file, read_site_file, rig_names


def sheets(rig_file: str = "", site_file: str = "") -> dict[str, str]:
    """Every sheet as HTML by the name of its file; with a rig file, the card of that rig instead of the yard's."""
    if rig_file:
        rig = read_rig_file(rig_file)
        site = read_site_file(site_file) if site_file else None
        out = {f"yard-card-{rig.name}.html": yard_card(rig, site)}
    else:
        out = {f"yard-card-{name}.html": yard_card(name) for name in rig_names()}
    out["observed-job.html"] = job_form()
    out |= {f"session-plan-{name}.html": session_plan(name) for name in plan_names()}
    return out


def main(arguments: list[str] | None = None) -> int:
    """Write the sheets into a folder; 1 and a sentence where something does not fit."""
    parser = argparse.ArgumentParser(
        prog="python -m simulator.panels.papers", description="Write yard cards, forms and plans for paper."
    )
    parser.add_argument("--out", default="papers", help="the folder to write into")
    parser.add_argument("--rig-file", default="", help="a rig of your own, for its card")
    parser.add_argument("--site-file", default="", help="the site it stands on")
    chosen = parser.parse_args(arguments)
    folder = Path(chosen.out)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, page in sheets(chosen.rig_file, chosen.site_file).items():
            (folder / name).write_text(page, encoding="utf-8")
            sys.stdout.write(f"{folder / name}\n")
    except (SimulatorError, OSError) as error:
        sys.stderr.write(f"{error}\n")
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
