"""Every check is whole: its record, and its words, are all it takes.

What is missing is told all at once, in words: what, where, and what would be legal.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simulator.attempt.offers import GROUP_OF
from simulator.diagnosis import shipped
from simulator.diagnosis.outlook import READ_FROM_NEEDLES, check_keys
from simulator.errors import InputError
from simulator.instruments.checks import CHECKS, check_from
from simulator.instruments.look import Check, Look
from simulator.panels.exercise.offers import icon_of
from simulator.panels.lessons.registry import lesson
from simulator.rig import safe_work
from simulator.rig.presets import fitted_with, load_rig, rig_names, standard_site
from simulator.rig.record_files import GROUPS, records_in
from simulator.rig.remedies import REMEDIES, remedies_for
from simulator.rig.safe_words import patterns_of
from simulator.texts import entry, knows
from tests.house.test_safe_words import NET
from tests.panels.exercise.test_offers import icons_drawn, page_of

RECORD, WORDS = "simulator/rig/data/checks.yaml", "simulator/texts/en/checks.yaml"
DATA = "python3 binder/make_data.py --only sets"


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
        yield (
            f"no page has a place for the part {check.place!r}: add 'group' to its record in {RECORD}, one of "
            f"{', '.join(GROUPS)}, or make it at a part that has a place: {', '.join(GROUP_OF)}"
        )
    if icon_of(name) not in icons_drawn():
        icons = ", ".join(sorted(icons_drawn()))
        yield f"no icon {icon_of(name)!r} is drawn: 'icon' in {RECORD} is one of {icons}"
    if name not in safe_work.table().acts["checks"]:
        legal = ", ".join(safe_work.table().dangers)
        yield (
            f"no row of safe work, so it is not offered: add 'safe' to its record in {RECORD}, such as "
            f"{{dangers: [none_near]}}, with the dangers it has, of: {legal}"
        )
    elif not safe_work.act_of(safe_work.CHECKS, name).dangers:
        yield f"'safe' in {RECORD} names no danger; none_near says that there is none"
    for outcome, work in check.calls_for:
        if work not in REMEDIES:
            legal = ", ".join(remedies_for(check.place)) or ", ".join(REMEDIES)
            yield f"its outcome {outcome!r} calls for {work!r}, which is no work: in {RECORD} write one of {legal}"
    if not any(fitted_with(load_rig(rig), check.fitted) for rig in rig_names()):
        yield f"no rig has a place for it: look at 'fitted' ({check.fitted!r}) in {RECORD}"


def untold(name: str, said: dict[str, str]) -> Iterator[str]:
    """Ways to tell a check that no pattern of safe work knows, by its ``label`` and ``how``."""
    acts = safe_work.table().acts["checks"]
    if name not in acts or not set(safe_work.needs(safe_work.CHECKS, name)) - {"running"}:
        return  # a missing row is told elsewhere; what waits for nothing needs no line
    kinds = patterns_of("en").values()
    every = [pattern for kind in kinds for patterns in kind.values() for pattern in patterns]
    for key, words in said.items():
        known = any(re.search(pattern, words, re.IGNORECASE) for pattern in every)
        if not known and (key == "label" or NET.search(words)):
            yield (
                f"no pattern finds its {key!r}, {words!r}: a lesson that says it in its own words would tell it without "
                f"what protects. Add a pattern under 'told_as', 'en' to its record in {RECORD}"
            )


def test_a_check_that_no_pattern_tells_is_told() -> None:
    assert list(untold("nrv_lid", {"label": "Take the lid off", "how": "It comes off."})) == []
    told = list(untold("nrv_lid", {"label": "Polish the hat", "how": "Now turn the cock."}))
    assert [RECORD in each and "'told_as'" in each for each in told] == [True, True]


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
    assert not told, "\n" + "\n".join(told)


def test_a_check_that_lacks_everything_is_told_all_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    new = replace(
        CHECKS["nrv_lid"], id="polish_hat", place="hat", calls_for=(("fouled", "polish"),), icon="hat"
    )
    monkeypatch.setitem(CHECKS, new.id, new)
    told = "\n".join(missing(new))
    for wanted in (
        "'label'",
        "'how'",
        "'fouled'",
        "'group'",
        "'safe'",
        "no icon 'hat'",
        "calls for 'polish'",
    ):
        assert wanted in told
    assert RECORD in told
    assert WORDS in told
    # until then it is offered nowhere, and breaks nothing
    assert all(name != new.id for name, _ in check_keys(load_rig("alder")))
    assert "broken" not in [block["id"] for block in lesson("field").sheet().content["blocks"]]
    offered = {item["id"] for place in page_of("alder")["places"] for item in place["items"]}  # type: ignore[attr-defined]
    assert "check:nrv_lid:nrv" in offered
    assert not any("polish_hat" in each for each in offered)


NEW = """
tug_rope:
  place: rope
  minutes: 1
  outcomes: {hangs_well: , hangs_high: lower_strainer, stirs: }
  judge:
    - {outcome: hangs_high, of: site.submergence, below_mm: 350, doubt_mm: 50, seen: 0.9}
    - {outcome: stirs, of: run.motive_flow, above: 0.001, doubt: 0.0001}
    - {outcome: hangs_well}
  slip: 0.02
  safe: {dangers: [edge_near]}
