"""The yard card: one page a rig to hang in the cab. Its figures and its advice come from the model."""

from __future__ import annotations

import math
from dataclasses import dataclass

from markupsafe import Markup

from simulator.diagnosis.card_lines import Advised, advised
from simulator.diagnosis.option import Option
from simulator.diagnosis.words import fault_name, option_label
from simulator.panels.papers.card_figures import LENGTHS, LIFTS, curve, expected, times_table
from simulator.panels.papers.curve_chart import chart
from simulator.panels.papers.sheet import both, sheet
from simulator.rig import safe_work
from simulator.rig.presets import load_rig, shipped_rig_names, standard_site
from simulator.rig.rig import Rig, Site
from simulator.run.outcome import proof_limit
from simulator.texts import entry, text
from simulator.units import STANDARD_GRAVITY


@dataclass(frozen=True)
class Line:
    """One line of advice in words: what the gauges show, what is likely then, what to do, and what to walk round for
    again where that finds nothing ("": nothing)."""

    shows: str
    suspects: str
    first: str
    then: str
    again: str


def yard_card(rig: Rig | str, site: Site | None = None) -> str:
    """The card of a rig as HTML that prints on one page of A4 or Letter.

    Parameters
    ----------
    rig : a rig in good order, or the name of one that comes with the package.
    site : where it stands; by default the lessons' usual site for it.

    Raises
    ------
    InputError : there is no such rig, or it cannot prime at the site.
    """
    known = load_rig(rig) if isinstance(rig, str) else rig
    at = site or standard_site(known.name)
    drawn, shown = curve(known, at), expected(known, at)
    title = text("papers.card.title", rig=known.title)
    return sheet(
        "card.html",
        title,
        rig=known,
        whose=text(f"papers.card.{'made_up' if known.name in shipped_rig_names() else 'own_rig'}"),
        site=at,
        chart=Markup(chart(drawn)),
        gauges=_gauges(known, at),
        expected=shown,
        proof=proof_limit(drawn.prime_time),
        table=[
            (both("length", length), [_time(value) for value in row])
            for length, row in zip(LENGTHS, times_table(known, at), strict=True)
        ],
        lifts=[both("length", lift).rstrip(")").split(" (") for lift in LIFTS],
        lines=[line(item, known, at) for item in advised(known, at)],
        letters=_letters_key(),
        cautions=_cautions(known, shown.deepest),
    )


def _gauges(rig: Rig, site: Site) -> list[tuple[str, str]]:
    shown, drawn = expected(rig, site), curve(rig, site)
    rows = [("lift", both("vacuum", drawn.lift)), ("pumping_vacuum", both("vacuum", shown.pumping_vacuum))]
    if rig.has_motive_gauge:
        rows.append(("motive", both("pressure", shown.motive)))
    rows.append(("discharge", both("pressure", shown.pumping_discharge)))
    rows.append(("deepest", both("vacuum", shown.deepest)))
    mark = both("vacuum", shown.mark)
    if math.isfinite(shown.mark_time):
        rows.append(("mark", text("papers.card.within", mark=mark, seconds=round(shown.mark_time))))
    else:
        rows.append(("mark", text("papers.card.not_reached", mark=mark)))
    return [(text(f"papers.card.gauges.{name}"), value) for name, value in rows]


def _time(value: float | None) -> str:
    if value is None:
        return text("papers.card.too_short")
    return text("papers.card.not_in_time") if math.isinf(value) else f"{value:.0f} s"


def line(item: Advised, rig: Rig, site: Site) -> Line:
    """A line of advice in the words of the catalogue.

    Parameters
    ----------
    item : what is advised where the gauges show a certain picture.
    rig, site : for which it is.
    """
    names = [fault_name(fault) for fault, _ in item.suspects]
    steps = [
        text(
            "papers.card.step",
            what=option_label(step),
            minutes=f"{step.minutes:g}",
            first=letters(step, rig, site),
        )
        for step in item.steps
    ]
    return Line(
        shows=text(f"papers.card.pictures.{item.picture}"),
        suspects="; ".join(names),
        first=steps[0] if steps else "",
        then=steps[1] if len(steps) > 1 else "",
        again=text("papers.card.once_more", faults="; ".join(map(fault_name, item.once_more)))
        if item.once_more
        else "",
    )


def letters(step: Option, rig: Rig, site: Site) -> str:
    """What is made safe before a step on this rig, in the letters of the card's own key: two people for a heavy hose and
    at the water.

    Parameters
    ----------
    rig, site : on which it is taken.

    Examples
    --------
    >>> from simulator.diagnosis.option import Option
    >>> from simulator.rig.presets import load_rig, standard_site
    >>> plate = Option("check", "blank_off", "", 8.0)
    >>> [letters(plate, load_rig(name), standard_site(name))[-2:] for name in ("osier", "reed")]
    ['P]', '2]']
    """
    kinds = {"check": safe_work.CHECKS, "remedy": safe_work.REMEDIES}
    if step.kind not in kinds:
        return ""
    known = entry("papers.card.letters")
    here = safe_work.conditions(rig, site, step.place)
    wanted = [
        str(known[need][0]) for need in safe_work.needs(kinds[step.kind], step.id, here) if need in known
    ]
    return "\xa0[" + "\xa0".join(wanted) + "]" if wanted else ""


def _letters_key() -> str:
    said = [f"**{letter}** {says}" for letter, says in entry("papers.card.letters").values()]
    return text("papers.card.letters_note", letters=", ".join(said))


def _cautions(rig: Rig, vacuum: float) -> list[str]:
    area = math.pi * rig.suction_hose.bore**2 / 4.0
    kilograms = vacuum * area / STANDARD_GRAVITY
    kg, lb = (
        10 * math.ceil(value / 10.0) for value in (kilograms, kilograms / 0.453_592_37)
    )  # "up to": never less
    pull = text("papers.card.pull", kg=kg, lb=lb)
    names = ("gear", "guards", "pressure", "plate", "discharge", "dry", "edge", "heavy", "fumes", "frost")
    return [text(f"papers.card.cautions.{name}", pull=pull) for name in names]
