"""Every fault is whole: a record in ``rig/data/faults.yaml`` and words in ``texts/en/faults.yaml`` are all it takes.

What is missing is told all at once, in words: what, where, and what would be legal.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from simulator.attempt.rules_of_thumb_tables import REMEDY_FOR
from simulator.diagnosis.hypotheses import spread
from simulator.diagnosis.outlook import Observer, Outlook
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS
from simulator.marking.debrief import truth_of
from simulator.rig import faults
from simulator.rig.faults import FAULTS, Fault, fault_from, size_words
from simulator.rig.onset import COMES_LATER
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.record_files import records_in
from simulator.rig.remedies import REMEDIES, remedies_for
from simulator.rig.rig import Rig, Site
from simulator.scenario import Scenario
from simulator.scenario.choices import FAULT_MODELS, SiteChoice, choose_fault
from simulator.scenario.publish import SCHEMA_FILE, schema_text
from simulator.texts import entry, knows
from tests.rig.test_faults import touched

FOUND = "simulator/texts/en/remedies.yaml"
REMEDY_RECORD = "simulator/rig/data/remedies.yaml"
RECORD, WORDS = "simulator/rig/data/faults.yaml", "simulator/texts/en/faults.yaml"
RIGS = ("alder", "osier", "reed", "sedge")


def missing(fault: Fault) -> Iterator[str]:
    """What a fault lacks, as sentences."""
    name = fault.id
    wanted = {"name": "what a page calls it", "what": "one or two sentences on what it does"}
    if fault.family != COMES_LATER:
        wanted["say"] = "a clause that a question begins with: 'the strainer is plugged, and stays so'"
    if name != "sound":
        wanted["truth"] = "how bad it was, with {n} for its size" if fault.size else "how it showed"
    if fault.size is not None and fault.size.end_share > 0.0:
        wanted["truth_all"] = "the same for the largest size, without a figure"
    if fault.size is not None and not knows(f"desks.sizes.{fault.size.key}"):
        wanted["size"] = f"what desks call its {fault.size.key}, such as 'Width of the hole'"
    for key, use in wanted.items():
        if not knows(f"faults.{name}.{key}"):
            yield f"no {key!r} ({use}): add it under {name!r} in {WORDS}"
    if fault.size and knows(f"faults.{name}.truth") and "{n}" not in str(entry(f"faults.{name}.truth")):
        yield f"its 'truth' tells no size: put {{n}} for the figure into it in {WORDS}"
    if fault.kind and knows(f"faults.{name}.truth") and "{joint}" not in str(entry(f"faults.{name}.truth")):
        yield f"its 'truth' tells no place: put {{joint}} for the number into it in {WORDS}"
    if fault.look and fault.look not in CHECKS:
        yield f"there is no check {fault.look!r}: 'look' in {RECORD} is one of {', '.join(CHECKS)}"
    if name == "sound":
        return
    works = remedies_for(fault.part)
    if not works:
        parts = sorted({part for item in REMEDIES.values() for part in (item.part, *item.also)})
        yield (
            f"no work touches the part {fault.part!r}: 'part' in {RECORD} is one of {', '.join(parts)}, or add a remedy: "
            f"an entry in {REMEDY_RECORD}, by 'A remedy' in DEVELOPERS.md"
        )
    if not touched(name):
        yield "what may its function change? Add it to TOUCHES in tests/rig/test_faults.py"
    rig = next((rig for rig in map(load_rig, RIGS) if fault.places(rig)), None)
    if rig is None:
        yield f"no rig has it: look at 'fitted' ({fault.fitted!r}) in {RECORD}"
        return
    yield from on_a_rig(fault, rig, works)


def on_a_rig(fault: Fault, rig: Rig, works: tuple[str, ...]) -> Iterator[str]:
    """What does not go together on one rig."""
    site, place, size = standard_site(), fault.places(rig)[0], fault.sizes[-1]
    try:
        there = fault.apply(rig, site, size, place)
    except InputError as error:
        yield f"its large size cannot be put into a rig: {error} Look at 'size' and 'change' in {RECORD}"
        return
    if there == (rig, site):
        yield f"it changes nothing: look at 'change' in {RECORD}"
    elif not shows(rig, seen := outlook_of_sound(rig.name)[0].outlook(*there)):
        yield f"no check and no needle shows its large size on {rig.title}: look at 'change' in {RECORD}, or add a check"
    else:
        yield from dict.fromkeys(names_another(fault, rig, seen))  # at each place and time the same
    if works and not any(mends(name, there, place) for name in works):
        yield (
            f"none of {', '.join(works)} changes its part back: see 'does' in {REMEDY_RECORD}, "
            "or teach one in rig/hands.py"
        )
    for name in works:
        yield from finds_without_words(name, there, place)
    try:
        assert any(h.fault == fault.id for h in spread(rig, site, [fault.id]))
        scenario = Scenario(
            title="A call",
            brief="It will not draw.",
            site=SiteChoice(lift_m=3.0),
            faults=(choose_fault(fault.id, size, place),),
        )
        assert truth_of(scenario.what_is_wrong())
    except Exception as error:  # noqa: BLE001 - whatever it is, it is told with the rest
        yield f"a call-out, a belief or a debrief cannot use it: {type(error).__name__}: {error}"


@cache
def outlook_of_sound(name: str) -> tuple[Observer, Outlook]:
    """A rig in good order and what its start and its checks would show."""
    observer = Observer(load_rig(name), standard_site())
    return observer, observer.outlook(observer.rig, observer.site)


#: What shows two faults alike, and no look of that kind can tell apart: a receiver that fills slowly gets too little air,
#: from a worn compressor, a blocked intake or a slow engine.
TWINS = {("intake_blocked", "receiver_test", "slow"), ("engine_slow", "receiver_test", "slow")}


def names_another(fault: Fault, rig: Rig, seen: Outlook) -> Iterator[str]:
    """Outcomes that a fault brings about, likely and unlike the sound rig, that call for work on another part."""
    for (check, place), chances in seen.chances.items():
        before = outlook_of_sound(rig.name)[1].chances[check, place]
        outcomes = CHECKS[check].outcomes * (
            chances.size // len(CHECKS[check].outcomes)
        )  # one row for each time it is made
        for outcome, now, then in zip(outcomes, chances.flat, before.flat, strict=True):
            work = REMEDY_FOR.get((check, outcome), "")
            shown = now >= 0.5 > then and (fault.id, check, outcome) not in TWINS
            if work and shown and work not in remedies_for(fault.part):
                yield (
                    f"{check!r} shows {outcome!r}, which calls for {work!r} (checks.yaml), and that does not touch "
                    f"its part {fault.part!r}: the check's judge is to leave its air or water out, or "
                    "state the pair in TWINS in tests/house/test_every_fault.py, or give it a quantity of its own: "
                    "'A quantity of the rig' in DEVELOPERS.md"
                )


def test_a_look_that_names_another_part_is_told() -> None:
    rig, fault = load_rig("alder"), FAULTS["flange_leaks"]
    seen = outlook_of_sound("alder")[0].outlook(*fault.apply(rig, standard_site(), fault.sizes[-1]))
    assert list(names_another(fault, rig, seen)) == []
    told = "\n".join(names_another(replace(fault, part="screen"), rig, seen))
    assert "'foam_pump' shows 'drawn_in_flange'" in told
    assert "TWINS" in told
    assert "'A quantity of the rig' in DEVELOPERS.md" in told


def test_a_size_that_no_desk_knows_takes_its_words_from_the_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    item = FAULTS["joint_ring"]
    assert item.size is not None
    assert "joint_ring" in FAULT_MODELS  # made of the true faults before one is changed
    new = replace(item, size=replace(item.size, key="crack_width_mm"))
    monkeypatch.setitem(FAULTS, "joint_ring", new)
    assert size_words("joint_ring") == "Crack width"
    assert "'size' (what desks call its crack_width_mm" in "\n".join(missing(new))
    monkeypatch.setattr(faults, "knows", lambda key: key == "faults.joint_ring.size")
    monkeypatch.setattr(faults, "text", lambda key: f"words of {key}")
    assert size_words("joint_ring") == "words of faults.joint_ring.size"


def shows(rig: Rig, seen: Outlook) -> bool:
    """Whether a needle moves by 1 kPa, or a check's outcome changes its chance by a half, against the sound rig.

    Both bounds are common practice, no source: what a hand reads off a gauge, and a look worth its time.
    """
    sound = outlook_of_sound(rig.name)[1]
    moved = np.nanmax(np.abs(seen.needles - sound.needles)) >= 1e3
    return bool(moved) or any(
        np.max(np.abs(seen.chances[key] - sound.chances[key])) >= 0.5 for key in sound.chances
    )


def finds_without_words(remedy: str, there: tuple[Rig, Site], place: str) -> Iterator[str]:
    """What the hands find in a work on the fault, where that is a code that no debrief could put into words."""
    item = REMEDIES[remedy]
    for where in item.places(there[0]):
        if where in ("", place):
            code = item.finding(*there, where)
            if code not in item.findings:
                yield f"the hands find {code!r} in {remedy}: add it to 'findings' there in {REMEDY_RECORD}"
            if not knows(f"remedies.{remedy}.found.{code}"):
                yield f"no words for what the hands find: add {code!r} under 'found' of {remedy} in {FOUND}"


def test_a_find_without_words_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    there = (load_rig("alder"), standard_site())
    assert list(finds_without_words("close_drain", there, "")) == []
    new = replace(REMEDIES["close_drain"], look=lambda rig, place: "was_frozen")
    monkeypatch.setitem(REMEDIES, "close_drain", new)
    told = list(finds_without_words("close_drain", there, ""))
    assert ["'findings'" in told[0], FOUND in told[1], len(told)] == [True, True, 2]


def mends(remedy: str, there: tuple[Rig, Site], place: str) -> bool:
    """Whether a work changes a rig with the fault, at the fault's place where it is done at places."""
    item = REMEDIES[remedy]
    where = next((each for each in item.places(there[0]) if each in ("", place)), None)
    return where is not None and item.apply(*there, where) != there


