"""Rules that hold what a lesson says against the run, the case or the figures that it speaks of.

A rule reads one kind of sentence and gives what is wrong with it, or nothing; a sentence that is none of its kind it
leaves alone. ``python -m tests.panels.teaching.sentence_rules`` lists the rules and how many sentences each one reads.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Callable
from typing import Any

from simulator.panels.teaching.drill import Drill, build
from simulator.panels.teaching.fading import case_for
from simulator.panels.teaching.plan import Plan
from tests.panels.teaching.taught import taught_pages

PLANS = tuple(page.plan for page in taught_pages().values())
KPA = 1e3
ROUNDED = 1.0  # [kPa] that a figure and its reading may differ by, both rounded
MOVES = 1.2  # [kPa] in twenty seconds that a needle which stands may move
FLOWS = 1e-3  # [m3/s] from which water is said to flow
COUNTED = 30  # pops a minute that a person can count
ALIKE, LATE = 1.11, 1.12  # [-] of two times: no more than this is "about the same", no less is "late"
FULL, LESS = 0.94, 0.93  # [-] of two flows: no less is "as ever", no more is "less"

Reading = Callable[[str, dict[str, Any]], str | None]  # None: not of this rule's kind; "": holds


class Moment:
    """What a track's needle and flow do round a moment [s]."""

    def __init__(self, track: dict[str, Any], time: float) -> None:
        self.track, self.time = track, time

    def at(self, name: str, after: float = 0.0) -> float:
        """A channel so many seconds after the moment, in kPa or m3/s."""
        values = self.track["series"][name]
        index = round((self.time + after) / self.track["step_s"])
        value = values[min(max(index, 0), len(values) - 1)]
        return float(value) / (KPA if name.endswith("shown") else 1.0)


def _needle(said: str, here: Moment) -> str | None:
    found = re.search(
        r"(?:^|(?:stands|rests) at |(?:jumps|creeps) up to |fallen from \d+ kPa to )(\d+) kPa", said
    )
    if found is None or "Motive" in said or "motive" in said:
        return None
    shown = abs(here.at("suction_shown"))
    return "" if abs(float(found[1]) - shown) <= ROUNDED else f"the needle is at {shown:.1f}"


def _stands(said: str, here: Moment) -> str | None:
    if not re.search(
        r"needle (?:stands|rests|stays)|It (?:stands|rests)|and no more|hardly moves\.|hardly moves|stays there",
        said,
    ):
        return None
    if "water hardly" in said or "water below hardly" in said or "while the casing fills" in said:
        return None
    if "motive needle" in said.lower():
        share = here.at("motive_shown", 10.0) / here.at("motive_shown")
        return "" if 0.95 <= share <= 1.05 else f"it goes on to {share:.2f} times as much"
    before = 0.0 if "jumps" in said else -10.0
    moved = abs(here.at("suction_shown", 10.0) - here.at("suction_shown", before))
    return "" if moved <= MOVES + (ROUNDED if "jumps" in said else 0.0) else f"it moves {moved:.1f} kPa"


def _pumps(said: str, here: Moment) -> str | None:
    if re.search(r"(?<!rig )\b[Ii]t pumps\b|It primes in good time and pumps|wheel bites", said):
        flow = here.at("discharge_flow", 1.0)
        return "" if flow > FLOWS else f"no water flows ({flow:.4f})"
    if re.search(
        r"still on its way|fills only slowly|no water has come|flow has stopped|does not fill", said
    ):
        flow = here.at("discharge_flow")
        return "" if flow <= FLOWS else f"water flows ({flow:.4f})"
    return None


def _rises(said: str, here: Moment) -> str | None:
    up = re.search(
        r"needle (?:goes (?:on )?up|climbs|creeps up|kinks upward)|climb gets slower, but it goes on|just goes on",
        said,
    )
    down = re.search(r"needle has fallen|It falls", said)
    if not up and not down:
        return None
    moved = here.at("suction_shown", 4.0) - here.at("suction_shown", -4.0)
    if up:
        return "" if moved > 0.3 else f"it moves {moved:.1f} kPa in 8 s"
    fell = here.at("suction_shown") - here.at("suction_shown", -13.0)
    return "" if fell < -2.0 else f"it moved {fell:.1f} kPa in 13 s"


