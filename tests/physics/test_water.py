"""Water properties against IAPWS formulations as the libraries iapws and CoolProp compute them."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from types import ModuleType

import pytest

from simulator.physics import water
from simulator.physics.atmosphere import pressure_at_altitude


@pytest.fixture(scope="module")
def iapws() -> ModuleType:
    """The library, fetched here: it takes seconds, and every worker reads this file."""
    return importlib.import_module("iapws")


@pytest.fixture(scope="module")
def PropsSI() -> Callable[..., float]:
    """The library's one function."""
    return importlib.import_module("CoolProp.CoolProp").PropsSI


TEMPERATURES = [273.16, 278.15, 283.15, 288.15, 293.15, 298.15, 303.15, 313.15, 323.15, 333.15]


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_vapour_pressure(
    temperature: float,
    iapws: ModuleType,
    PropsSI: Callable[..., float],
) -> None:
    """IAPWS-IF97 region 4 (iapws) and IAPWS-95 (CoolProp)."""
    computed = water.vapour_pressure(temperature)
    assert computed == pytest.approx(iapws.IAPWS97(T=temperature, x=0.0).P * 1e6, rel=1e-3)
    assert computed == pytest.approx(PropsSI("P", "T", temperature, "Q", 0, "Water"), rel=1e-3)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_density(
    temperature: float,
    iapws: ModuleType,
    PropsSI: Callable[..., float],
) -> None:
    """At one atmosphere: IAPWS-IF97 (iapws) and IAPWS-95 (CoolProp)."""
    computed = water.density(temperature)
    assert computed == pytest.approx(iapws.IAPWS97(T=temperature, P=0.101325).rho, rel=2e-4)
    assert computed == pytest.approx(PropsSI("D", "T", temperature, "P", 101_325.0, "Water"), rel=2e-4)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_viscosity(
    temperature: float,
    iapws: ModuleType,
    PropsSI: Callable[..., float],
) -> None:
    """At one atmosphere: IAPWS R12-08 as in iapws and CoolProp."""
    computed = water.viscosity(temperature)
    assert computed == pytest.approx(iapws.IAPWS97(T=temperature, P=0.101325).mu, rel=3e-3)
    assert computed == pytest.approx(PropsSI("V", "T", temperature, "P", 101_325.0, "Water"), rel=3e-3)


def test_greatest_lift() -> None:
    """(p_atm - p_v) / (rho g) from ISO 2533 and IAPWS: 10.11 m at 20 C at sea level, 8.40 m at 1500 m."""
    assert water.greatest_lift(pressure_at_altitude(0.0), 293.15) == pytest.approx(10.11, abs=0.005)
    assert water.greatest_lift(pressure_at_altitude(1500.0), 293.15) == pytest.approx(8.40, abs=0.005)


def test_an_inch_of_mercury_lifts_1_134_ft_of_water() -> None:
    """Handbook figure of US water handling guides (from memory): 1 inHg = 1.134 ft, mercury at 0 C, cold
    water."""
    head = 3386.389 / (water.density(283.15) * 9.80665) / 0.3048
    assert head == pytest.approx(1.134, abs=0.001)
