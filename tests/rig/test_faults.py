"""Faults are changes of physical quantities and nothing else."""

from __future__ import annotations

import ast
import math
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator import rig as rig_package
from simulator.errors import InputError
from simulator.rig.faults import FAMILIES, FAULTS, Fault, fault, joint_index
from simulator.rig.plain_yaml import read_file
from simulator.rig.presets import load_rig, standard_site
from simulator.rig.rig import Rig, Site
from simulator.texts import text

RECORDS = Path(rig_package.__path__[0]) / "data" / "faults.yaml"
RIG, SITE = load_rig("osier"), standard_site()
CASES = [
    (name, size, place)
    for name, item in FAULTS.items()
    for size in item.sizes
    for place in (item.places(RIG) or item.places(load_rig("reed")))
]


def differences(one: Any, two: Any, path: str = "") -> set[str]:
    """Dotted names of all fields in which two records differ."""
    if is_dataclass(one) and type(one) is type(two):
        found = set()
        for item in fields(one):
            name = f"{path}.{item.name}".lstrip(".")
            found |= differences(getattr(one, item.name), getattr(two, item.name), name)
        return found
    if isinstance(one, tuple) and len(one) == len(two):
        return {
            d for i, (a, b) in enumerate(zip(one, two, strict=True)) for d in differences(a, b, f"{path}.{i}")
        }
    return set() if one == two else {path}


#: What a fault may change, said apart from its record; one that is not here is held to what its record says.
TOUCHES = {
    "sound": set(),
    "drain_open": {"casing_drain.opening"},
    "nrv_fouled": {"nrv.gap_area"},
    "joint_ring": {"suction_hose.joints.{i}.hole_diameter"},
    "belt_loose": {"compressor.belt_slip"},
    "nozzle_plugged": {"ejector.nozzle_plugged"},
    "screen_plugged": {"screen.plugged"},
    "strainer_plugged": {"suction_hose.strainer.blocked"},
    "liner_collapsed": {"suction_hose.liner.closing_pressure"},
    "frost_drain_open": {"frost_drain.opening"},
    "hose_hole": {"suction_hose.holes"},
    "flange_leaks": {"casing.gasket_hole"},
    "seal_worn": {"casing.seal_hole"},
    "strainer_high": {"site.submergence", "site.deepest_spot"},
    "compressor_worn": {"compressor.wear"},
    "intake_blocked": {"compressor.intake_blocked"},
    "relief_weak": {"relief_valve.set_pressure"},
    "air_line_holed": {"air_line.hole_diameter"},
    "air_line_kinked": {"air_line.kinked"},
    "nozzle_worn": {"ejector.nozzle_worn"},
    "mixing_tube_worn": {"ejector.mixing_worn"},
    "exhaust_blocked": {"exhaust_hose.blocked"},
    "cock_shut": {"isolating_cock.opening"},
    "float_stuck_shut": {"separator.stuck_shut"},
    "float_stuck_open": {"separator.stuck_open"},
    "engine_slow": {"engine.speed_setting"},
    "pump_high": {"site.lift", "site.lowest_stand"},
    "hose_humped": {"site.profile"},
    "discharge_shut": {"discharge.valve.opening"},
    "line_kinked": {"discharge.kinked"},
    "nrv_stuck": {"nrv.stuck"},
    "impeller_clogged": {"pump.head_factor"},
    "flange_works_loose": {"ramps"},
    "strainer_clogs": {"ramps"},
    "level_falls": {"ramps", "site.deepest_spot"},
    "line_bursts": {"ramps"},
    "gauge_low": {"suction_gauge.offset"},
    "gauge_stuck": {"suction_gauge.stuck"},
    "gauge_slow": {"suction_gauge.extra_lag"},
    "motive_gauge_stuck": {"motive_gauge.stuck"},
}
EVERYTHING, DEEP = load_rig("reed"), standard_site("reed")  # has all the parts that only some rigs have


def touched(name: str) -> set[str]:
    """What a fault may change, by its paths; empty for a function of ``fault_changes`` that is not in TOUCHES.

    >>> touched("drain_open"), touched("line_bursts")
    ({'casing_drain.opening'}, {'ramps'})
    """
    change = read_file(RECORDS).data[name]["change"]
    said = {f"{change['part']}.{change['field']}"} if "field" in change else set()
    return TOUCHES.get(name, {"ramps"} if "ramp" in change else said)


def home(name: str) -> tuple[Rig, Site]:
    """The usual rig and site, or those that have the part."""
    return (RIG, SITE) if FAULTS[name].places(RIG) else (EVERYTHING, DEEP)


def test_the_catalogue_holds_every_row() -> None:
    assert set(TOUCHES) <= set(FAULTS)
    assert next(iter(FAULTS)) == "sound"
    assert math.isclose(sum(item.weight for item in FAULTS.values()), 1.0, rel_tol=1e-12)


def test_weights_follow_common_practice() -> None:
    # common practice, no source: air getting in first, and of it the drain valve
    by_family = {family: sum(f.weight for f in FAULTS.values() if f.family == family) for family in FAMILIES}
    assert max(by_family, key=lambda family: by_family[family]) == "air_gets_in"
    assert max(FAULTS.values(), key=lambda f: f.weight).id == "drain_open"
    assert all(item.family in FAMILIES for item in FAULTS.values())


