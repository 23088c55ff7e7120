"""The cooling loop against an independent solution, state by state, and against closed forms.

The reference (tests/oracles/loop_reference.py) shares no code with the engine: temperatures for
enthalpies, CoolProp's own water, scipy at 1e-9, limits by event detection. The bar of 0.05 K is
the project's; what is reached is 15 mK, and 27 mK where a thermostat hunts, set by the error
allowed a step (3 mK): with a small tolerance the two agree to 0.4 mK.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

import thermo.loop_run
from tests.oracles import closed_forms
from tests.oracles import loop_reference as ref
from tests.oracles.loop_bridge import design, run, temperatures
from tests.oracles.loop_reference import ZERO_C, Loop, Stretch, march
from thermo.conductance import RatedUA
from thermo.loop import exchange
from thermo.loop_dense import dense
from thermo.loop_run import run_loop, totals
from thermo.loop_state import JACKET, METAL, start_state
from thermo.published.loop_cases import ideal_liquid

BAR = 0.05  # K
REACHED = 0.03  # K


def steady(flow):
    return lambda t: flow


ON = {"hot_flow": (2e-3, 2e-3), "cold_flow": steady(38 / 60e3), "cold_pump": 60.0, "hot_pump": 40.0}
PASS = Stretch(80.0, metal_heat=(20e3, 97.5e3, 97.5e3, 60e3), **ON)
COAST = Stretch(45.0, **ON)
SOAK = Stretch(300.0)
NO_TANK_PUMP = Stretch(20.0, metal_heat=(97.5e3, 97.5e3), hot_flow=(2e-3, 2e-3))
EVENT = (PASS, COAST, SOAK)
AIR_LOSSES = {
    "engine_air": 15.0,
    "oil_air": 12.0,
    "supply_air": 3.0,
    "return_air": 4.0,
    "tank_air": 20.0,
}


def widest_gap(loop, got, reference, between=4):
    """Largest difference in temperature over all parts, at steps and between them [K]."""
    made = design(loop)
    worst = 0.0
    for piece in got.pieces:
        for x, y in zip(*dense(piece, between), strict=True):
            want = reference.at(piece.start + x * piece.drive.duration)
            cells = want[ref.CELLS :]
            want = np.concatenate([[want[ref.METAL], want[ref.JACKET], want[ref.OIL]], cells])
            worst = max(worst, float(np.max(np.abs(temperatures(made, y) - want))))
    return worst


def audit(got, pieces):
    """Residual of the energy account over the larger of heat in and 100 kJ, and the heat in [J].

    Heat in by numpy's trapezoid rule on the given tables: nothing the integration has touched.
    Sun is heat in; the engine's own tally nets it off the heat to air.
    """
    heat = pump = sun = 0.0
    for piece in pieces:
        for table in (piece.metal_heat, piece.oil_heat, piece.charge_heat):
            heat += float(np.trapezoid(table, dx=piece.duration / (len(table) - 1)))
        sun += piece.sun * piece.duration
        pump += (piece.cold_pump + piece.hot_pump) * piece.duration
    end = totals(got)
    assert end["pump"] == pytest.approx(pump, abs=1e-6 * max(pump, 1.0))
    out = got.stored + (end["to_air"] + sun) + end["steam_heat"]
    return (heat + sun + pump + got.added - out) / max(heat + sun, 1e5), heat + sun


CASES = {
    "mixed": (Loop(), EVENT),
    "plug": (Loop(cells=12), EVENT),
    "adverse": (Loop(short=0.2, tank_mass=35.0), EVENT),
    "adverse plug": (Loop(short=0.1, cells=5), EVENT),
    "thermostat": (Loop(thermostat=(355.0, 365.0, 0.05, 8.0)), EVENT),
    "thermostat hunting": (Loop(thermostat=(351.0, 353.0, 0.0, 6.0), tank_start=290.0), EVENT),
    "glycol": (Loop(ethylene=0.3), EVENT),
    "wall": (Loop(wall=12e3), EVENT),
    "wall, plug": (Loop(wall=12e3, cells=6), EVENT),
    "parallel": (Loop(arrangement="parallel"), EVENT),
    "oil cooler": (Loop(oil_cooler=300.0), (replace(PASS, oil_heat=(5e3, 7e3)), COAST, SOAK)),
    "charge cooler": (Loop(), (replace(PASS, charge_heat=(0.0, 8e3)), COAST)),
    "losses": (Loop(**AIR_LOSSES), (Stretch(300.0, sun=400.0), PASS, COAST, SOAK)),
    "losses, plug": (
        Loop(cells=12, wall=5e3, **AIR_LOSSES),
        (Stretch(300.0, sun=400.0), PASS, COAST, SOAK),
    ),
    "tank pump fails": (Loop(), (PASS, NO_TANK_PUMP, COAST)),
    "both pumps fail": (Loop(boil=420.0), (PASS, Stretch(10.0, metal_heat=(97.5e3, 0.0)), SOAK)),
    "crank-driven": (Loop(), (replace(PASS, hot_flow=(0.5e-3, 1.5e-3, 2.2e-3)), COAST)),
    "flow with temperature": (
        Loop(),
        (replace(PASS, cold_flow=lambda t: 6e-4 * (1.0 + 2e-3 * (t - 310.0))), COAST),
    ),
    "small lines": (Loop(supply_mass=0.05, return_mass=0.08), (PASS, COAST)),
    "long lines": (Loop(supply_mass=4.0, return_mass=4.0), EVENT),
    "two passes": (Loop(), (PASS, COAST, SOAK, PASS, COAST)),
    "no flow": (Loop(boil=420.0), (Stretch(15.0, metal_heat=(97.5e3, 97.5e3)), SOAK)),
    "no exchanger": (Loop(ua=0.0, boil=420.0), (replace(PASS, duration=20.0), COAST)),
    "vast exchanger": (Loop(ua=2e5), EVENT),
    "tank warmer than engine": (
        Loop(tank_start=350.0, coolant_start=300.0, metal_start=300.0),
        (COAST, SOAK),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_against_the_reference(name):
    loop, pieces = CASES[name]
    reference = march(loop, pieces)
    got = run(loop, pieces)
    assert not got.stopped
    assert widest_gap(loop, got, reference) < REACHED < BAR
    residual, heat = audit(got, pieces)
    assert abs(residual) < 2e-4  # bar 1e-3
    assert heat == pytest.approx(
        reference.last[ref.HEAT_IN] - totals(got)["pump"] + sum(p.sun * p.duration for p in pieces),
        rel=1e-6,
        abs=1.0,
    )


def test_the_reference_keeps_energy():
    # the oracle itself, so that it is known to be worth comparing with
    for loop, pieces in CASES.values():
        out = march(loop, pieces)
        first, last = out.first, out.last
        gone = last[ref.TO_AIR] + last[ref.STEAM_HEAT]
        residual = last[ref.HEAT_IN] - (ref.stored(loop, last) - ref.stored(loop, first)) - gone
        assert abs(residual) < 1e-6 * max(last[ref.HEAT_IN], 1e5)


def test_rated_exchanger_follows_the_flows():
    # films with flow^0.7 on each side and a twentieth in the wall, written out once more here
    rated = RatedUA(3600.0, 1.95, 0.63, film_split=0.4, film_exponent=0.7)

    def conductance(m_hot, m_cold):
        parts = 0.95 * 0.4 * (m_hot / 1.95) ** -0.7, 0.05, 0.95 * 0.6 * (m_cold / 0.63) ** -0.7
        return 3600.0 / sum(parts)

    loop = Loop(ua=conductance, thermostat=(350.0, 370.0, 0.1, 5.0))
    pieces = (replace(PASS, hot_flow=(1e-3, 2.4e-3)), COAST, SOAK)
    got = run(loop, pieces, rated)
    made = design(loop, rated)
    reference = march(loop, pieces)
    for piece in got.pieces:
        want = reference.at(piece.start + piece.drive.duration)
        want = np.concatenate([want[[ref.METAL, ref.JACKET, ref.OIL]], want[ref.CELLS :]])
        assert temperatures(made, piece.states[-1]) == pytest.approx(want, abs=REACHED)


@pytest.mark.parametrize("method", ["Radau", "RK45"])
def test_scipy_on_the_engines_own_rates(method):
    # the integrator apart from the equations: implicit and explicit scipy on make_rates
    from scipy.integrate import solve_ivp

    from tests.oracles.loop_bridge import drive
    from thermo.loop import make_rates

    loop = Loop(cells=4)
    made = design(loop)
    start = start_state(
        made,
        coolant=355.15,
        metal=360.15,
        oil=355.15,
        tank=307.15,
        jacket_mass=7.0,
        tank_mass=41.0,
        ice=0.0,
    )
    rates = make_rates(made, drive(PASS))
    exact = solve_ivp(
        lambda x, y: rates(x, y.tolist()), (0.0, 1.0), start, method, rtol=1e-9, atol=1e-6
    ).y[:, -1]
    end = run_loop(made, start, None, 0.0, [(0, drive(PASS))]).pieces[0].states[-1]
    assert temperatures(made, end) == pytest.approx(temperatures(made, exact), abs=REACHED)


@pytest.mark.parametrize("name", ["plug", "thermostat hunting", "losses, plug", "vast exchanger"])
def test_tighter_tolerance_brings_the_reference_closer(monkeypatch, name):
    loop, pieces = CASES[name]
    reference = march(loop, pieces)
    coarse = widest_gap(loop, run(loop, pieces), reference)
    monkeypatch.setattr(thermo.loop_run, "TEMPERATURE_TOLERANCE", 1e-5)
    fine = widest_gap(loop, run(loop, pieces), reference)
    # what is left over is the fit of the property tables (1e-4 K in T(h), 1e-5 in cp)
    assert fine < 0.1 * coarse
    assert fine < 0.5e-3


def test_halving_the_longest_step_changes_nothing(monkeypatch):
    for loop, pieces in (CASES["mixed"], CASES["losses"]):
        made = design(loop)
        before = temperatures(made, run(loop, pieces).pieces[-1].states[-1])
        monkeypatch.setattr(thermo.loop_run, "LARGEST_STEP", 0.5)
        after = temperatures(made, run(loop, pieces).pieces[-1].states[-1])
        assert after == pytest.approx(before, abs=REACHED)


def test_a_leg_cut_in_two_ends_alike():
    half = replace(COAST, duration=22.5)
    made = design(Loop())
    whole = temperatures(made, run(Loop(), (PASS, COAST)).pieces[-1].states[-1])
    parts = temperatures(made, run(Loop(), (PASS, half, half)).pieces[-1].states[-1])
    assert parts == pytest.approx(whole, abs=0.005)


def test_balanced_exchanger_is_no_exception():
    # ideal liquids of one density and heat: Cr = 1 to the last digit; beside it 1 +- 1e-9
    made = replace(
        design(Loop()), hot=ideal_liquid(1000.0, 4000.0), cold=ideal_liquid(1000.0, 4000.0)
    )
    ends = []
    for factor in (1.0 - 1e-9, 1.0, 1.0 + 1e-9):
        at = exchange(made, 360.0, 360.0, 310.0, 310.0, 1e-3, 1e-3 * factor)
        ends.append((at.heat, at.effectiveness))
    # NTU = 3600/4000 = 0.9: effectiveness 0.9/1.9
    assert ends[1] == pytest.approx((0.9 / 1.9 * 4000.0 * 50.0, 0.9 / 1.9), rel=1e-14)
    assert ends[0] == pytest.approx(ends[1], rel=1e-8)
    assert ends[2] == pytest.approx(ends[1], rel=1e-8)


def test_exchanger_outlets_close_its_balance():
    made = design(Loop(ethylene=0.3))
    at = exchange(made, 360.0, 360.0, 310.0, 308.0, 2e-3, 6e-4)
    cold, hot = made.cold, made.hot
    assert at.cold_flow == pytest.approx(6e-4 * cold.density(308.0), rel=1e-14)
    assert at.heat == pytest.approx(
        at.cold_flow * cold.specific_heat(310.0) * (at.cold_outlet - 310.0), rel=1e-12
    )
    assert at.heat == pytest.approx(
        at.hot_flow * hot.specific_heat(360.0) * (360.0 - at.hot_outlet), rel=1e-12
    )


@pytest.mark.parametrize(("hot", "cold"), [(0.0, 6e-4), (2e-3, 0.0), (0.0, 0.0)])
def test_exchanger_without_flow_passes_nothing(hot, cold):
    at = exchange(design(Loop()), 360.0, 360.0, 310.0, 310.0, hot, cold)
    assert (at.heat, at.effectiveness, at.ntu) == (0.0, 0.0, 0.0)
    assert (at.cold_outlet, at.hot_outlet) == (310.0, 360.0)


# Closed forms, with constant properties and other numbers than the published cases.

CP = 4000.0
LIQUID = ideal_liquid(1000.0, CP)


def ideal(loop, pieces):
    """Run with constant properties; return the pieces' last states."""
    from tests.oracles.loop_bridge import drive

    made = replace(design(loop), hot=LIQUID, cold=LIQUID)
    start = start_state(
        made,
        coolant=loop.coolant_start,
        metal=loop.metal_start,
        oil=loop.oil_start,
        tank=loop.tank_start,
        jacket_mass=loop.coolant_mass,
        tank_mass=loop.tank_mass,
        ice=0.0,
    )
    got = run_loop(made, start, None, 0.0, [(i, drive(p)) for i, p in enumerate(pieces)])
    assert not got.stopped
    return [piece.states[-1] for piece in got.pieces]


