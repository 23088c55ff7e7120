"""Services, arrays of variants, and what must hold whatever the numbers are."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.oracles import loop_reference as ref
from tests.oracles.loop_bridge import design, run, temperatures, variant
from tests.oracles.loop_reference import Ice, Loop, Stretch, fluid, march, refill
from tests.physics.test_loop import (
    AIR_LOSSES,
    COAST,
    EVENT,
    PASS,
    REACHED,
    SOAK,
    audit,
    steady,
)
from thermo.errors import ScenarioError
from thermo.loop_dense import dense
from thermo.loop_design import IceCharge
from thermo.loop_run import DRY_SHARE, totals
from thermo.loop_service import Service
from thermo.loop_state import ICE, JACKET, JACKET_MASS, TANK_MASS, TANK_STEAM

SWAP = Service(swap_fraction=0.6, swap_temperature=288.15, ice=None, ice_mass=0.0, reseal=True)


def with_ice(mass, area=1.5, heat=340e3, share=0.0):
    return Service(share, 288.15, IceCharge(mass, area, 600.0, heat), mass, True)


# Services


@pytest.mark.parametrize(
    "loop",
    [Loop(), Loop(wall=15e3), Loop(cells=6, wall=15e3)],
    ids=["water", "wall", "cells and wall"],
)
def test_swap_against_the_reference(loop):
    # the wall of the tank stays behind and warms the fresh water: 15 kJ/K is some 9 % of it
    before = march(loop, EVENT)
    after = march(loop, (PASS,), refill(loop, before.last, 0.6, 288.15))
    got = run(loop, (*EVENT, SWAP, PASS))
    made = design(loop)
    begins = got.pieces[3].states[0]
    assert temperatures(made, begins)[3:] == pytest.approx(after.first[ref.CELLS :], abs=REACHED)
    assert temperatures(made, got.pieces[3].states[-1])[3:] == pytest.approx(
        after.last[ref.CELLS :], abs=REACHED
    )
    # water in less water out, at their own enthalpies, counted apart
    water = fluid()
    tank = before.last[-loop.cells :]
    added = (
        0.6
        * loop.tank_mass
        * (float(water.enthalpy(288.15)) - float(np.mean(water.enthalpy(tank))))
    )
    assert got.added == pytest.approx(added, rel=1e-3)
    assert abs(audit(got, [*EVENT, PASS])[0]) < 2e-4
    assert [p.seal for p in got.pieces] == [0, 0, 0, 1]


def test_ice_put_in_takes_the_place_of_water():
    got = run(Loop(), (*EVENT, with_ice(8.0), SOAK))
    last, first = got.pieces[2].states[-1], got.pieces[3].states[0]
    assert first[TANK_MASS] == pytest.approx(41.0 - 8.0, rel=1e-12)
    assert first[ICE] == 8.0
    assert got.added == pytest.approx(-8.0 * (340e3 + last[-1]), rel=1e-9)
    assert got.pieces[3].drive.ice.mass == 8.0
    assert abs(audit(got, [*EVENT, SOAK])[0]) < 2e-4


def test_ice_upon_ice_keeps_mass_surface_and_heat():
    loop = Loop(ice=Ice(10.0, 0.3, heat=350e3), tank_mass=31.0)
    got = run(loop, (COAST, with_ice(4.0, area=0.8, heat=335e3), COAST))
    left = got.pieces[0].states[-1][ICE]
    charge = got.pieces[1].drive.ice
    assert 0.0 < left < 10.0
    assert charge.mass == pytest.approx(left + 4.0, rel=1e-12)
    assert charge.area == pytest.approx(0.8 + 0.3 * (left / 10.0) ** (2 / 3), rel=1e-12)
    assert charge.heat * charge.mass == pytest.approx(left * 350e3 + 4.0 * 335e3, rel=1e-12)
    assert abs(audit(got, [COAST, COAST])[0]) < 2e-4


def test_swap_and_ice_with_water_that_stands_still():
    # the still water is part of the tank's water: it is swapped and chilled with the rest
    got = run(
        Loop(tank_mass=34.0, short=0.1), (*EVENT, with_ice(5.0, share=0.5), SOAK), dead_mass=7.0
    )
    last, piece = got.pieces[2].states[-1], got.pieces[3]
    water = fluid()
    mean = (34.0 * last[-1] + 7.0 * float(water.enthalpy(307.15))) / 41.0
    mixed = 0.5 * (mean + float(water.enthalpy(288.15)))
    assert piece.states[0][-1] == pytest.approx(mixed, rel=1e-4)
    assert piece.dead_enthalpy == pytest.approx(mixed, rel=1e-4)
    added = 41.0 * (mixed - mean) - 5.0 * (mixed + 340e3)
    assert got.added == pytest.approx(added, rel=1e-4)
    assert abs(audit(got, [*EVENT, SOAK])[0]) < 2e-4


def test_a_service_that_only_opens_the_lid_changes_nothing():
    lid = Service(0.0, 288.15, None, 0.0, True)
    loop = Loop(cells=5)
    plain, opened = run(loop, EVENT), run(loop, (PASS, COAST, lid, SOAK))
    assert opened.pieces[-1].states[-1] == plain.pieces[-1].states[-1]
    assert (opened.added, opened.pieces[-1].seal) == (0.0, 1)


def test_ice_that_leaves_no_water_is_refused():
    with pytest.raises(
        ScenarioError, match=r"leg\[\d+\]\.ice_mass: the ice of a service does not .* 9\.5 kg fits"
    ):
        run(Loop(tank_mass=10.0), (COAST, with_ice(10.0), PASS), dead_mass=20.0)
    # What is said to fit does.
    run(Loop(tank_mass=10.0), (COAST, with_ice(9.5), PASS), dead_mass=20.0)


def test_how_much_ice_fits_is_told_of_the_variants_that_are_refused():
    mass = np.array([1.0, 10.0, 19.0])
    with pytest.raises(ScenarioError, match=r"at most 7\.6 to 9\.5 kg, by variant, fits"):
        run(Loop(tank_mass=np.array([30.0, 10.0, 8.0])),
            (COAST, with_ice(mass, 0.5 * mass), PASS), dead_mass=20.0)


# Arrays over variants

MANY = Loop(
    ua=np.array([0.0, 2000.0, 3600.0, 9000.0]),
    tank_mass=np.array([20.0, 30.0, 41.0, 60.0]),
    boil=np.array([373.0, 380.0, 390.0, 400.0]),
    coolant_mass=np.array([7.0, 5.0, 6.0, 8.0]),
    tank_start=np.array([290.0, 300.0, 310.0, 320.0]),
    ice=Ice(
        np.array([0.0, 5.0, 10.0, 1.0]),
        np.array([0.0, 1.0, 0.3, 0.5]),
        600.0,
        np.array([333e3, 333e3, 340e3, 350e3]),
    ),
    tank_boil=325.0,
    wall=6e3,
    thermostat=(350.0, 360.0, 0.05, 6.0),
    **AIR_LOSSES,
)
FLOWS = np.array([6e-4, 1e-3, 0.0, 5e-4])
LEGS = (
    Stretch(
        np.array([60.0, 80.0, 100.0, 50.0]),
        metal_heat=(np.array([90e3, 80e3, 50e3, 120e3]), np.array([90e3, 99e3, 60e3, 80e3])),
        hot_flow=(np.array([2e-3, 1e-3, 2e-3, 2e-3]),) * 2,
        cold_flow=steady(FLOWS),
        cold_pump=60.0,
        hot_pump=40.0,
    ),
    Stretch(np.array([600.0, 30.0, 10.0, 1.0]), metal_heat=(5e3, 5e3), sun=300.0),
)


def alone(loop, number):
    legs = [replace(variant(leg, number)) for leg in LEGS]
    legs[0] = replace(legs[0], cold_flow=steady(float(FLOWS[number])))
    return variant(loop, number), legs


@pytest.mark.parametrize(
    "many",
    [MANY, replace(MANY, cells=5, tank_boil=1e9, short=0.1)],
    ids=["mixed, tank boils", "plug"],
)
def test_variants_together_equal_each_alone(many):
    # durations, flows (one none), UA (one none), ice (one none), boiling of coolant and of tank
    together = run(many, LEGS)
    for number in range(4):
        loop, legs = alone(many, number)
        single = run(loop, legs)
        made = design(loop)
        for all_, one in zip(together.pieces, single.pieces, strict=True):
            state = [np.broadcast_to(v, 4)[number] for v in all_.states[-1]]
            assert temperatures(made, state) == pytest.approx(
                temperatures(made, one.states[-1]), abs=0.01
            )
            assert [state[i] for i in (JACKET_MASS, TANK_MASS, ICE)] == pytest.approx(
                [one.states[-1][i] for i in (JACKET_MASS, TANK_MASS, ICE)], abs=1e-3
            )
        assert together.stored[number] == pytest.approx(single.stored, rel=2e-4)
    if many is MANY:
        last = together.pieces[-1].states[-1]
        assert np.any(last[TANK_STEAM] > 0.0)
        assert np.any(last[JACKET_MASS] < many.coolant_mass - 0.01)


def test_energy_of_every_variant():
    got = run(MANY, LEGS)
    end = totals(got)
    heat = sum((leg.metal_heat[0] + leg.metal_heat[1]) / 2 * leg.duration for leg in LEGS)
    out = got.stored + end["to_air"] + end["steam_heat"]
    assert (heat + end["pump"] - out) / heat == pytest.approx(np.zeros(4), abs=3e-4)


def test_services_of_variants():
    charge = IceCharge(np.array([0.0, 4.0, 0.0]), np.array([0.0, 0.9, 0.0]), 600.0, 340e3)
    service = Service(np.array([0.0, 0.0, 0.5]), 288.15, charge, charge.mass, True)
    loop = Loop(tank_start=np.array([300.0, 310.0, 320.0]), cells=4, wall=8e3)
    together = run(loop, (PASS, service, COAST))
    singles = (
        Service(0.0, 288.15, None, 0.0, True),
        with_ice(4.0, area=0.9),
        Service(0.5, 288.15, None, 0.0, True),
    )
    for number, single in enumerate(singles):
        one = run(variant(loop, number), (PASS, single, COAST))
        made = design(variant(loop, number))
        state = [np.broadcast_to(v, 3)[number] for v in together.pieces[-1].states[-1]]
        assert temperatures(made, state) == pytest.approx(
            temperatures(made, one.pieces[-1].states[-1]), abs=0.01
        )
        assert np.broadcast_to(together.added, 3)[number] == pytest.approx(
            one.added, rel=1e-4, abs=1.0
        )


def test_a_variant_that_boils_dry_leaves_the_others_alone():
    loop = Loop(boil=np.array([375.0, 390.0]), coolant_mass=np.array([3.0, 9.0]))
    legs = (Stretch(150.0, metal_heat=(97.5e3, 97.5e3)), COAST)
    together = run(loop, legs)
    assert not together.stopped
    end = together.pieces[-1].states[-1]
    assert end[JACKET_MASS][0] == pytest.approx(3.0 * DRY_SHARE, rel=1e-9)
    assert run(variant(loop, 0), legs).stopped == "the jacket boiled dry"
    one = run(variant(loop, 1), legs).pieces[-1].states[-1]
    assert end[JACKET_MASS][1] == pytest.approx(one[JACKET_MASS], abs=2e-3)
    heat, last = 97.5e3 * 150.0 + 100.0 * 45.0, totals(together)
    out = together.stored + last["to_air"] + last["steam_heat"]
    assert (heat - out) / heat == pytest.approx(np.zeros(2), abs=2e-4)


def test_all_variants_dry_stops_the_run():
    loop = Loop(boil=np.array([375.0, 376.0]), coolant_mass=np.array([3.0, 2.0]))
    got = run(loop, (Stretch(300.0, metal_heat=(97.5e3, 97.5e3)), COAST))
    assert got.stopped == "the jacket boiled dry"


# What must hold whatever the numbers are

LOOPS = st.builds(
    Loop,
    ethylene=st.sampled_from([0.0, 0.3]),
    ua=st.floats(0.0, 2e4),
    arrangement=st.sampled_from(["counterflow", "parallel"]),
    metal_capacity=st.floats(5e3, 2e5),
    metal_conductance=st.floats(500.0, 8e3),
    boil=st.floats(365.0, 400.0),
    tank_boil=st.floats(345.0, 390.0),
    supply_mass=st.floats(0.05, 3.0),
    return_mass=st.floats(0.05, 3.0),
    supply_air=st.floats(0.0, 5.0),
    return_air=st.floats(0.0, 5.0),
    tank_air=st.floats(0.0, 50.0),
    cells=st.integers(1, 12),
    wall=st.floats(0.0, 2e4),
    short=st.sampled_from([0.0, 0.3]),
    coolant_mass=st.floats(3.0, 20.0),
    tank_mass=st.floats(10.0, 150.0),
    tank_start=st.floats(280.0, 330.0),
    oil_cooler=st.floats(0.0, 500.0),
    ice=st.sampled_from([None, Ice(2.0, 0.4), Ice(8.0, 4.0, heat=360e3)]),
)


def legs_of(heat, hot, cold, seconds):
    flow = {"hot_flow": (hot, hot), "cold_flow": steady(cold), "cold_pump": 50.0, "hot_pump": 30.0}
    return (
        Stretch(60.0, sun=300.0),
        Stretch(seconds, metal_heat=(0.5 * heat, heat), **flow),
        Stretch(30.0, **flow),
        Stretch(120.0),
    )


FLOW = st.floats(0.0, 2e-3)
QUICK = settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])


@QUICK
@given(LOOPS, st.floats(0.0, 2e5), FLOW, FLOW, st.floats(5.0, 150.0))
def test_energy_is_kept_whatever_the_numbers(loop, heat, hot, cold, seconds):
    legs = legs_of(heat, hot, cold, seconds)
    got = run(loop, legs)
    if got.stopped:
        assert got.stopped == "the jacket boiled dry"
        return
    residual, heat_in = audit(got, legs)
    melted = 0.0 if loop.ice is None else loop.ice.mass * loop.ice.heat
    # melting is heat that moves within the tank: a ten-thousandth of it may be astray
    assert abs(residual) * max(heat_in, 1e5) < 1e-3 * max(heat_in, 1e5) + 1e-4 * melted


@QUICK
@given(LOOPS, st.floats(1e4, 2e5), FLOW, FLOW, st.floats(5.0, 150.0))
def test_states_stay_within_what_drives_them(loop, heat, hot, cold, seconds):
    got = run(loop, legs_of(heat, hot, cold, seconds))
    made = design(loop)
    coldest = min(loop.tank_start, loop.air, ref.ZERO_C if loop.ice else 1e9)
    masses = []
    for piece in got.pieces:
        _, y = dense(piece, 2)
        cells = made.cold.temperature(y[:, 11:])
        assert float(cells.min()) > coldest - REACHED
        assert float(cells[:, 6:].max()) < loop.tank_boil + REACHED
        assert float(y[:, ICE].min()) >= 0.0
        assert float(made.hot.temperature(y[:, JACKET]).max()) < loop.boil + REACHED
        masses.extend(y[:, JACKET_MASS])
    assert max(np.diff(masses), default=0.0) < 0.002


@QUICK
@given(
    LOOPS, st.floats(2e4, 1.5e5), st.floats(5e-4, 2e-3), st.floats(2e-4, 1e-3), st.floats(1.05, 3.0)
)
def test_more_exchanger_never_makes_hotter_coolant(loop, heat, hot, cold, factor):
    # within one pass: heat passes at all times to the cooler side
    loop = replace(
        loop,
        ice=None,
        boil=500.0,
        tank_boil=1e9,
        coolant_start=330.0,
        metal_start=330.0,
        tank_start=min(loop.tank_start, 320.0),
    )
    leg = legs_of(heat, hot, cold, 40.0)[1]
    less, more = (run(replace(loop, ua=ua), [leg]) for ua in (loop.ua, loop.ua * factor))
    peaks = [max(s[JACKET] for s in got.pieces[0].states) for got in (less, more)]
    assert peaks[1] <= peaks[0] + REACHED * 4200.0


@QUICK
@given(
    LOOPS, st.floats(2e4, 1.5e5), st.floats(5e-4, 2e-3), st.floats(2e-4, 1e-3), st.floats(1.05, 3.0)
)
def test_more_water_never_makes_a_hotter_tank(loop, heat, hot, cold, factor):
    loop = replace(
        loop,
        ice=None,
        boil=500.0,
        tank_boil=1e9,
        cells=1,
        short=0.0,
        tank_start=min(loop.tank_start, 305.0),
    )
    legs = legs_of(heat, hot, cold, 60.0)
    ends = [
        run(replace(loop, tank_mass=m), legs).pieces[-1].states[-1][-1]
        for m in (loop.tank_mass, loop.tank_mass * factor)
    ]
    assert ends[1] <= ends[0] + REACHED * 4200.0