@pytest.mark.parametrize(("name", "size", "place"), CASES)
def test_changes_one_quantity_and_nothing_else(name: str, size: float, place: str) -> None:
    sound, at = home(name)
    rig, site = FAULTS[name].apply(sound, at, size, place)
    index = place.partition(":")[2]
    changed = differences(sound, rig) | differences(at, site, "site")
    assert changed == {path.format(i=index) for path in touched(name)}
    assert load_rig(sound.name) == sound  # the sound rig stays as it was


@pytest.mark.parametrize("name", [n for n in FAULTS if FAULTS[n].size])
def test_bounds_are_legal_for_the_parts(name: str) -> None:
    size = FAULTS[name].size
    assert size is not None
    sound, at = home(name)
    place = FAULTS[name].places(sound)[0]
    for bound in (size.low, size.high):
        assert FAULTS[name].apply(sound, at, bound, place) != (sound, at)
    for beyond in (size.low * 0.99, size.high * 1.01, math.nan, math.inf, -size.low, "much", True):
        if beyond is True and size.low <= 1.0 <= size.high:
            continue
        with pytest.raises(InputError) as caught:
            FAULTS[name].apply(sound, at, beyond, place)  # type: ignore[arg-type]
        assert size.key in caught.value.what
        assert caught.value.legal == size.legal()


def test_true_is_no_size() -> None:
    with pytest.raises(InputError):
        FAULTS["belt_loose"].apply(RIG, SITE, True)


@pytest.mark.parametrize("name", [n for n in FAULTS if FAULTS[n].size])
def test_representative_sizes_grow_worse_one_way(name: str) -> None:
    size = FAULTS[name].size
    assert size is not None
    small, middle, large = size.representative
    assert small < middle < large or small > middle > large
    assert all(
        size.low <= each <= size.high for each in (*size.representative, size.usual_low, size.usual_high)
    )


@settings(deadline=None)
@given(st.sampled_from([f for f in FAULTS.values() if f.size]), st.floats(0.0, 1.0))
def test_drawn_sizes_can_be_applied(item: Fault, chance: float) -> None:
    assert item.size is not None
    size = item.size.drawn(chance)
    assert min(item.size.usual_low, item.size.large) <= size <= max(item.size.usual_high, item.size.large)
    sound, at = home(item.id)
    item.apply(sound, at, size, item.places(sound)[0])


def test_drawn_follows_the_spread() -> None:
    belt = FAULTS["belt_loose"].size
    assert belt is not None
    drawn = [belt.drawn((i + 0.5) / 1000) for i in range(1000)]
    assert sum(size == 1.0 for size in drawn) == 350
    for chance in (-0.1, 1.1, math.nan):
        with pytest.raises(InputError):
            belt.drawn(chance)


def test_places() -> None:
    assert FAULTS["joint_ring"].places(RIG, Site(lift=1.5, submergence=2.0)) == ("joint:1", "joint:2")
    assert FAULTS["hose_hole"].places(RIG, Site(lift=1.5, submergence=2.0)) == ("length:1", "length:2")
    assert all(FAULTS[n].places(EVERYTHING) == ("",) for n in FAULTS if not FAULTS[n].kind)
    assert FAULTS["cock_shut"].places(RIG) == FAULTS["float_stuck_open"].places(RIG) == ()
    with pytest.raises(InputError, match="no such part"):
        FAULTS["cock_shut"].apply(RIG, SITE, 1.0)
    for wrong in ("", "joint:3", "joint:-1", "joint:01", "hose"):
        with pytest.raises(InputError, match="joint:0"):
            FAULTS["joint_ring"].apply(RIG, SITE, 0.004, wrong)
        with pytest.raises(InputError, match="joint:0"):
            joint_index(wrong, RIG)
    with pytest.raises(InputError, match="no place"):
        FAULTS["drain_open"].apply(RIG, SITE, 0.5, "joint:0")
    with pytest.raises(InputError, match="drain_open"):
        fault("gremlins")


def test_two_faults_combine() -> None:
    rig, site = FAULTS["drain_open"].apply(RIG, SITE, 0.5)
    rig, site = FAULTS["joint_ring"].apply(rig, site, 0.004, "joint:0")
    rig, site = FAULTS["joint_ring"].apply(rig, site, 0.006, "joint:2")
    assert [joint.hole_diameter for joint in rig.suction_hose.joints] == [0.004, 0.0, 0.006]
    assert rig.casing_drain.opening == 0.5


def test_every_fault_has_plain_words() -> None:
    for name, item in FAULTS.items():
        assert text(f"faults.{name}.name")
        assert text(f"faults.{name}.what")
        assert text(f"faults.families.{item.family}")


def test_remedies_and_parts_cannot_see_the_faults() -> None:
    folder = Path(next(iter(rig_package.__path__)))
    for name in ("remedies.py", "parts.py", "rig.py", "quantity.py", "presets.py", "files.py", "hands.py"):
        tree = ast.parse((folder / name).read_text(encoding="utf-8"))
        imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        imported |= {alias.name for n in ast.walk(tree) if isinstance(n, ast.Import) for alias in n.names}
        assert not any("fault" in (module or "") for module in imported), name


def test_sound_rig_type() -> None:
    assert FAULTS["sound"].apply(RIG, SITE) == (RIG, SITE)
    assert isinstance(RIG, Rig)
