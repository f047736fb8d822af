"""Every check is whole: its record with its judge, its words, its row in the table of safe work.

What is missing is told all at once, in words: what, where, and what would be legal.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from simulator.attempt.offers import GROUP_OF
from simulator.attempt.rules_of_thumb_tables import REMEDY_FOR
from simulator.diagnosis import shipped
from simulator.diagnosis.outlook import READ_FROM_NEEDLES
from simulator.instruments.checks import CHECKS, check_places
from simulator.instruments.look import Check
from simulator.panels.exercise.offers import icon_of
from simulator.rig import safe_work
from simulator.rig.plain_yaml import read_file
from simulator.rig.presets import load_rig, rig_names
from simulator.rig.remedies import REMEDIES
from simulator.rig.safe_words import _FILE
from simulator.texts import entry, knows
from tests.house.test_safe_words import NET
from tests.panels.exercise.test_offers import icons_drawn

RECORD, WORDS = "simulator/instruments/checks.py", "simulator/texts/en/checks.yaml"
TABLE, PLACES = "simulator/rig/data/safe_work/rules.yaml", "GROUP_OF in simulator/attempt/offers.py"
TOLD = "simulator/rig/data/safe_work/words.yaml"
DATA = "python3 binder/make_data.py"


def missing(check: Check) -> Iterator[str]:
    """What a check lacks, as sentences."""
    name = check.id
    for key, use in {"label": "what the page calls it", "how": "how it is done"}.items():
        if not knows(f"checks.{name}.{key}"):
            yield f"no {key!r} ({use}): add it under {name!r} in {WORDS}"
    keys = [key for key in ("label", "how") if knows(f"checks.{name}.{key}")]
    yield from untold(name, {key: str(entry(f"checks.{name}.{key}")) for key in keys})
    for outcome in check.outcomes:
        if not knows(f"checks.{name}.outcomes.{outcome}"):
            yield f"no words for its outcome {outcome!r}: add them under {name!r}, 'outcomes', in {WORDS}"
    told = entry(f"checks.{name}.outcomes") if knows(f"checks.{name}.outcomes") else {}
    for outcome in sorted(set(told) - set(check.outcomes)):
        yield f"words for {outcome!r}, which is no outcome of it: legal are {', '.join(check.outcomes)} ({WORDS})"
    if check.place not in GROUP_OF:
        yield f"no page has a place for {check.place!r}: one of {', '.join(GROUP_OF)}, or a new one in {PLACES}"
    if icon_of(name) not in icons_drawn():
        icons = ", ".join(sorted(icons_drawn()))
        yield f"no icon {icon_of(name)!r} is drawn: ICONS in panels/exercise/offers.py names one of {icons}"
    if name not in safe_work.table().acts["checks"]:
        legal = ", ".join(safe_work.table().dangers)
        yield f"no row of safe work: add {name!r} under acts, checks, in {TABLE} with the dangers it has, of: {legal}"
    elif not safe_work.act_of(safe_work.CHECKS, name).dangers:
        yield f"its row in {TABLE} names no danger; none_near says that there is none"
    for (of, outcome), remedy in REMEDY_FOR.items():
        if of == name and (outcome not in check.outcomes or remedy not in REMEDIES):
            yield f"an old hand's {remedy!r} for {outcome!r} cannot be (attempt/rules_of_thumb_tables.py)"
    if not any(check_places(check, load_rig(rig)) for rig in rig_names()):
        yield f"no rig has a place for it: look at 'fitted' ({check.fitted!r}) in {RECORD}"


def untold(name: str, said: dict[str, str]) -> Iterator[str]:
    """Ways to tell a check that no pattern of safe work knows, by its ``label`` and ``how``."""
    acts = safe_work.table().acts["checks"]
    if name not in acts or not set(safe_work.needs(safe_work.CHECKS, name)) - {"running"}:
        return  # a missing row is told elsewhere; what waits for nothing needs no line
    kinds = read_file(_FILE).data["en"].values()
    every = [pattern for kind in kinds for patterns in kind.values() for pattern in patterns]
    for key, words in said.items():
        known = any(re.search(pattern, words, re.IGNORECASE) for pattern in every)
        if not known and (key == "label" or NET.search(words)):
            yield (
                f"no pattern finds its {key!r}, {words!r}: a lesson that says it in its own words would tell it without "
                f"what protects. Add a pattern under 'en', 'checks', {name!r} in {TOLD}"
            )


def test_a_check_that_no_pattern_tells_is_told() -> None:
    assert list(untold("nrv_lid", {"label": "Take the lid off", "how": "It comes off."})) == []
    told = list(untold("nrv_lid", {"label": "Polish the hat", "how": "Now turn the cock."}))
    assert [TOLD in each and "'nrv_lid'" in each for each in told] == [True, True]


def not_kept() -> set[str]:
    """Checks that a kept set of hypotheses knows nothing of."""
    path = next(iter(sorted(shipped.FOLDER.glob("*.npz"))))
    with np.load(path, allow_pickle=False) as stored:
        kept = {name.split(" ")[1] for name in stored["checks"].tolist()}
    plain = {name for name, check in CHECKS.items() if not check.fitted}
    return plain - kept - set(READ_FROM_NEEDLES)


def test_every_check_is_whole() -> None:
    told = [f"check {name!r}: {each}" for name, check in CHECKS.items() for each in missing(check)]
    told += [
        f"check {name!r}: the hypotheses kept of call-outs know nothing of it: run {DATA}"
        for name in not_kept()
    ]
    strange = sorted(set(safe_work.table().acts["checks"]) - set(CHECKS))
    told += [f"{TABLE} has a row for {name!r}, which is no check" for name in strange]
    assert not told, "\n" + "\n".join(told)
