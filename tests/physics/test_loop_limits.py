"""Boiling of coolant and tank, and ice to the last of it, against the independent solution."""

from dataclasses import replace

import numpy as np
import pytest

from tests.oracles import loop_reference as ref
from tests.oracles.loop_bridge import design, run, temperatures
from tests.oracles.loop_reference import Ice, Loop, Stretch, creep, fluid, march, start
from tests.physics.test_loop import (
    BAR,
    COAST,
    EVENT,
    NO_TANK_PUMP,
    ON,
    PASS,
    REACHED,
    SOAK,
    audit,
    widest_gap,
)
from thermo.loop_dense import dense
from thermo.loop_design import IceCharge
from thermo.loop_limits import make_projection
from thermo.loop_run import DRY_SHARE
from thermo.loop_state import (
    ICE,
    JACKET,
    JACKET_MASS,
    STEAM_HEAT,
    TANK_MASS,
    TANK_STEAM,
    start_state,
    stored_energy,
)

NO_FLOW = Stretch(30.0, metal_heat=(97.5e3, 97.5e3))
BOILS = {
    # name: loop, event; the tank pump fails, both fail, boiling ends and begins again
    "tank pump fails": (Loop(boil=395.0), (PASS, NO_TANK_PUMP, COAST)),
    "low cap": (Loop(boil=373.0), (PASS, NO_TANK_PUMP, COAST, SOAK)),
    "after-boil": (Loop(boil=370.0), (PASS, SOAK)),
    "both pumps fail": (Loop(boil=378.0), (PASS, NO_FLOW, SOAK)),
    "twice": (Loop(boil=369.0), (*EVENT, PASS, COAST)),
    "glycol": (Loop(boil=376.0, ethylene=0.3), (PASS, NO_TANK_PUMP, COAST)),
    "weak exchanger": (Loop(boil=385.0, ua=1000.0), (PASS, COAST)),
}


def onset(loop, got):
    """Moment when the coolant is first at its limit [s], from the history between the steps."""
    limit = design(loop).hot.enthalpy(loop.boil)
    for piece in got.pieces:
        x, y = dense(piece, 20)
        at = np.flatnonzero(y[:, JACKET] >= limit * (1.0 - 1e-12))
        if len(at):
            i = max(int(at[0]), 1)
            slope = (y[i - 1, JACKET] - y[i - 2, JACKET]) / (x[i - 1] - x[i - 2]) if i > 1 else 1.0
            early = x[i - 1] + (limit - y[i - 1, JACKET]) / slope
            return piece.start + early * piece.drive.duration
    return float("nan")


@pytest.mark.parametrize("name", BOILS)
def test_boiling_coolant_against_the_reference(name):
    loop, pieces = BOILS[name]
    reference = march(loop, pieces)
    got = run(loop, pieces)
    assert not got.stopped
    # where boiling ends within a step, the step sees the balance of what boiled and what cooled
    assert widest_gap(loop, got, reference) < BAR
    end, want = got.pieces[-1].states[-1], reference.last
    lost = loop.coolant_mass - want[ref.COOLANT]
    assert lost > 0.01
    assert loop.coolant_mass - end[JACKET_MASS] == pytest.approx(lost, rel=0.01, abs=5e-4)
    assert end[STEAM_HEAT] == pytest.approx(want[ref.STEAM_HEAT], rel=0.01, abs=1.5e3)
    # 0.02 K at the slowest approach of these cases, 0.4 K/s
    assert onset(loop, got) == pytest.approx(reference.boils_at, abs=0.05)
    assert abs(audit(got, pieces)[0]) < 2e-4


def test_coolant_that_stays_below_its_limit_loses_nothing():
    got = run(Loop(boil=395.0), EVENT)
    assert got.pieces[-1].states[-1][JACKET_MASS] == 7.0
    assert got.pieces[-1].states[-1][STEAM_HEAT] == 0.0
    assert np.isnan(onset(Loop(boil=395.0), got))


def test_steam_is_heat_over_latent_heat():
    # no flow, metal already steady: every joule into the metal leaves as steam at the limit
    loop = Loop(boil=380.0, coolant_start=380.0, metal_start=380.0 + 60e3 / 560.0)
    leg = Stretch(20.0, metal_heat=(60e3, 60e3))
    end = run(loop, [leg]).pieces[0].states[-1]
    assert 7.0 - end[JACKET_MASS] == pytest.approx(
        60e3 * 20.0 / float(fluid().latent(380.0)), rel=1e-3
    )


def test_between_two_steps_nothing_is_hotter_than_its_limit_and_mass_only_falls():
    loop, pieces = BOILS["both pumps fail"]
    limit = design(loop).hot.enthalpy(loop.boil)
    for piece in run(loop, pieces).pieces:
        _, y = dense(piece, 9)
        assert float(np.max(y[:, JACKET])) <= limit
        assert float(np.max(np.diff(y[:, JACKET_MASS]))) < 1e-4


