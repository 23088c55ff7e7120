"""Films: printed values, limits, joins of the pieces, and the angle convention of plates."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo import films

ANGLES = [math.radians(d) for d in (20.0, 30.0, 45.0, 60.0, 75.0)]


def test_reynolds_and_prandtl_of_water() -> None:
    # 0.2 kg/s of water in a 25 mm bore: Incropera et al., Example 11.1.
    flux = 0.2 / (0.25 * math.pi * 0.025**2)
    assert films.reynolds_of_flux(flux, 0.025, 725e-6) == pytest.approx(14050.0, rel=1e-3)
    assert films.prandtl(4178.0, 725e-6, 0.625) == pytest.approx(4.85, rel=1e-3)


def test_duct_film_is_laminar_then_gnielinski() -> None:
    assert films.nusselt_duct(100.0, 5.0) == films.ROUND_LAMINAR_NU
    assert films.nusselt_duct(100.0, 5.0, 2.98) == 2.98
    for re in (4000.0, 3e5):
        want = films.gnielinski(re, 5.0, films.petukhov_friction(re))
        assert films.nusselt_duct(re, 5.0) == pytest.approx(want, rel=1e-13)


@given(st.floats(1.0, 1e6), st.floats(0.7, 200.0))
def test_duct_film_rises_without_a_step(re: float, pr: float) -> None:
    here, there = films.nusselt_duct(re, pr), films.nusselt_duct(re * 1.001, pr)
    # Across the bridge of 1700 the steepest rise for 0.1 % of Re stays below 2 % of the value.
    assert here <= there * (1.0 + 1e-12)
    assert there <= 1.02 * here


def test_annulus_laminar_near_the_table() -> None:
    # Incropera et al., Table 8.2, inner wall heated: 5.74 at 0.5, 7.37 at 0.25, 4.86 at 1.
    for ratio, nu in ((0.25, 7.37), (0.5, 5.74), (1.0, 4.86)):
        assert films.annulus_laminar_nu(ratio) == pytest.approx(nu, rel=0.03)
        assert films.nusselt_annulus(500.0, 5.0, ratio) == pytest.approx(
            films.annulus_laminar_nu(ratio), rel=1e-14)


def test_annulus_turbulent_is_the_tube_lowered() -> None:
    # Petukhov & Roizen (1964): 0.86 a^-0.16 of the tube on the hydraulic diameter.
    assert films.nusselt_annulus(3e4, 5.0, 0.8) == pytest.approx(
        0.86 * 0.8**-0.16 * films.nusselt_duct(3e4, 5.0), rel=1e-13)


def test_annulus_friction_constant() -> None:
    # White, Fluid Mechanics, Table 6.3: f Re 89.37 at b/a = 0.1, 95.25 at 0.5, 96 for a slot.
    for ratio, constant in ((0.1, 89.37), (0.5, 95.25), (0.999, 96.0)):
        assert films.annulus_laminar_constant(ratio) == pytest.approx(constant, rel=1e-4)


def test_rectangular_laminar_ends() -> None:
    # Parallel plates 7.541, square 2.976: Shah & London (1978).
    assert films.rectangular_laminar_nu(0.0) == 7.541
    assert films.rectangular_laminar_nu(1.0) == pytest.approx(2.976, rel=2e-3)


@pytest.mark.parametrize("re", [300.0, 1500.0, 1900.0, 2500.0, 9000.0])
def test_harder_chevrons_give_more_film_and_more_drop(re: float) -> None:
    friction = [films.martin_friction(re, a) for a in ANGLES]
    film = [films.martin_nusselt(re, 5.0, a, f)
            for a, f in zip(ANGLES, friction, strict=True)]
    assert friction == sorted(friction)
    # sin(2 phi) turns the film over beyond about 70 degrees.
    assert film[:4] == sorted(film[:4])


@pytest.mark.parametrize("angle", ANGLES)
def test_plate_friction_has_no_step_and_the_drop_rises(angle: float) -> None:
    re = np.linspace(1700.0, 2100.0, 4001)
    friction = films.martin_friction(re, angle)
    drop = friction * re * re
    assert np.all(np.abs(np.diff(friction)) < 1e-3 * friction[:-1])
    assert np.all(np.diff(drop) > 0.0)


def test_plate_friction_at_rest_and_along_the_flow() -> None:
    # With the corrugations along the flow the laminar factor is that of a tube, 64/Re.
    assert films.martin_friction(500.0, 0.0) == pytest.approx(64.0 / 500.0, rel=1e-14)


@given(st.floats(1.0, 1e5), st.floats(0.7, 100.0))
def test_scalar_equals_array(re: float, pr: float) -> None:
    res, prs = np.array([re, 2.0 * re]), np.array([pr, pr])
    angle = math.radians(60.0)
    friction = films.martin_friction(re, angle)
    pairs = (
        (films.nusselt_duct(res, prs), films.nusselt_duct(re, pr)),
        (films.nusselt_annulus(res, prs, 0.6), films.nusselt_annulus(re, pr, 0.6)),
        (films.martin_friction(res, angle), friction),
        (films.martin_nusselt(res, prs, angle, films.martin_friction(res, angle)),
         films.martin_nusselt(re, pr, angle, friction)),
    )
    for array, scalar in pairs:
        assert isinstance(scalar, float)
        assert array[0] == pytest.approx(scalar, rel=1e-12)
