"""Every remedy is whole: its record and its hands, its words, its row in the table of safe work, its place on the page.

What is missing is told all at once, in words: what, where, and what would be legal.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest

from simulator.attempt.offers import ELSEWHERE, GROUP_OF
from simulator.attempt.rules_of_thumb_tables import REMEDY_FOR, SUSPECT_OF
from simulator.errors import InputError
from simulator.panels.exercise.offers import icon_of
from simulator.panels.page import assets
from simulator.rig import safe_work
from simulator.rig.faults import FAULTS
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.rig.record_files import GROUPS
from simulator.rig.remedies import REMEDIES, Remedy, remedies_for
from simulator.texts import entry, knows
from tests.panels.exercise.test_offers import icons_drawn, page_of

RECORD, HANDS, WORDS = (
    "simulator/rig/data/remedies.yaml",
    "simulator/rig/hands.py",
    "simulator/texts/en/remedies.yaml",
)
CHECK_RECORD = "simulator/rig/data/checks.yaml"
SPOTS = tuple(f"simulator/panels/screen/src/picture/{end}/hotspots.js" for end in ("pump", "site"))


@cache
def pressable() -> set[str]:
    """The parts of the rig that can be pressed in one of the two pictures."""
    sources = [assets.SCREEN / "src" / "picture" / end / "hotspots.js" for end in ("pump", "site")]
    return {word for path in sources for word in re.findall(r'"(\w+)"', path.read_text(encoding="utf-8"))}


def missing(item: Remedy) -> Iterator[str]:
    """What a remedy lacks, as sentences."""
    name = item.id
    if not knows(f"remedies.{name}.name"):
        yield f"no 'name' (what the page calls it): add it under {name!r} in {WORDS}; until then it is not offered"
    for code in item.findings:
        if not knows(f"remedies.{name}.found.{code}"):
            yield f"no words for what the hands find: add {code!r} under {name!r}, 'found', in {WORDS}"
    told = entry(f"remedies.{name}.found") if knows(f"remedies.{name}.found") else {}
    for code in sorted(set(told) - set(item.findings)):
        yield f"words for {code!r}, which it never finds: legal are {', '.join(item.findings)} ({WORDS})"
    if item.part not in GROUP_OF:
        yield (
            f"no page has a place for the part {item.part!r}, so it stands under {ELSEWHERE!r}: add 'group' to its "
            f"record in {RECORD}, one of {', '.join(GROUPS)}, or name a part that has a place: {', '.join(GROUP_OF)}"
        )
    if (item.spot or item.part) not in pressable():
        yield (
            f"the part {item.spot or item.part!r} can be pressed in no picture: add 'spot' to its record in {RECORD}, "
            f"a part beside it that can ({', '.join(sorted(set(GROUP_OF) & pressable()))}), or draw one in "
            f"{' or '.join(SPOTS)}"
        )
    if icon_of(name) not in icons_drawn():
        icons = ", ".join(sorted(icons_drawn()))
        yield f"no icon {icon_of(name)!r} is drawn: 'icon' in {RECORD} is one of {icons}"
    if name not in safe_work.table().acts["remedies"]:
        legal = ", ".join(safe_work.table().dangers)
        yield (
            f"no row of safe work, so it is not offered: add 'safe' to its record in {RECORD}, such as "
            f"{{dangers: [yard]}}, with the dangers it has, of: {legal}"
        )
    elif not safe_work.act_of(safe_work.REMEDIES, name).dangers:
        yield f"'safe' in {RECORD} names no danger; none_near says that there is none"
    yield from by_heart(item)
    yield from on_sound_rigs(item)


def by_heart(item: Remedy) -> Iterator[str]:
    """What the rules of thumb, and so hints, do not know of it."""
    parts = (item.part, *item.also)
    if not any(fault.part in parts for fault in FAULTS.values()):
        yield f"no fault sits in {' or '.join(parts)}: look at 'part' in {RECORD} and in simulator/rig/data/faults.yaml"
    if not set(remedies_for(item.part)) & set(REMEDY_FOR.values()):
        yield (
            f"no outcome of a check calls for work on {item.part!r}: write {item.id!r} behind one of a check's outcomes "
            f"in {CHECK_RECORD}"
        )
    if item.id in REMEDY_FOR.values() and item.id not in SUSPECT_OF:
        yield f"a check calls for it, but for which fault? Add 'mends' with a fault's name to its record in {RECORD}"
    suspect = SUSPECT_OF.get(item.id)
    if suspect is not None and (suspect not in FAULTS or item.id not in remedies_for(FAULTS[suspect].part)):
        yield f"'mends' in {RECORD} says {suspect!r}, which does not sit in {' or '.join(parts)}"


def on_sound_rigs(item: Remedy) -> Iterator[str]:
    """What it does wrong on a rig in good order."""
    fitted = [load_rig(rig) for rig in rig_names() if item.places(load_rig(rig))]
    if not fitted:
        yield f"no rig has a place for it: look at 'fitted' ({item.fitted!r}) in {RECORD}"
        return
    rig = fitted[0]
    site = standard_site(rig.name)
    try:
        code = item.finding(rig, site, item.places(rig)[0])
        item.apply(rig, site, item.places(rig)[0])
    except (AttributeError, TypeError, ValueError, InputError) as error:
        yield f"its hands fail on a rig in good order: {error} Look at what {RECORD} takes from {HANDS}"
        return
    if code != item.findings[0]:
        yield f"on a rig in good order the hands find {code!r}: put that first in 'findings' in {RECORD}"


def test_every_remedy_is_whole() -> None:
    told = [f"remedy {name!r}: {each}" for name, item in REMEDIES.items() for each in missing(item)]
    strange = sorted(set(REMEDY_FOR.values()) - set(REMEDIES))
    told += [f"an outcome in {CHECK_RECORD} calls for {name!r}, which is no remedy" for name in strange]
    assert not told, "\n" + "\n".join(told)


def test_a_remedy_that_lacks_everything_is_told_and_breaks_no_page(monkeypatch: pytest.MonkeyPatch) -> None:
    new = replace(REMEDIES["clean_nrv"], id="polish_hat", part="hat", findings=("was_dull",), fitted="")
    monkeypatch.setitem(REMEDIES, new.id, new)
    told = "\n".join(missing(new))
    for place in (WORDS, "'group'", "'safe'", CHECK_RECORD, RECORD, *SPOTS):
        assert place in told
    offered = {item["id"] for place in page_of("alder")["places"] for item in place["items"]}  # type: ignore[attr-defined]
    assert "remedy:clean_nrv:" in offered
    assert "remedy:polish_hat:" not in offered  # nobody has said how to do it safely


def test_work_on_a_part_without_a_place_stands_all_round(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(REMEDIES, "clean_nrv", replace(REMEDIES["clean_nrv"], part="hat"))
    places = {item["id"]: place["id"] for place in page_of("alder")["places"] for item in place["items"]}  # type: ignore[attr-defined]
    assert places["remedy:clean_nrv:"] == ELSEWHERE


def test_a_part_in_no_picture_is_led_to_by_one_beside_it(monkeypatch: pytest.MonkeyPatch) -> None:
    new = replace(REMEDIES["clean_nrv"], part="hat")
    assert "no picture" in "\n".join(missing(new))
    beside = replace(new, spot="nrv")
    assert "no picture" not in "\n".join(missing(beside))
    monkeypatch.setitem(REMEDIES, "clean_nrv", beside)
    items = {item["id"]: item for place in page_of("alder")["places"] for item in place["items"]}  # type: ignore[attr-defined]
    assert items["remedy:clean_nrv:"]["part"] == "nrv"
