"""The rigs and sites there are: those of the package, made up for training, one data file each, and the trainer's own.

Arguments, the same throughout: ``path`` a file of a rig or a site; ``rig`` a rig, or its name; ``site`` where
it stands.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from pathlib import Path

from simulator.errors import InputError, own_files
from simulator.rig.own_rigs import own_rigs
from simulator.rig.plain_yaml import read_file
from simulator.rig.rig import Rig, Site, hose_profile
from simulator.rig.rig_format import read_rig, read_site

_DATA = Path(__file__).parent / "data"
_SITES = _DATA / "sites"


@lru_cache(maxsize=4)
def _names(folder: Path) -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in folder.glob("*.yaml") if path.stem not in _TABLES))


_TABLES = ("checks", "faults", "remedies")  # data in the same folder that are no rigs


def shipped_rig_names() -> tuple[str, ...]:
    """Names of the rigs that come with the package.

    Examples
    --------
    >>> shipped_rig_names()
    ('alder', 'osier', 'reed', 'sedge')
    """
    return _names(_DATA)


def rig_names() -> tuple[str, ...]:
    """Names of all rigs that a class has: those that come with the package, then the trainer's own that can be used.

    Examples
    --------
    >>> "osier" in rig_names()
    True
    """
    shipped = shipped_rig_names()
    return (*shipped, *(name for name in own_rigs() if name not in shipped))


def site_names() -> tuple[str, ...]:
    """Names of the sites that come with the package.

    Examples
    --------
    >>> "teal_pond" in site_names()
    True
    """
    return _names(_SITES)


def read_rig_file(path: Path | str) -> Rig:
    """A rig from a file of one's own, in SI units.

    Raises
    ------
    InputError : names file, line, key and legal range.
    """
    return read_rig(read_file(path))


def read_site_file(path: Path | str) -> Site:
    """A site from a file of one's own, in SI units.

    Raises
    ------
    InputError : names file, line, key and legal range.
    """
    return read_site(read_file(path))


def load_rig(name: str = "osier") -> Rig:
    """A rig that comes with the package, or one of the trainer's own, sound, in SI units.

    Raises
    ------
    InputError : there is no rig of that name.

    Examples
    --------
    >>> load_rig("osier").suction_hose.bore
    0.15
    """
    if name in shipped_rig_names():
        return _shipped(name)
    own = own_rigs()
    if name not in own:
        raise InputError(f"there is no rig {name!r}", "rig", ", ".join(rig_names()))
    return own[name]


@lru_cache(maxsize=32)
def _shipped(name: str) -> Rig:
    with own_files():
        return read_rig_file(_DATA / f"{name}.yaml")


@lru_cache(maxsize=32)
def load_site(name: str) -> Site:
    """A site that comes with the package, in SI units.

    Raises
    ------
    InputError : there is no site of that name.

    Examples
    --------
    >>> load_site("teal_pond").lift
    3.0
    """
    if name not in site_names():
        raise InputError(f"there is no site {name!r}", "site", ", ".join(site_names()))
    with own_files():
        return read_site_file(_SITES / f"{name}.yaml")


def standard_site(rig: str = "osier") -> Site:
    """The site most lessons use: 3 m lift, strainer 1 m under (1.6 m for rigs of 300 mm), sea level, 20 C.

    Examples
    --------
    >>> standard_site().submergence
    1.0
    """
    return load_site("gravel_lake" if load_rig(rig).suction_hose.bore > 0.25 else "teal_pond")


def fitted_with(rig: Rig, part: str) -> bool:
    """Whether a rig has a part that only some have; "" is a part that all have.

    Examples
    --------
    >>> fitted_with(load_rig("osier"), "isolating_cock"), fitted_with(load_rig("reed"), "float")
    (False, True)
    """
    return {
        "": True,
        "isolating_cock": rig.has_isolating_cock,
        "float": rig.separator.has_float,
        "motive_gauge": rig.has_motive_gauge,
    }[part]


def water_line(rig: Rig, site: Site) -> float:
    """How far along the hose from the strainer [m] it leaves the outside water for good; 0 where it hangs clear of it.

    Examples
    --------
    >>> round(water_line(load_rig("osier"), standard_site()), 1)
    3.1
    """
    profile = hose_profile(rig, site)
    crossings = [
        s0 - z0 * (s1 - s0) / (z1 - z0) for (s0, z0), (s1, z1) in pairwise(profile) if z0 <= 0.0 < z1
    ]
    return crossings[-1] if crossings else 0.0


def joints_above_water(rig: Rig, site: Site) -> tuple[int, ...]:
    """Indices [-] of the hose joints that stand above the outside water level and so can draw air.

    Examples
    --------
    >>> joints_above_water(load_rig("osier"), standard_site())
    (0, 1, 2)
    """
    profile = hose_profile(rig, site)

    def height(position: float) -> float:
        for (s0, z0), (s1, z1) in pairwise(profile):
            if position <= s1:
                return z0 + (z1 - z0) * (position - s0) / (s1 - s0) if s1 > s0 else z1
        return profile[-1][1]

    return tuple(i for i, joint in enumerate(rig.suction_hose.joints) if height(joint.position) > 0.0)
