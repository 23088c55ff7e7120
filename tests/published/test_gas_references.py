"""Gas flow against the fluids library, and the rows that need it or a height conversion."""

import fluids
import numpy as np
import pytest
from scipy.optimize import brentq

from thermo.duct import Supply, march
from thermo.duct_parts import FrictionTube, Path
from thermo.duct_section import Section
from thermo.gas import Gas, speed_of_sound, stagnation_pressure_ratio, stagnation_temperature_ratio
from thermo.site import R_STANDARD, standard_pressure, standard_temperature

CRANE_AIR = Gas(287.05, 1.4, 1.9e-5, 0.0265)


@pytest.mark.parametrize("mach", [0.1, 0.3, 0.7, 1.0])
def test_stagnation_and_critical_state_against_fluids(mach: float) -> None:
    t0 = 300.0 * stagnation_temperature_ratio(mach, 1.4)
    p0 = 1e5 * stagnation_pressure_ratio(mach, 1.4)
    assert fluids.P_stagnation(1e5, 300.0, t0, 1.4) == pytest.approx(p0, rel=1e-12)
    critical_t = fluids.T_critical_flow(t0, 1.4)
    critical_p = fluids.P_critical_flow(p0, 1.4)
    assert t0 / stagnation_temperature_ratio(1.0, 1.4) == pytest.approx(critical_t, rel=1e-12)
    assert p0 / stagnation_pressure_ratio(1.0, 1.4) == pytest.approx(critical_p, rel=1e-12)


def flow_between(path: Path, p_in: float, t_in: float, area: float, gas: Gas,
                 p_out: float) -> float:
    """Flow between two static pressures."""
    rho, sound = gas.density(p_in, t_in), speed_of_sound(t_in, gas.gas_constant, gas.gamma)

    def miss(mach: float) -> float:
        supply = Supply(
            p_in * stagnation_pressure_ratio(mach, gas.gamma),
            t_in * stagnation_temperature_ratio(mach, gas.gamma), gas,
        )
        run = march(path, rho * mach * sound * area, supply, find_limit=False)
        if run.choked[0]:
            return -p_out
        return float(run.pressure[-1, 0]) - p_out

    return float(rho * sound * area * brentq(miss, 1e-4, 0.9, xtol=1e-10))


def test_gas_09_long_main_is_near_the_isothermal_formula() -> None:
    # fluids docstring: 145.4848 kg/s isothermal. An adiabatic main at Mach 0.2 passes within 1 %:
    # its temperature falls by (gamma - 1)/2 M^2 only.
    isothermal = fluids.isothermal_gas(rho=11.3, fd=0.00185, P1=1e6, P2=9e5, L=1000.0, D=0.5)
    assert isothermal == pytest.approx(145.4848, rel=1e-6)
    gas = Gas(287.05, 1.4, 1.8e-5, 0.026)
    section = Section(0.5)
    main = Path((FrictionTube(name="main", section=section, length=1000.0, friction=0.00185),))
    temperature = 1e6 / (11.3 * gas.gas_constant)
    flow = flow_between(main, 1e6, temperature, section.area, gas, 9e5)
    assert flow == pytest.approx(isothermal, rel=0.01)


def test_gas_14_air_from_a_small_pipe() -> None:
    # Crane TP-410, Example 7-22: 0.03619 kg/s, isothermal, with the exit loss folded into the
    # friction. The same friction on the adiabatic line, to the same static pressure: within 2 %.
    section = Section(0.01387)
    folded = 0.0275 + 1.0 * 0.01387 / 3.048
    isothermal = fluids.isothermal_gas(
        rho=234.4e3 / (287.05 * 310.93), fd=folded, P1=234.4e3, P2=101325.0, L=3.048, D=0.01387
    )
    assert isothermal == pytest.approx(0.03619, rel=0.005)
    pipe = Path((FrictionTube(name="pipe", section=section, length=3.048, friction=folded),))
    flow = flow_between(pipe, 234.4e3, 310.93, section.area, CRANE_AIR, 101325.0)
    assert flow == pytest.approx(0.03619, rel=0.02)


@pytest.mark.parametrize(
    ("height", "t", "p", "rho", "a"),
    [(1000.0, 281.651, 89876.3, 1.11166, 336.435), (2000.0, 275.154, 79501.4, 1.00655, 332.532)],
)
def test_gas_13_standard_atmosphere_at_surveyed_heights(
    height: float, t: float, p: float, rho: float, a: float
) -> None:
    # ICAO Doc 7488/3. The engine takes geopotential heights, so the surveyed one is converted.
    geopotential = height * 6356766.0 / (6356766.0 + height)
    temperature, pressure = standard_temperature(geopotential), standard_pressure(geopotential)
    gas = Gas(R_STANDARD, 1.4, 1.75e-5, 0.025)
    assert temperature == pytest.approx(t, rel=5e-5)
    assert pressure == pytest.approx(p, rel=5e-5)
    assert gas.density(pressure, temperature) == pytest.approx(rho, rel=5e-5)
    assert speed_of_sound(temperature, R_STANDARD, 1.4) == pytest.approx(a, rel=5e-5)
    other = fluids.ATMOSPHERE_1976(height)
    np.testing.assert_allclose((temperature, pressure), (other.T, other.P), rtol=2e-5)