def kelvin(h):
    return h / CP + ZERO_C


def test_constant_heat_into_a_mixed_tank():
    end = ideal(Loop(tank_mass=37.0), [Stretch(70.0, sun=60e3)])[0]
    assert kelvin(end[-1]) == pytest.approx(
        closed_forms.heated_tank(60e3, 37.0, CP, 70.0, 307.15), abs=1e-9
    )


@pytest.mark.parametrize("flow", [0.8e-3, 2e-3])
def test_tank_behind_a_vast_engine(flow):
    # A coolant without end holds the hot inlet; the lines' delay is taken off by running two
    # line volumes and going on to none (the error goes with the square of the delay).
    def tank_after(line):
        loop = Loop(
            ua=6e3, coolant_mass=1e9, supply_mass=line, return_mass=line, tank_mass=50.0 - 6 * line
        )
        end = ideal(loop, [Stretch(60.0, hot_flow=(2e-3, 2e-3), cold_flow=steady(flow))])[0]
        return kelvin(end[-1])

    c_cold, c_hot = 1000.0 * flow * CP, 2.0 * CP
    g = ref.effectiveness("counterflow", 6e3 / c_cold, c_cold / c_hot) * c_cold
    expected = closed_forms.constant_source(355.15, 307.15, g, 50.0 * CP, 60.0)
    assert 2 * tank_after(0.02) - tank_after(0.04) == pytest.approx(expected, abs=BAR)