def _bends(said: str, here: Moment) -> str | None:
    if "bends over" not in said and "kinks upward" not in said:
        return None
    early = here.at("suction_shown", -6.0) - here.at("suction_shown", -12.0)
    late = here.at("suction_shown", 6.0) - here.at("suction_shown")
    good = late < early if "bends over" in said else late > early
    return "" if good else f"{early:.1f} kPa before, {late:.1f} after"


def _clock(said: str, here: Moment) -> str | None:
    found = re.search(r"(\d+) s from the start", said)
    if found is None:
        return None
    return "" if abs(float(found[1]) - here.time) <= 3.0 else f"it is said at {here.time:g} s"


TRACK_RULES: dict[str, Callable[[str, Moment], str | None]] = {
    "a needle's figure is what the needle shows then": _needle,
    "a needle that is said to stand stands": _stands,
    "it pumps where water flows, and not before": _pumps,
    "a needle that is said to climb or fall does": _rises,
    "a curve that is said to bend or kink does": _bends,
    "a time from the start is the time on the clock": _clock,
}

FIGURE = r"(-?[\d.]+) (kPa|bar|L/s|s|L)"


def _from_to(said: str, made: Drill | None) -> str | None:
    wrong, read = "", False
    for found in re.finditer(rf"(\w+),?(?: \w+)? from {FIGURE}(?: at [\d.]+ s)? to {FIGURE}", said):
        verb, first, unit, last, other = found.groups()
        if unit != other or unit == "s":
            continue
        read = True
        a, b = float(first), float(last)
        falls = re.search(rf"(?:fell|fall|fallen|drops|down)[^.]*from {re.escape(first)} {unit}", found[0])
        rises = re.search(rf"(?:up|climbed|climbs|rose)[^.]*from {re.escape(first)} {unit}", found[0])
        if a == b:
            wrong = f"from {first} to {last}"
        elif (falls and a < b) or (rises and a > b):
            wrong = f"{verb} from {first} to {last}"
    return wrong if read else None


def _stood(said: str, made: Drill | None) -> str | None:
    found = re.search(r"It stood at (\d+ kPa) from (\d+ s) to (\d+ s)", said)
    if found is None or made is None:
        return None
    value, first, last = found.groups()
    good = f"{value} at {first}" in made.text and f"{value} at {last}" in made.text
    return "" if good else f"it was read as: {made.text}"


def _rested(said: str, made: Drill | None) -> str | None:
    found = re.search(r"came to rest at (\d+) kPa", said)
    lines = [block for block in (made.after if made else ()) if block["id"] == "came"]
    if found is None or not lines:
        return None
    points = lines[0]["lines"][0]["points"]
    end = points[-1][0]
    last = [pa / KPA for t, pa in points if t >= end - 10.0]
    moved = max(last) - min(last)
    if end < 150.0:  # the picture ends before the run
        return "" if abs(last[-1] - float(found[1])) <= 4.0 else f"the curve is at {last[-1]:.1f}"
    return (
        "" if moved <= MOVES and abs(last[-1] - float(found[1])) <= ROUNDED else f"it ends at {last[-1]:.1f}"
    )


OTHER = r"(?:sound (?:rig|one)|good rig|full speed|straight hose|From dry|sea level|small hole|the sea)[^.]*? (\d+) s"


def _late(said: str, made: Drill | None) -> str | None:
    if made is None:
        return None
    first = re.search(r"up there (\d+) s", said) or re.search(r"primed? after (\d+) s|it took (\d+) s", said)
    other = re.search(OTHER, said) or re.search(OTHER, made.text)
    right = made.option(made.right)
    if first is None or other is None or right is None:
        return None
    ratio = float(next(filter(None, first.groups()))) / float(other[1])
    label = right.label.lower()
    if re.search(r"as long as .*or longer", label):
        return "" if ratio >= 1.0 / ALIKE else f"{label}: {ratio:.2f} times"
    if re.search(r"\blate\b|\blater\b|\blonger\b", label) and "than a minute" not in label:
        return "" if ratio >= LATE else f"{label}: {ratio:.2f} times"
    if re.search(r"about (?:the same|as long|the usual)|as ever|as a sound", label):
        return "" if 1.0 / ALIKE <= ratio <= ALIKE else f"{label}: {ratio:.2f} times"
    if re.search(r"\bsooner\b|\bquicker\b", label):
        return "" if ratio < 0.98 else f"{label}: {ratio:.2f} times"
    return None


