"""Files of records: read when they are first asked for; a broken one gives its sentence and breaks no import."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from simulator.errors import BrokenFile, InputError
from simulator.instruments.checks import CHECKS
from simulator.rig.faults import FAULTS, fault_from
from simulator.rig.lazy import LazyTable, RecordTable
from simulator.rig.plain_yaml import Document, read_text
from simulator.rig.record_files import record_file, records_in
from simulator.rig.remedies import REMEDIES, remedy_from

EVERY_MODULE = """
import importlib, pkgutil, simulator
from simulator.rig import lazy
from simulator.rig.record_files import record_file
for each in pkgutil.walk_packages(simulator.__path__, "simulator."):
    if not each.name.endswith("__main__") and ".migrations." not in each.name:
        importlib.import_module(each.name)
from simulator import CHECKS, FAULTS, REMEDIES
print([table.is_read for table in (FAULTS, CHECKS, REMEDIES)], record_file.cache_info().currsize)
"""


@pytest.mark.full
def test_no_import_reads_a_file_of_records() -> None:
    """Of all modules; ``tests/house/test_door.py`` asks it of a lesson."""
    said = subprocess.run([sys.executable, "-c", EVERY_MODULE], capture_output=True, text=True, check=False)
    assert said.stdout.strip() == "[False, False, False] 0", said.stderr


def test_a_broken_table_gives_its_sentence_each_time_and_a_mended_one_is_read() -> None:
    broken = [True]

    def read() -> dict[str, int]:
        if broken:
            raise InputError("a record is not whole", "faults.yaml, line 3", "a whole one")
        return {"belt": 4}

    table = LazyTable(read)
    for _ in range(2):
        with pytest.raises(InputError, match=r"faults\.yaml, line 3"):
            table["belt"]
        with pytest.raises(InputError):
            "belt" in table  # noqa: B015
    broken.clear()
    assert dict(table) == {"belt": 4}


def test_a_broken_record_takes_no_other_but_who_goes_over_all_of_them_is_told() -> None:
    written = {name: dict(data) for name, data in record_file("faults").data.items()}
    written["belt_loose"]["weight"] = "heavy"
    written["joint_ring"]["size"] = {"key": "gap"}
    table = RecordTable(lambda: Document(written, record_file("faults").lines, "faults.yaml"), fault_from)
    assert table["drain_open"].sizes == FAULTS["drain_open"].sizes
    assert "belt_loose" in table
    assert "hat" not in table
    line = record_file("faults").line(("belt_loose",))
    with pytest.raises(
        BrokenFile, match=rf"faults\.yaml, line {line}.*weight: Input should be a valid number"
    ):
        table["belt_loose"]
    for asked in (list, len, dict, lambda table: table.items() and list(table.values())):
        with pytest.raises(BrokenFile, match=r"'joint_ring': .*'belt_loose': ") as caught:
            asked(table)
        assert str(caught.value).count("faults.yaml, line") == 2
    with pytest.raises(KeyError):
        table["hat"]


@pytest.mark.parametrize("written", ["- a\n- b\n", "just words"])
def test_a_file_without_records_is_told(written: str, tmp_path: Path) -> None:
    path = tmp_path / "faults.yaml"
    path.write_text(written, encoding="utf-8")
    with pytest.raises(InputError, match="holds no records"):
        records_in(path)


def test_each_part_has_one_place_on_the_page() -> None:
    said: dict[str, set[str]] = {}
    for part, group in (
        *((check.place, check.group) for check in CHECKS.values()),
        *((remedy.part, remedy.group) for remedy in REMEDIES.values()),
    ):
        said.setdefault(part, set()).update({group} - {""})
    assert {part: groups for part, groups in said.items() if len(groups) != 1} == {}


def test_every_record_names_its_own_kind() -> None:
    for kind, table in {"faults": FAULTS, "checks": CHECKS, "remedies": REMEDIES}.items():
        assert list(record_file(kind).data) == list(table)


NEW = """
wash_screen:
  part: screen
  minutes: 3
  findings: [was_clear, was_plugged]
  takes_other_work: [was_plugged]
  does: {set: {screen: {plugged: 0}, suction_hose.strainer: {blocked: 0.5}}, ends: [strainer_blocked]}
  finds:
    - {found: was_plugged, of: screen.plugged, above: 0.2}
    - {found: was_clear}
"""


def test_work_on_a_quantity_is_a_record_and_needs_no_function(tmp_path: Path) -> None:
    from simulator.rig.presets import load_rig, standard_site
    from simulator.rig.quantity import replaced

    path = tmp_path / "remedies.yaml"
    path.write_text(NEW, encoding="utf-8")
    new, rig, site = remedy_from(records_in(path), "wash_screen"), load_rig("osier"), standard_site()
    plugged, _ = FAULTS["strainer_clogs"].apply(replaced(rig, "screen", plugged=0.6), site, 0.98)
    assert [new.finding(each, site) for each in (rig, plugged)] == ["was_clear", "was_plugged"]
    after, _ = new.apply(plugged, site)
    assert (after.screen.plugged, after.suction_hose.strainer.blocked, after.ramps) == (0.0, 0.5, ())


def test_work_that_can_find_one_thing_alone_is_a_record_too(tmp_path: Path) -> None:
    one = NEW.replace("[was_clear, was_plugged]", "[was_clear]").replace(
        "  takes_other_work: [was_plugged]\n", ""
    )
    path = tmp_path / "remedies.yaml"
    path.write_text("\n".join(row for row in one.splitlines() if "above: 0.2" not in row), encoding="utf-8")
    assert remedy_from(records_in(path), "wash_screen").findings == ("was_clear",)


def test_a_figure_that_is_none_is_told_once_and_a_strange_key_with_the_legal_ones() -> None:
    written = "hat: {family: none, part: '', weight: 0, change: {by: no_change}, size: {key: gap_mm, low: wide, brim: 1}}"
    with pytest.raises(InputError) as caught:
        fault_from(read_text(written, "faults.yaml"), "hat")
    assert caught.value.what.count("size.low") == 1
    assert "size.low: Input should be a valid number" in caught.value.what
    assert "size.brim: there is no such key; legal: key, low, high, small" in caught.value.what


BAD = {
    "a part no rig has": (("{set: {screen:", "{set: {hat:"), "no rig has 'hat'"),
    "a ramp there is not": (("[strainer_blocked]", "[hat]"), "'hat' cannot change"),
    "a find there is not": (
        ("{found: was_clear}", "{found: was_clean}"),
        "'was_clean' is none of its findings",
    ),
    "no rest": (("    - {found: was_clear}\n", ""), "only the last step"),
    "a slip of the pen": (("minutes", "minuts"), "minuts"),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_record_of_work_that_is_not_whole_gets_a_sentence(kind: str, tmp_path: Path) -> None:
    (old, new), told = BAD[kind]
    assert old in NEW
    path = tmp_path / "remedies.yaml"
    path.write_text(NEW.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        remedy_from(records_in(path), "wash_screen")
    assert told in str(caught.value)
    assert "'wash_screen'" in str(caught.value)


def test_hands_there_are_not_are_told(tmp_path: Path) -> None:
    path = tmp_path / "remedies.yaml"
    path.write_text(
        NEW.replace(NEW[NEW.index("  does:") :], "  does: magic\n  finds: screen_found\n"), encoding="utf-8"
    )
    with pytest.raises(InputError, match=r"'wash_screen': 'magic' is no work.*rig/hands\.py"):
        remedy_from(records_in(path), "wash_screen")