def test_jacket_boiled_dry_stops_the_run():
    leg = Stretch(600.0, metal_heat=(97.5e3, 97.5e3))
    got = run(Loop(boil=380.0), [leg, COAST])
    assert got.stopped == "the jacket boiled dry"
    assert len(got.pieces) == 1
    piece = got.pieces[0]
    assert piece.x[-1] < 1.0
    assert piece.states[-1][JACKET_MASS] == pytest.approx(7.0 * DRY_SHARE, rel=1e-9)
    reached = replace(leg, duration=600.0 * piece.x[-1])
    assert abs(audit(got, [reached])[0]) < 1e-3


TANKS = {
    "relief": (Loop(tank_boil=340.0), (PASS, PASS, COAST, SOAK)),
    "with wall": (Loop(tank_boil=340.0, wall=8e3), (PASS, PASS, COAST, SOAK)),
    "with losses": (Loop(tank_boil=338.0, tank_air=100.0, supply_air=5.0), (PASS, PASS, SOAK)),
    "short circuit": (Loop(tank_boil=340.0, short=0.15), (PASS, PASS, COAST)),
}


@pytest.mark.parametrize("name", TANKS)
def test_boiling_tank_against_the_reference(name):
    loop, pieces = TANKS[name]
    reference = march(loop, pieces)
    got = run(loop, pieces)
    assert widest_gap(loop, got, reference) < REACHED
    end, want = got.pieces[-1].states[-1], reference.last
    steam = loop.tank_mass - want[ref.WATER]
    assert steam > 0.5
    assert end[TANK_STEAM] == pytest.approx(steam, abs=2e-3)
    assert end[TANK_MASS] + end[TANK_STEAM] == pytest.approx(loop.tank_mass, rel=1e-12)
    assert abs(audit(got, pieces)[0]) < 2e-4
    first = next(
        p.start + x * p.drive.duration
        for p in got.pieces
        for x, y in zip(*dense(p, 20), strict=True)
        if y[TANK_STEAM] > 0.0
    )
    assert first == pytest.approx(reference.tank_boils_at, abs=0.3)


@pytest.mark.parametrize("cells", [3, 12])
def test_boiling_tank_of_several_cells(cells):
    # Vapour is handed from cell to cell after each step, not within it: while the cold cells are
    # filled with it (seconds, beyond the relief's lift) a cell may be a step behind.
    loop = Loop(cells=cells, tank_boil=342.0)
    hot = replace(PASS, metal_heat=(97.5e3, 97.5e3))
    pieces = (replace(hot, duration=90.0), replace(hot, duration=40.0), replace(COAST, duration=20))
    got = run(loop, pieces)
    y = start(loop)
    for leg, piece in zip(pieces, got.pieces, strict=True):
        y = creep(loop, leg, y, 0.02)
        ours = temperatures(design(loop), piece.states[-1])[3:]
        assert ours == pytest.approx(y[ref.CELLS :], abs=0.5)
    assert got.pieces[-1].states[-1][TANK_STEAM] == pytest.approx(
        loop.tank_mass - y[ref.WATER], rel=0.01
    )
    assert float(np.max(ours[6:])) <= 342.0 + 1e-4
    assert abs(audit(got, pieces)[0]) < 2e-4


def surface(form, mass):
    edge = {"block": (mass / 916.72) ** (1 / 3), "cubes": 0.025, "crushed": 0.010}[form]
    return 6.0 * mass / (916.72 * edge)


@pytest.mark.parametrize("cells", [1, 6])
@pytest.mark.parametrize("form", ["block", "cubes", "crushed"])
def test_ice_against_the_reference(form, cells):
    # 10 kg at -9 degC: 333.43 kJ/kg and 18.6 kJ/kg to warm it
    loop = Loop(
        ice=Ice(10.0, surface(form, 10.0), heat=352.0e3), tank_mass=31.0, cells=cells, wall=4e3
    )
    pieces = (*EVENT, Stretch(4000.0, cold_flow=ON["cold_flow"], hot_flow=(2e-3, 2e-3)))
    reference = march(loop, pieces)
    got = run(loop, pieces)
    assert widest_gap(loop, got, reference) < REACHED
    gaps = [
        abs(y[ICE] - reference.at(p.start + x * p.drive.duration)[ref.ICE])
        for p in got.pieces
        for x, y in zip(*dense(p, 3), strict=True)
    ]
    assert max(gaps) < 0.005
    end = got.pieces[-1].states[-1]
    assert (got.pieces[2].states[-1][ICE] > 0.0) == (form == "block")
    assert reference.ice_gone_at < 3000.0
    assert end[ICE] == 0.0
    assert end[TANK_MASS] == pytest.approx(41.0, rel=1e-12)
    assert abs(audit(got, pieces)[0]) < 2e-4


def test_ice_in_a_tank_with_baffles_does_not_chill_its_cold_end_below_freezing():
    # melting goes with the warmth of each cell's own water, not with that of the warm end
    loop = Loop(
        cells=12, tank_mass=25.0, tank_start=274.15, ice=Ice(16.0, surface("crushed", 16.0))
    )
    reference = march(loop, EVENT)
    got = run(loop, EVENT)
    assert widest_gap(loop, got, reference) < REACHED
    made = design(loop)
    coldest = [float(np.min(temperatures(made, y)[9:])) for y in got.pieces[0].states]
    assert min(coldest) < 273.6
    assert min(coldest) > 273.15 - 0.005


