"""Rig and site files: units in the keys, sentences with line and legal range."""

from __future__ import annotations

from pathlib import Path

import pytest
from fluids import constants

from simulator.errors import InputError
from simulator.rig import presets
from simulator.rig.files import FILE_UNITS, file_unit, keys_of, read_part
from simulator.rig.parts import Liner, ReliefValve, SuctionHose
from simulator.rig.plain_yaml import read_text
from simulator.rig.rig import Rig, Site

OSIER = Path(presets.__file__).parent / "data" / "osier.yaml"


def _changed(tmp_path: Path, old: str, new: str) -> Path:
    written = OSIER.read_text(encoding="utf-8")
    assert written.count(old) == 1, old
    path = tmp_path / "mine.yaml"
    path.write_text(written.replace(old, new), encoding="utf-8")
    return path


def _line_of(text: str) -> int:
    lines = OSIER.read_text(encoding="utf-8").splitlines()
    return next(number for number, line in enumerate(lines, 1) if text in line)


def test_units_against_the_fluids_library() -> None:
    # fluids 1.x, fluids.constants
    assert FILE_UNITS["mm"].to_si(1.0) == pytest.approx(constants.milli, rel=1e-15)
    assert FILE_UNITS["bar"].to_si(1.0) == pytest.approx(constants.bar, rel=1e-15)
    assert FILE_UNITS["l"].to_si(1.0) == pytest.approx(constants.liter, rel=1e-15)
    assert FILE_UNITS["c"].to_si(0.0) == pytest.approx(constants.zero_Celsius, rel=1e-15)
    assert FILE_UNITS["rpm"].to_si(1800.0) == 30.0


@pytest.mark.parametrize("ending", FILE_UNITS)
def test_unit_there_and_back(ending: str) -> None:
    unit = file_unit("some_" + ending)
    assert unit is FILE_UNITS[ending]
    assert unit.from_si(unit.to_si(3.7)) == pytest.approx(3.7, rel=1e-12)


def test_every_quantity_of_every_part_has_a_key() -> None:
    for kind in (SuctionHose, Site, ReliefValve, Liner):
        named = {item.name for item, _ in keys_of(kind).values()}
        assert named == set(kind.__dataclass_fields__)


SENTENCES = {
    "too large": (
        "  bore_mm: 16\n",
        "  bore_mm: 1600\n",
        "bore_mm: 16",
        "1600 is out of range",
        "2 to 100 mm",
    ),
    "too small": ("length_m: 2.0", "length_m: 0.0", "length_m: 2.0", "0 is out of range", "0.1 to 20 m"),
    "words": ("volume_l: 45 ", "volume_l: big ", "volume_l: 45 ", "'big' is not a number", "1 to 2000 L"),
    "true": ("volume_l: 45 ", "volume_l: true ", "volume_l: 45 ", "True is not a number", "1 to 2000 L"),
    "feet": ("shut_head_m: 32", "shut_head_ft: 105", "shut_head_m", "not the right unit", "shut_head_m"),
    "a wrong unit": (
        "set_pressure_bar",
        "set_pressure_mm",
        "set_pressure_bar",
        "right unit",
        "set_pressure_bar",
    ),
    "a slip": ("clearance: 0.06", "clearence: 0.06", "clearance", "did you mean 'clearance'", "clearance"),
    "a word for a flag": ("gauge: true", "gauge: 3", "gauge: true", "3 does not fit", "true or false"),
    "a group": ("  open_area_mm2: 310", "  - 310", "", "group of keys", "keys"),
    "beyond the hose": ("position_m: 9.9", "position_m: 12", "", "beyond the hose", ""),
    "missing": ("  displacement_l_s: 12.5 ", "  #", "", "displacement_l_s is missing", "displacement_l_s"),
    "no strainer": ("  strainer:\n    loss: 1.5 ", "  #", "", "", ""),
    "another format": ("format: pump-rig", "format: boat", "format:", "another kind", "pump-rig"),
    "too new": ("version: 1", "version: 2", "version:", "version 2", "version: 1"),
}


@pytest.mark.parametrize("name", SENTENCES)
def test_sentence_names_line_and_range(name: str, tmp_path: Path) -> None:
    old, new, line_text, what, legal = SENTENCES[name]
    with pytest.raises(InputError) as caught:
        presets.read_rig_file(_changed(tmp_path, old, new))
    error = caught.value
    assert what in error.what
    assert legal in error.legal
    assert error.where.startswith("mine.yaml, line ")
    if line_text:
        assert f"line {_line_of(line_text)}," in error.where


def test_given_twice_in_two_units() -> None:
    document = read_text("set_pressure_bar: 8\nset_pressure_kpa: 800\nbore_mm: 4\n", "a file")
    with pytest.raises(InputError, match=r"line 2.*given twice"):
        read_part(ReliefValve, document.data, document)


def test_the_same_in_other_units() -> None:
    one = read_text("set_pressure_bar: 8\nbore_mm: 4\n", "a file")
    two = read_text("set_pressure_kpa: 800\nbore_m: 0.004\nreseat_ratio_percent: 92\n", "a file")
    assert read_part(ReliefValve, one.data, one) == read_part(ReliefValve, two.data, two)


def test_osier_is_the_rig_of_the_lessons() -> None:
    rig = presets.load_rig("osier")
    assert isinstance(rig, Rig)
    assert rig.suction_hose.bore == 0.150
    assert rig.suction_hose.length == 10.0
    assert rig.relief_valve.set_pressure == 8e5
    assert rig.engine.rated_speed == 30.0
    # sound: nothing open, plugged, loose or torn
    assert rig.casing_drain.opening == 0.0
    assert rig.compressor.belt_slip == rig.screen.plugged == rig.suction_hose.strainer.blocked == 0.0
    assert all(joint.hole_diameter == 0.0 for joint in rig.suction_hose.joints)
    assert rig.suction_hose.liner.closing_pressure == float("inf")
    assert "made up for training" in OSIER.read_text(encoding="utf-8")


def test_relief_valve_passes_what_the_compressor_delivers() -> None:
    # ISO 6358 / NACA Report 1135: choked flow of air per area = 0.040418 p / sqrt(T); Cd 0.8 from memory.
    rig = presets.load_rig("osier")
    set_pressure = rig.relief_valve.set_pressure + 101_325.0
    area = 3.14159 / 4.0 * rig.relief_valve.bore**2
    passes = 0.8 * area * 0.040418 * set_pressure / 293.15**0.5
    delivered = rig.compressor.displacement * 101_325.0 / (287.05 * 293.15)  # at 100 % volumetric efficiency
    assert passes > 1.5 * delivered


def test_unknown_names() -> None:
    with pytest.raises(InputError, match="osier"):
        presets.load_rig("willow")
    with pytest.raises(InputError, match="teal_pond"):
        presets.load_site("../teal_pond")
    assert presets.standard_site().lift == 3.0


def test_joints_below_the_water_are_left_out() -> None:
    rig = presets.load_rig("osier")
    shallow = Site(lift=1.5, submergence=2.0)
    assert presets.joints_above_water(rig, presets.standard_site()) == (0, 1, 2)
    assert presets.joints_above_water(rig, shallow) == (1, 2)