def test_metal_and_coolant_are_two_capacities():
    loop = Loop(
        metal_capacity=30e3,
        metal_conductance=2e3,
        still_share=1.0,
        coolant_mass=8.0,
        metal_start=350.0,
        coolant_start=340.0,
        boil=1e9,
    )
    end = ideal(loop, [Stretch(25.0, metal_heat=(80e3, 80e3))])[0]
    t1, t2 = closed_forms.two_capacities(80e3, 2e3, 30e3, 8.0 * CP, 25.0, 350.0, 340.0)
    assert (end[METAL], kelvin(end[JACKET])) == pytest.approx((t1, t2), abs=0.01)


def test_cooling_to_the_air():
    end = ideal(Loop(tank_air=30.0, tank_start=360.0), [Stretch(5000.0)])[0]
    assert kelvin(end[-1]) == pytest.approx(
        closed_forms.cooling(30.0, 41.0, CP, 5000.0, 360.0, 311.15), abs=0.01
    )


@pytest.mark.parametrize("cells", [2, 7, 24])
def test_ring_of_stirred_cells(cells):
    # Lines and tank are a ring of equal cells; heat enters the first of the return line.
    ring = cells + 6
    mass = 48.0 / ring
    loop = Loop(ua=0.0, cells=cells, tank_mass=cells * mass, supply_mass=mass, return_mass=mass)
    for turns in (0.6, 1.5, 2.2):
        leg = Stretch(turns * 48.0, cold_flow=steady(1e-3), charge_heat=(100e3, 100e3))
        end = ideal(loop, [leg])[0]
        rise = closed_forms.ring_of_tanks(ring, 3 + cells, turns, 100e3 / (1.0 * CP))
        assert kelvin(end[-1]) - 307.15 == pytest.approx(rise, abs=REACHED)


