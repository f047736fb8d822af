"""``python -m simulator.panels.papers --out papers`` writes every sheet there is, and a page that lists them."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from simulator.diagnosis import catalogue
from simulator.errors import SimulatorError
from simulator.panels.papers.call_out_keys import keys_page
from simulator.panels.papers.card import yard_card
from simulator.panels.papers.job_form import job_form
from simulator.panels.papers.safe_table import safe_table
from simulator.panels.papers.session_plans import plan_names, plan_title, session_plan
from simulator.panels.papers.sheet import sheet
from simulator.panels.papers.standard_setting import standard_sheet
from simulator.rig.command import Words, as_typed, command
from simulator.rig.presets import load_rig, read_rig_file, read_site_file, rig_names, standard_site
from simulator.texts import text

#: Name of the file, its title, and what makes it.
Sheet = tuple[str, str, Callable[[], str]]
LIST = "index.html"


def sheets(rig_file: str = "", site_file: str = "", with_catalogue: bool = False) -> list[Sheet]:
    """Every sheet; with a rig file, the card of that rig instead of the yard's.

    Parameters
    ----------
    rig_file : of a rig of one's own; "" for those of the yard.
    site_file : where that rig stands; "" for the standard site.
    with_catalogue : whether the table of faults, checks and remedies is among them.
    """
    out: list[Sheet] = []
    if rig_file:
        own = read_rig_file(rig_file)
        site = read_site_file(site_file) if site_file else None
        title = text("papers.card.title", rig=own.title)
        out.append((f"yard-card-{own.name}.html", title, lambda: yard_card(own, site)))
    for name in () if rig_file else rig_names():
        title = text("papers.card.title", rig=load_rig(name).title)
        out.append((f"yard-card-{name}.html", title, lambda name=name: yard_card(name)))  # type: ignore[misc]
    out.append(("observed-job.html", text("papers.job.title"), job_form))
    out.append(("passing-mark.html", text("papers.standard.title"), standard_sheet))
    out.append(("safe-work.html", text("safe_work.title"), safe_table))
    out.append(("call-out-keys.html", text("desks.keys.title"), keys_page))
    for name in plan_names():
        out.append((f"session-plan-{name}.html", plan_title(name), lambda name=name: session_plan(name)))  # type: ignore[misc]
    for name in rig_names() if with_catalogue else ():
        title = text("catalogue.title", rig=load_rig(name).title)
        out.append((f"catalogue-{name}.html", title, lambda name=name: _catalogue(name)))  # type: ignore[misc]
    return out


def _catalogue(name: str) -> str:
    return catalogue.page(load_rig(name), standard_site(name))


def main(arguments: list[str] | None = None) -> int:
    """Write the sheets into a folder; 1 and a sentence where something does not fit.

    Parameters
    ----------
    arguments : of the command; those of the process by default.
    """
    about = "Write yard cards, forms and plans for paper."
    parser = Words(prog=as_typed("simulator.panels.papers"), description=about)
    parser.add_argument("--out", default="papers", help="the folder to write into")
    parser.add_argument("--rig-file", default="", help="a rig of your own, for its card")
    parser.add_argument("--site-file", default="", help="the site it stands on")
    parser.add_argument("--catalogue", action="store_true", help="also the catalogue of faults a rig")
    chosen = parser.parse_args(arguments)
    folder = Path(chosen.out)
    try:
        wanted = sheets(chosen.rig_file, chosen.site_file, chosen.catalogue)
        folder.mkdir(parents=True, exist_ok=True)
        for name, _, make in wanted:
            (folder / name).write_text(make(), encoding="utf-8")
            sys.stdout.write(f"{folder / name}\n")
        links = [(name, title) for name, title, _ in wanted]
        page = sheet("list.html", text("papers.list.title"), links=links)
        (folder / LIST).write_text(page, encoding="utf-8")
    except SimulatorError as error:
        sys.stderr.write(f"{error}\n")
        return 1
    except OSError as error:
        sys.stderr.write(
            f"{error.filename or folder}: {error.strerror or error}. Nothing more was written.\n"
        )
        return 1
    sys.stdout.write(f"{folder / LIST}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(command(main))