def test_every_fault_is_whole() -> None:
    told = [f"fault {name!r}: {each}" for name, fault in FAULTS.items() for each in missing(fault)]
    if SCHEMA_FILE.read_text(encoding="utf-8") != schema_text():
        told.append(
            "the published schema of call-outs is of other faults: run python3 binder/make_data.py --only schema"
        )
    told += weights_off([fault.weight for fault in FAULTS.values()])
    assert not told, "\n" + "\n".join(told)


def weights_off(weights: list[float]) -> list[str]:
    """What is wrong with the weights of all faults, in a sentence, or nothing."""
    whole = sum(weights)
    if math.isclose(whole, 1.0, rel_tol=1e-12):
        return []
    said = (
        f"the weights of all faults together are {whole:g}, not 1: take {whole - 1.0:+.4g} off other faults"
    )
    return [f"{said} of the family, 'weight' in {RECORD}"]


def test_weights_that_are_not_one_are_told() -> None:
    assert weights_off([0.5, 0.5]) == []
    assert all(word in weights_off([0.5, 0.51])[0] for word in (RECORD, "1.01", "+0.01"))


def test_what_can_be_wrong_points_to_the_guide() -> None:
    nowhere = replace(FAULTS["nrv_fouled"], part="hat")
    assert any(REMEDY_RECORD in each and "DEVELOPERS.md" in each for each in missing(nowhere))
    guide = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert all(f"**{title}**" in guide for title in ("A fault", "A remedy", "A quantity of the rig"))


