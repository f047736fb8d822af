"""A hose gets another length in one place, and all that lies along it goes with it."""

from __future__ import annotations

import ast
from dataclasses import replace
from pathlib import Path

import pytest

import simulator
from simulator.errors import InputError
from simulator.rig.faults import FAULTS
from simulator.rig.hose_length import with_hose_length
from simulator.rig.presets import load_rig, rig_names, standard_site

ALONG = {"joints", "holes", "liner"}


@pytest.mark.parametrize("name", rig_names())
def test_all_that_lies_along_it_keeps_its_share_of_the_way(name: str) -> None:
    rig, _ = FAULTS["hose_hole"].apply(load_rig(name), standard_site(), 0.005, "length:0")
    old, new = rig.suction_hose, with_hose_length(rig, 1.7 * rig.suction_hose.length).suction_hose
    assert new.length == pytest.approx(1.7 * old.length, rel=1e-12)
    assert len(new.joints) == len(old.joints) > 0
    assert len(new.holes) == len(old.holes) == 1
    pairs = [
        *zip(old.joints, new.joints, strict=True),
        *zip(old.holes, new.holes, strict=True),
        (old.liner, new.liner),
    ]
    for one, other in pairs:
        assert other.position == pytest.approx(1.7 * one.position, abs=1e-6)
    assert replace(new, length=old.length, joints=old.joints, holes=old.holes, liner=old.liner) == old


def test_the_same_length_changes_nothing_and_no_hose_is_refused() -> None:
    rig = load_rig("osier")
    assert with_hose_length(rig, rig.suction_hose.length) is rig
    with pytest.raises(InputError):
        with_hose_length(rig, 0.0)


def changed_elsewhere(source: str) -> list[int]:
    """Lines on which a hose is given another length by hand."""
    found: list[int] = []
    if "length=" not in source:
        return found
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "replace":
            keys = {each.arg for each in node.keywords}
            of_hose = "hose" in ast.unparse(node.args[0]) or keys & ALONG
            if "length" in keys and of_hose:
                found.append(node.lineno)
    return found


def test_no_other_file_changes_the_length_of_a_hose() -> None:
    package = Path(simulator.__file__).parent
    found = {
        f"{path.relative_to(package).as_posix()}, line {line}"
        for path in package.rglob("*.py")
        if path.name != "hose_length.py"
        for line in changed_elsewhere(path.read_text(encoding="utf-8"))
    }
    assert found == set()
    assert changed_elsewhere("replace(rig.suction_hose, length=2.0)") == [1]
    assert changed_elsewhere("replace(kept, length=2.0, joints=())") == [1]