def _flows(said: str, made: Drill | None) -> str | None:
    found = re.search(
        r"([\d.]+) L/s[.,] (?:[Oo]n|With) an? (?:tight rig it is|sound rig|clean strainer it pumps) ([\d.]+) L/s",
        said,
    )
    right = made.option(made.right) if made else None
    if found is None or right is None:
        return None
    share = float(found[1]) / float(found[2])
    label = right.label.lower()
    if re.search(r"much as|full", label):
        return "" if share >= FULL else f"{label}: {share:.2f} of the flow"
    if "less" in label:
        return "" if share <= LESS else f"{label}: {share:.2f} of the flow"
    return None


def _no_riddle(said: str, made: Drill | None) -> str | None:
    found = re.search(r"\b0 (?:kg|lb)\b|\b1 grown people", said)
    return f"“{found[0]}”" if found else ("" if re.search(r"\bkg\b|grown", said) else None)


def _pops(said: str, made: Drill | None) -> str | None:
    found = re.search(r"pops about (\d+) times a minute", said)
    if found is None:
        return "" if "pops again and again" in said else None
    return "" if int(found[1]) <= COUNTED else f"nobody counts {found[1]} pops a minute"


WORD_RULES: dict[str, Callable[[str, Drill | None], str | None]] = {
    "from one figure to another: they differ, the way it is said": _from_to,
    "a needle said to have stood was read so twice": _stood,
    "where a needle came to rest its curve ends": _rested,
    "late, sooner or about the same: the two times agree": _late,
    "much as ever or less: the two flows agree": _flows,
    "no pull of nothing, no one person as people": _no_riddle,
    "pops are counted where a person can count them": _pops,
}


def broken(
    seeds: range, plans: tuple[Plan, ...] = PLANS, units: str = "metric"
) -> tuple[list[str], Counter[str]]:
    """All sentences that break a rule, and how many each rule has read."""
    wrong: list[str] = []
    read: Counter[str] = Counter()
    for plan in plans:
        for track in plan.tracks(units):
            for each in track["says"]:
                for rule, reads in TRACK_RULES.items():
                    _count(
                        rule,
                        reads(each["text"], Moment(track, each["t"])),
                        f"{plan.area} {track['id']}",
                        each["text"],
                        wrong,
                        read,
                    )
        for seed in seeds:
            made = [build(template, seed, units) for template in (*plan.drills, *plan.predictions)]
            if plan.case is not None:
                for stage in (0, 1):
                    case = case_for(plan.case, seed, stage, units)
                    made += case.steps
                    for sentence in (*case.brief, *case.close):
                        _judge(sentence, None, f"{plan.area} {case.case}", wrong, read)
            for one in made:
                for sentence in (one.text, one.because, *one.hints):
                    _judge(sentence, one, f"{plan.area} {one.name} {one.case}", wrong, read)
    return wrong, read


def _judge(sentence: str, made: Drill | None, where: str, wrong: list[str], read: Counter[str]) -> None:
    for rule, reads in WORD_RULES.items():
        _count(rule, reads(sentence, made), where, sentence, wrong, read)


def _count(rule: str, found: str | None, where: str, said: str, wrong: list[str], read: Counter[str]) -> None:
    if found is None:
        return
    read[rule] += 1
    if found:
        wrong.append(f"{where}: {rule}: {found}. “{said}”")


if __name__ == "__main__":
    found, counts = broken(range(20))
    lines = [f"{counts[rule]:6d}  {rule}" for rule in (*TRACK_RULES, *WORD_RULES)]
    sys.stdout.write("\n".join([*lines, *sorted(set(found))]) + "\n")