NRV = "family: air_gets_in, part: nrv, weight: 0.1"
ORDERED = (
    "low: 1, high: 4, small: 1, middle: 2, large: 3, usual_low: 1, usual_high: 3, scale: log, end_share: 0"
)
BAD = {
    "nothing at all": ("", "family: Field required"),
    "a slip of the pen": (f"{NRV}, weigth: 0.1, change: {{by: no_change}}", "weigth"),
    "a part no rig has": (f"{NRV}, change: {{part: hat, field: brim}}", "no rig has 'hat'"),
    "a field no part has": (f"{NRV}, change: {{part: nrv, field: brim}}", "'brim'"),
    "a quantity that is new": (f"{NRV}, change: {{part: ejector, field: brim}}", "'A quantity of the rig'"),
    "a function there is not": (f"{NRV}, change: {{by: magic}}", "no function 'magic'"),
    "an option too many": (f"{NRV}, change: {{by: no_change, height_m: 2}}", "'height_m' is no key"),
    "a ramp there is not": (f"{NRV}, change: {{ramp: hat}}", "'hat' cannot change"),
    "a size without a unit": (
        f"{NRV}, size: {{key: gap, {ORDERED}}}, change: {{by: no_change}}",
        "'gap' ends in no unit",
    ),
    "a size out of its range": (
        f"{NRV}, size: {{key: gap_mm, {ORDERED.replace('large: 3', 'large: 9')}}}, change: {{by: no_change}}",
        "large is not between low and high, 1 and 4",
    ),
    "sizes out of order": (
        f"{NRV}, size: {{key: gap_mm, {ORDERED.replace('middle: 2', 'middle: 4')}}}, change: {{by: no_change}}",
        "middle is not between small and large",
    ),
    "a log scale from nought": (
        f"{NRV}, size: {{key: gap_mm, {ORDERED.replace('low: 1', 'low: 0')}}}, change: {{by: no_change}}",
        "above 0 on a log scale",
    ),
    "a family there is not": ("family: rust, part: nrv, weight: 0.1, change: {by: no_change}", "air_gets_in"),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_record_that_is_not_whole_gets_a_sentence_with_its_line(kind: str, tmp_path: Path) -> None:
    record, told = BAD[kind]
    path = tmp_path / "faults.yaml"
    path.write_text(
        f"first: {{family: none, part: '', weight: 1, change: {{by: no_change}}}}\nbad: {{{record}}}\n"
    )
    with pytest.raises(InputError) as caught:
        fault_from(records_in(path), "bad")
    assert told in str(caught.value)
    assert "line 2" in str(caught.value)
    assert "'bad'" in str(caught.value)