"""


def read(tmp_path: Path, written: str) -> Check:
    path = tmp_path / "checks.yaml"
    path.write_text(written, encoding="utf-8")
    return check_from(records_in(path), "tug_rope")


def test_a_look_at_a_quantity_is_a_record_and_needs_no_function(tmp_path: Path) -> None:
    from simulator.run import simulate

    check = read(tmp_path, NEW)
    rig, site = load_rig("osier"), standard_site()
    still, high = Look(rig, site), Look(rig, replace(site, submergence=0.1))
    assert check.probabilities(still)["hangs_well"] > 0.95
    assert 0.85 < check.probabilities(high)["hangs_high"] < 0.92
    running = Look(rig, site, simulate(rig, site, duration=30.0), 20.0, True)
    assert check.probabilities(running)["stirs"] > 0.95
    assert check.calls_for == (("hangs_high", "lower_strainer"),)


BAD = {
    "a slip of the pen": (("slip: 0.02", "slipp: 0.02"), "slipp"),
    "no outcomes": (("  outcomes:", "  outcome:"), "outcomes: Field required"),
    "an outcome there is not": (("{outcome: stirs", "{outcome: stir"), "'stir' is none of its outcomes"),
    "a part no rig has": (("site.submergence", "hat.brim"), "no rig has 'hat'"),
    "a field no site has": (("site.submergence", "site.brim"), "no site has 'brim'"),
    "a channel no run has": (("run.motive_flow", "run.brim"), "no run has 'brim'"),
    "a threshold without a doubt": ((", doubt: 0.0001", ""), "'above' or 'below', and a 'doubt'"),
    "no rest": (("    - {outcome: hangs_well}\n", ""), "only the last step"),
    "a group there is not": (("place: rope", "place: rope\n  group: attic"), "all_round"),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_record_that_is_not_whole_gets_a_sentence_with_its_line(kind: str, tmp_path: Path) -> None:
    (old, new), told = BAD[kind]
    assert old in NEW
    with pytest.raises(InputError) as caught:
        read(tmp_path, NEW.replace(old, new))
    assert told in str(caught.value)
    assert "'tug_rope'" in str(caught.value)
    assert "line 2" in str(caught.value) or "line 3" in str(caught.value)


def test_a_function_there_is_not_is_told_with_where_they_are(tmp_path: Path) -> None:
    judge = NEW[NEW.index("  judge:") : NEW.index("  slip")]
    with pytest.raises(InputError, match=r"no function 'judge_hat'.*checks_of_opened_parts\.py"):
        read(tmp_path, NEW.replace(judge, "  judge: judge_hat\n"))
