"""Ejector tables: those kept are the model's, and one serves every site."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simulator.diagnosis.make_tables import parameters_of
from simulator.rig.presets import load_rig, rig_names, standard_site
from simulator.run import layout as at
from simulator.run.ejection import assembly_flow, assembly_table, made_anew, shape
from simulator.run.kept_tables import kept_table
from simulator.run.parameters import pack
from tests.conftest import some

MAKE_ANEW = "python -m simulator.diagnosis.make_tables"


@pytest.mark.parametrize("name", rig_names())
def test_the_kept_table_is_what_the_model_gives(name):
    is_as_kept(pack(load_rig(name), standard_site(name)))


@pytest.mark.parametrize("name", some(rig_names(), 4))
def test_the_tables_kept_of_what_could_be_wrong_are_what_the_model_gives(name):
    kept = list(parameters_of(name).values())
    for p in kept[::9]:
        is_as_kept(p)
    for p in kept:
        assert kept_table(shape(p)) is not None, MAKE_ANEW


def is_as_kept(p):
    kept = kept_table(shape(p))
    assert kept is not None, MAKE_ANEW
    for ours, made in zip(kept, made_anew(p), strict=True):
        assert ours == pytest.approx(made, abs=1e-9)


def test_one_table_serves_every_site():
    """Similarity: in shares of the atmosphere and the root of temperature a hill in winter is the yard in summer."""
    rig, site = load_rig("osier"), standard_site()
    hill = replace(site, altitude=1800.0, air_temperature=263.15)
    low, high = pack(rig, site), pack(rig, hill)
    assert shape(low) == shape(high)
    assert assembly_table(low)[1] is assembly_table(high)[1]


def test_the_table_holds_the_directly_solved_flow_at_another_site():
    """The kept table against the search in that site's own pressure and temperature, at nodes of the table."""
    from simulator.physics import ejector_table as bare
    from simulator.physics.ejector_table import build_table, table_flow

    hill = replace(standard_site(), altitude=1800.0, air_temperature=263.15)
    p = pack(load_rig("osier"), hill)
    part = load_rig("osier").ejector
    throat = p[at.THROAT_AREA]
    alone = build_table(
        float(f"{p[at.MIXING_AREA] / throat:.11e}"),
        part.nozzle_efficiency,
        part.mixing_efficiency,
        part.diffuser_efficiency,
        part.jet_share,
        p[at.EXIT_AREA] / throat,
        p[at.MOUTH_AREA] / throat,
    )
    dead, flow = assembly_table(p)
    for share in (0.4, 0.6, 0.7):
        j = round(share * (dead.shape[0] - 1))
        p_m = p[at.ATMOSPHERE] * (1.0 + bare.excess_at(j / (dead.shape[0] - 1.0)))
        for p_c in np.linspace(30e3, 75e3, 7):
            direct = assembly_flow(p, *alone.arrays, p_m, p_c)
            tabled = table_flow(p_m, p_c, p[at.ATMOSPHERE], throat, p[at.AIR_T], dead, flow)
            assert tabled == pytest.approx(direct, rel=0.01)
