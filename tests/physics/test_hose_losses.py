"""Resistances of the suction line against Colebrook's equation (library fluids) and exact limits."""

from __future__ import annotations

import math

import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.physics import hose_losses


@pytest.mark.parametrize("reynolds", [4.0e3, 1e4, 1e5, 6e5, 1e7])
@pytest.mark.parametrize("roughness", [0.0, 1e-5, 2e-4, 1e-3, 1e-2, 0.05])
def test_turbulent_friction_is_colebrook(reynolds: float, roughness: float) -> None:
    """Library fluids, friction_factor by Colebrook: within 1 % required, 0.2 % reached from 10 000 up."""
    reference = fluids.friction_factor(Re=reynolds, eD=roughness, Method="Colebrook")
    computed = hose_losses.friction_factor(reynolds, roughness)
    assert computed == pytest.approx(reference, rel=5e-3 if reynolds < 1e4 else 2e-3)


@pytest.mark.parametrize("reynolds", [1.0, 100.0, 2000.0])
def test_laminar_friction_is_hagen_poiseuille(reynolds: float) -> None:
    assert hose_losses.friction_factor(reynolds, 1e-3) == pytest.approx(64.0 / reynolds, rel=1e-14)
    assert hose_losses.friction_factor(-reynolds, 1e-3) == hose_losses.friction_factor(reynolds, 1e-3)


def test_transition_is_smooth() -> None:
    def slope(reynolds: float) -> float:
        step = 1e-3
        above = hose_losses.friction_factor(reynolds + step, 1e-4)
        return (above - hose_losses.friction_factor(reynolds - step, 1e-4)) / (2.0 * step)

    for edge in (hose_losses.LAMINAR_LIMIT, hose_losses.TURBULENT_LIMIT):
        assert slope(edge - 0.1) == pytest.approx(slope(edge + 0.1), abs=3e-8)
    assert hose_losses.friction_factor(0.0, 1e-4) == 64.0


def test_strainer_loss_grows_with_the_square_of_the_lost_area() -> None:
    """Velocity in the holes left: half the holes, four times the loss (continuity, exact)."""
    assert hose_losses.strainer_loss(1.5, 0.0) == 1.5
    assert hose_losses.strainer_loss(1.5, 0.5) == pytest.approx(6.0, rel=1e-12)
    assert hose_losses.strainer_loss(1.5, 0.99) > 1e4
    assert math.isfinite(hose_losses.strainer_loss(1.5, 1.0))


def test_choke_loss_against_weisbach() -> None:
    """Weisbach's contraction 0.62 + 0.38 r^3 with the Borda-Carnot loss; r = 0.25: (1/(0.6259 x 0.25) -
    1)^2 = 29.06."""
    assert hose_losses.choke_loss(1.0) == 0.0
    assert hose_losses.choke_loss(0.25) == pytest.approx(29.06, rel=1e-3)
    assert hose_losses.choke_loss(0.0) > 1e6
    assert math.isfinite(hose_losses.choke_loss(0.0))


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_losses_grow_as_the_way_narrows(a: float, b: float) -> None:
    narrow, wide = sorted((a, b))
    assert hose_losses.choke_loss(narrow) >= hose_losses.choke_loss(wide)
    assert hose_losses.strainer_loss(1.5, wide) >= hose_losses.strainer_loss(1.5, narrow)


def test_liner_closes_late_and_reopens_later() -> None:
    """Regression of the form: half closed at dp_c on the way up, half open at 0.6 dp_c on the way down."""
    dp_c = 20e3
    assert hose_losses.liner_closing_area(dp_c, dp_c) == 0.5
    assert hose_losses.liner_reopening_area(0.6 * dp_c, dp_c) == pytest.approx(0.5, rel=1e-12)
    assert hose_losses.liner_closing_area(5e4, math.inf) == 1.0
    assert hose_losses.liner_closing_area(-1e3, dp_c) == 1.0


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.floats(-1e4, 1e5), st.floats(1e3, 9e4))
def test_liner_target_lies_between_its_curves(opening: float, difference: float, closing: float) -> None:
    target = hose_losses.liner_target_area(opening, difference, closing)
    assert hose_losses.liner_reopening_area(difference, closing) <= target
    assert target <= hose_losses.liner_closing_area(difference, closing)
    assert hose_losses.liner_target_area(target, difference, closing) == target


def test_submergence() -> None:
    """ANSI/HI 9.8 formula (from memory): still water needs D; v = 1 m/s into 0.3 m: 0.3 (1 + 2.3 x 0.583) =
    0.702 m."""
    assert hose_losses.submergence_needed(0.3, 0.0) == 0.3
    assert hose_losses.submergence_needed(0.3, 0.25 * math.pi * 0.09) == pytest.approx(0.702, abs=1e-3)


@pytest.mark.parametrize("velocity", [0.3, 3.0])
def test_the_energy_of_a_stopped_column_goes_into_its_give(velocity: float) -> None:
    """Joukowsky's pressure rho a v over a give C stores C p^2 / 2, all of rho V v^2 / 2; Korteweg 1878 for plastic pipe.

    Wave speed by Korteweg: PVC of 3 GPa, wall over bore 1 : 25, water 2.2 GPa: 325 m/s before the helix stiffens it.
    """
    rise = 1000.0 * hose_losses.WAVE_SPEED * velocity
    stored = 0.5 * hose_losses.elastic_give(0.18, 1000.0) * rise**2
    assert stored == pytest.approx(0.5 * 1000.0 * 0.18 * velocity**2)
    bare = math.sqrt(2.2e9 / 1000.0 / (1.0 + 2.2e9 / 3.0e9 * 25.0))
    assert bare < hose_losses.WAVE_SPEED < 2.0 * bare
