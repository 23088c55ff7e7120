"""Published water cases that need a reference library, and the limits of CoolProp's glycols."""

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97

from thermo.liquids import liquid
from thermo.properties import load_tables


def heos(key: str, T: float, p: float) -> float:
    return float(PropsSI(key, "T", T, "P", p, "Water"))


@pytest.mark.parametrize(
    ("p", "v", "h", "cp"),
    [(3e6, 0.00100215168, 115331.273, 4173.01218), (80e6, 0.000971180894, 184142.828, 4010.08987)])
def test_if97_region_1(p: float, v: float, h: float, cp: float) -> None:
    """WAT-01, WAT-02: IAPWS R7-97(2012), Table 5."""
    state = IAPWS97(T=300.0, P=p / 1e6)
    assert state.v == pytest.approx(v, rel=1e-7)
    assert state.h * 1e3 == pytest.approx(h, rel=1e-7)
    assert state.cp * 1e3 == pytest.approx(cp, rel=1e-7)
    assert heos("D", 300.0, p) == pytest.approx(1.0 / v, rel=3e-4)
    assert heos("C", 300.0, p) == pytest.approx(cp, rel=5e-4)


def test_ours_at_1_atm_near_if97_at_30_bar() -> None:
    """WAT-01 against our curves: 30 bar presses water by 0.13 % and takes 0.2 % off its heat."""
    water = liquid()
    assert 1.0 / water.density(300.0) == pytest.approx(0.00100215168, rel=1.5e-3)
    assert water.specific_heat(300.0) == pytest.approx(4173.01218, rel=2.5e-3)


def test_if97_region_2() -> None:
    """WAT-05: IAPWS R7-97(2012), Table 15; our saturated steam is a little denser."""
    state = IAPWS97(T=300.0, P=0.0035)
    assert state.v == pytest.approx(39.4913866, rel=1e-7)
    assert state.h == pytest.approx(2549.91145, rel=1e-7)
    table = load_tables().water
    dense = liquid().saturation_pressure(300.0) / 3500.0
    assert table.steam_density(300.0) * 39.4913866 == pytest.approx(dense, rel=1e-3)
    assert table.steam_enthalpy(300.0) == pytest.approx(2549911.45, rel=2e-4)


def test_iapws95_single_phase() -> None:
    """WAT-06: IAPWS R6-95(2018), Table 7."""
    p = PropsSI("P", "T", 300.0, "D", 996.5560, "Water")
    assert p == pytest.approx(0.0992418352e6, rel=1e-6)
    assert liquid().density(300.0) == pytest.approx(996.5560, rel=1e-5)


@pytest.mark.parametrize("t", [20.0, 80.0, 120.0, 180.0])
def test_saturated_liquid_against_if97(t: float) -> None:
    """An independent formulation of the same water."""
    state, water, T = IAPWS97(T=t + 273.15, x=0), liquid(), t + 273.15
    assert water.saturation_pressure(T) == pytest.approx(state.P * 1e6, rel=2e-4)
    assert water.density(T) == pytest.approx(state.rho, rel=1e-4)
    assert water.specific_heat(T) == pytest.approx(state.cp * 1e3, rel=1e-3)
    assert water.viscosity(T) == pytest.approx(state.mu, rel=1e-3)
    assert water.conductivity(T) == pytest.approx(state.k, rel=5e-3)
    assert water.enthalpy(T) == pytest.approx(state.h * 1e3, rel=2e-3)


@pytest.mark.parametrize("name", ["MEG", "AEG", "MPG", "APG"])
def test_coolprop_glycols_stop_at_100_degrees(name: str) -> None:
    """WAT-24: why a continuation of our own is needed, and what ours does instead."""
    with pytest.raises(ValueError, match="is not between"):
        PropsSI("D", "T", 378.15, "P", 3e5, f"INCOMP::{name}[0.5]")
    glycol = "ethylene" if "E" in name else "propylene"
    assert math.isfinite(liquid(glycol, 0.5).density.checked(378.15))


@pytest.mark.parametrize(("fluid", "glycol"), [("AEG", "ethylene"), ("APG", "propylene")])
@pytest.mark.parametrize("v", [0.1, 0.25, 0.5, 0.6])
def test_mixture_against_coolprop(fluid: str, glycol: str, v: float) -> None:
    mix = liquid(glycol, v)
    for T in (max(mix.t_low, 238.15) + 0.01, 293.15, 330.0, 373.15):
        name = f"INCOMP::{fluid}[{v}]"
        assert mix.density(T) == pytest.approx(PropsSI("D", "T", T, "P", 3e5, name), rel=1e-9)
        assert mix.specific_heat(T) == pytest.approx(
            PropsSI("C", "T", T, "P", 3e5, name), rel=1e-9)
        assert mix.conductivity(T) == pytest.approx(
            PropsSI("L", "T", T, "P", 3e5, name), rel=1e-9)
        loose = 4e-3 if T < 333.0 else 0.031
        assert mix.viscosity(T) == pytest.approx(
            PropsSI("V", "T", T, "P", 3e5, name), rel=loose)
    frozen = PropsSI("T_freeze", "T", 353.15, "P", 3e5, name)
    assert mix.freezing_point == pytest.approx(frozen, abs=1e-3)


def test_mass_fraction_fit_of_ethylene_glycol_is_unsafe() -> None:
    """Why AEG and not MEG: at 50 % by mass the table freezes at -33.8 degC, MEG 2 K colder."""
    meg = PropsSI("T_freeze", "T", 300.0, "P", 3e5, "INCOMP::MEG[0.5]") - 273.15
    ours = liquid("ethylene", 0.476).freezing_point - 273.15
    assert meg < -33.8 - 2.0
    assert ours == pytest.approx(-33.8, abs=0.2)


@pytest.mark.parametrize(("fluid", "glycol"), [("AEG", "ethylene"), ("APG", "propylene")])
@pytest.mark.parametrize("v", [0.1, 0.3, 0.5, 0.6])
def test_mixture_at_135_degrees_follows_the_stated_rules(fluid: str, glycol: str, v: float) -> None:
    """Cubic in T for three properties, parabola of ln(mu) in 1/T, drawn afresh from CoolProp."""
    T, top, mix = np.linspace(293.15, 373.15, 33), 408.15, liquid(glycol, v)
    for name, key in (("density", "D"), ("specific_heat", "C"), ("conductivity", "L")):
        values = [PropsSI(key, "T", t, "P", 3e5, f"INCOMP::{fluid}[{v}]") for t in T]
        cubic = np.polyval(np.polyfit(T - 333.15, values, 3), top - 333.15)
        assert getattr(mix, name).checked(top) == pytest.approx(cubic, rel=1e-7)
    values = [PropsSI("V", "T", t, "P", 3e5, f"INCOMP::{fluid}[{v}]") for t in T]
    parabola = np.polyval(np.polyfit(1e3 / T, np.log(values), 2), 1e3 / top)
    assert mix.viscosity.checked(top) == pytest.approx(math.exp(parabola), rel=4e-3)