def test_ice_alone_ends_where_the_heat_balance_says():
    # 3 kg of crushed ice at the melting point in 30 kg at 40 degC, nothing else
    loop = Loop(ice=Ice(3.0, surface("crushed", 3.0)), tank_mass=30.0, tank_start=313.15)
    end = run(loop, [Stretch(900.0)]).pieces[-1].states[-1]
    water = fluid()
    final = (30.0 * float(water.enthalpy(313.15)) - 3.0 * ref.MELTING_HEAT) / 33.0
    assert end[ICE] == 0.0
    assert end[-1] == pytest.approx(final, abs=8.0)  # 8 J/kg: 2 mK


def test_in_frost_water_freezes_onto_the_ice_and_gets_no_colder():
    # 200 W to air 10 K below freezing for an hour; 0.5 K of 30 kg of water go first
    loop = Loop(
        ice=Ice(3.0, surface("crushed", 3.0)), tank_mass=30.0, tank_start=273.65,
        tank_air=20.0, air=263.15,
    )
    got = run(loop, [Stretch(3600.0)])
    made, end = design(loop), got.pieces[-1].states[-1]
    coldest = [float(np.min(temperatures(made, y)[9:])) for y in got.pieces[0].states]
    assert min(coldest) > 273.15 - 0.005
    grown = (200.0 * 3600.0 - 30.0 * 4217.0 * 0.5) / ref.MELTING_HEAT
    assert end[ICE] - 3.0 == pytest.approx(grown, abs=0.01)  # 0.01 kg: 0.5 K of loss for 5 min
    assert end[TANK_MASS] + end[ICE] == pytest.approx(33.0, rel=1e-12)
    assert abs(audit(got, [Stretch(3600.0)])[0]) < 2e-4


def test_freezing_conserves_energy_to_rounding():
    made = design(Loop(cells=4, wall=9e3))
    charge = IceCharge(2.0, 0.5, 600.0, 350e3)
    y = start_state(made, coolant=300.0, metal=300.0, oil=300.0, tank=276.0, jacket_mass=7.0,
                    tank_mass=30.0, ice=2.0)
    y[-2], y[-1] = (made.cold.enthalpy(t) for t in (272.9, 272.65))
    before = stored_energy(made, y, charge, 0.0, 0.0)
    assert make_projection(made, charge)(0.0, y)
    # the wall's heat is linear in enthalpy only so far: 2 cells moved by up to 0.5 K
    assert stored_energy(made, y, charge, 0.0, 0.0) == pytest.approx(before, abs=20.0)
    frozen = 7.5 * (0.25 + 0.5) * 4218.0 / 350e3
    assert y[ICE] == pytest.approx(2.0 + frozen, rel=0.2)  # the wall has about a sixth
    assert y[TANK_MASS] + y[ICE] == pytest.approx(32.0, rel=1e-12)
    assert made.cold.temperature(y[-1]) == pytest.approx(273.15, abs=2e-3)


def test_projection_conserves_energy_to_rounding():
    # each mend alone: coolant, tank with wall and cells, ice beyond its end
    loop = Loop(cells=4, wall=9e3, tank_boil=350.0, boil=380.0)
    made = design(loop)
    charge = IceCharge(2.0, 0.5, 600.0, 350e3)
    y = start_state(
        made,
        coolant=384.0,
        metal=390.0,
        oil=355.0,
        tank=340.0,
        jacket_mass=7.0,
        tank_mass=30.0,
        ice=-0.02,
    )
    y[-4] = made.cold.enthalpy(352.0)
    before = stored_energy(made, y, charge, 0.0, 0.0)
    assert make_projection(made, charge)(0.0, y)
    after = stored_energy(made, y, charge, 0.0, 0.0) + y[STEAM_HEAT]
    # the wall's heat is linear in enthalpy only so far: 4 cells moved by up to 2 K
    assert after == pytest.approx(before, abs=20.0)
    assert y[ICE] == 0.0
    assert y[TANK_MASS] == pytest.approx(29.98, rel=1e-12)
    assert not make_projection(made, charge)(0.0, y)


def test_dry_mass_is_what_stays_and_heat_is_not_lost():
    made = design(Loop(boil=380.0))
    y = start_state(
        made,
        coolant=390.0,
        metal=400.0,
        oil=355.0,
        tank=307.0,
        jacket_mass=2.2,
        tank_mass=41.0,
        ice=0.0,
    )
    h = y[JACKET]
    make_projection(made, None, 2.19)(0.0, y)
    assert y[JACKET_MASS] == pytest.approx(2.19, rel=1e-12)
    assert 2.2 * h == pytest.approx(y[JACKET_MASS] * y[JACKET] + y[STEAM_HEAT], rel=1e-12)