def test_start_state_takes_variants_from_any_argument():
    made = design(Loop())
    for name in ("coolant", "metal", "oil", "tank", "jacket_mass", "tank_mass", "ice"):
        values = {
            "coolant": 355.0,
            "metal": 360.0,
            "oil": 355.0,
            "tank": 307.0,
            "jacket_mass": 7.0,
            "tank_mass": 41.0,
            "ice": 0.0,
        }
        values[name] = values[name] + np.array([0.0, 1.0, 2.0])
        assert all(np.shape(v) == (3,) for v in start_state(made, **values))


def test_a_line_boiled_off_the_scale_is_there_to_see():
    # a charge cooler on a stopped line: nothing takes the heat away, and no model boils a line;
    # the run must neither break nor lose the heat, so that a range check can find it
    loop, leg = Loop(), Stretch(600.0, charge_heat=(50e3, 50e3))
    got = run(loop, [leg, COAST])
    made = design(loop)
    hottest = float(np.max(temperatures(made, got.pieces[0].states[-1])))
    assert hottest > made.cold.t_high
    residual, _ = audit(got, [leg, COAST])
    assert abs(residual) < 1e-3


def test_a_failed_integration_is_a_status_and_keeps_what_was_done():
    loop = Loop()
    bad = replace(PASS, cold_flow=lambda t: math.nan)
    got = run(loop, [COAST, bad, SOAK])
    assert got.stopped == "the integration stopped in leg 2: a rate of change is not a number"
    assert len(got.pieces) == 2
    assert math.isfinite(got.stored)


def test_an_integration_that_fails_at_once_is_a_status_too():
    got = run(Loop(), [COAST, replace(PASS, cold_flow=lambda t: 1.0 / 0.0)])
    assert got.stopped == "the integration stopped in leg 2: float division by zero"
    assert got.pieces[1].x == [0.0]
    assert math.isfinite(got.stored)
