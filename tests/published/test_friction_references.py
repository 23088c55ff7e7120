"""Friction, fittings and pumps against an independent open-source library, source by source."""

import numpy as np
import pytest
from fluids import Blasius, Colebrook, Haaland, Swamee_Jain_1976
from fluids.filters import round_edge_screen
from fluids.fittings import (
    Hooper2K,
    K_branch_converging_Crane,
    K_branch_diverging_Crane,
    K_run_converging_Crane,
    K_run_diverging_Crane,
    bend_miter,
    bend_rounded_Crane,
    bend_rounded_Miller,
    change_K_basis,
    contraction_conical_Crane,
    contraction_sharp,
    diffuser_conical,
    diffuser_sharp,
    entrance_rounded,
    entrance_sharp,
    ft_Crane,
)

import thermo.fittings as ours
from thermo.friction import colebrook
from thermo.tees import converging_tee, diverging_tee

REYNOLDS = [2300.0, 4e3, 1e4, 1e5, 1e6, 1e8]
ROUGH = [0.0, 1e-5, 1e-3, 0.05]


@pytest.mark.parametrize("re", REYNOLDS)
@pytest.mark.parametrize("rough", ROUGH)
def test_colebrook_against_the_library(re: float, rough: float) -> None:
    assert colebrook(re, rough) == pytest.approx(Colebrook(re, rough), rel=1e-9)


def test_fri_07_explicit_formulas_against_colebrook() -> None:
    exact = colebrook(1e5, 1e-4)
    assert Haaland(1e5, 1e-4) / exact - 1.0 == pytest.approx(-0.0134, abs=5e-4)
    assert Swamee_Jain_1976(1e5, 1e-4) / exact - 1.0 == pytest.approx(-0.0033, abs=5e-4)
    # Blasius at Re 1e4 is 0.03164, 2.5 % above the smooth Colebrook value.
    assert Blasius(1e4) / colebrook(1e4, 0.0) - 1.0 == pytest.approx(0.0245, abs=1e-3)


def test_crane_friction_factor_against_the_library_fit() -> None:
    # The library fits Crane's rounded table; ours is Crane's own formula.
    for bore in (0.0209, 0.0266, 0.0525, 0.1023, 0.1541):
        assert ours.crane_friction(bore) == pytest.approx(ft_Crane(bore), rel=0.02)


def test_sudden_changes_against_the_library() -> None:
    for beta in (0.3, 0.6, 0.9):
        assert ours.sudden_expansion(beta) == pytest.approx(diffuser_sharp(beta, 1.0), rel=1e-12)
        # MIN-02: Rennels and Hudson lie 2 % under to 50 % over Crane.
        rennels = contraction_sharp(1.0, beta)
        assert 0.98 < rennels / ours.sudden_contraction(beta) < 1.5
    assert contraction_sharp(1.0, 0.6) == pytest.approx(0.438594, rel=1e-5)


def test_min_03_change_of_basis() -> None:
    assert ours.on_other_bore(0.27778, 2.0, 3.0) == pytest.approx(
        change_K_basis(0.27778, 2.0, 3.0), rel=1e-12
    )


def test_min_04_sharp_entrance_has_two_published_values() -> None:
    assert entrance_sharp(method="Swamee") == pytest.approx(ours.ENTRANCE_SHARP)
    assert entrance_sharp(method="Rennels") == pytest.approx(0.57)


@pytest.mark.parametrize(
    ("r", "crane"), [(0.02, 0.28), (0.04, 0.24), (0.06, 0.15), (0.10, 0.09), (0.15, 0.04)]
)
def test_min_05_crane_entrance_is_on_the_low_side_of_ours(r: float, crane: float) -> None:
    assert entrance_rounded(1.0, r, method="Crane") == pytest.approx(crane, rel=1e-9)
    assert 0.0 <= ours.entrance_rounded(r) - crane <= 0.09 + 1e-12


def test_rounded_entrance_against_the_library_spline_of_idelchik() -> None:
    # The library smooths the table: within 0.02 at its own middle points.
    for r in np.linspace(0.0, 0.2, 41):
        library = entrance_rounded(1.0, float(r), method="Idelchik")
        assert ours.entrance_rounded(float(r)) == pytest.approx(library, abs=0.02)


@pytest.mark.parametrize("angle", [45.0, 90.0, 180.0])
@pytest.mark.parametrize("r", [1.5, 3.0, 5.0, 10.0])
def test_bends_against_the_library_fit(angle: float, r: float) -> None:
    # Polynomial fit of the multipliers against interpolation, and 2 % in f_T.
    library = bend_rounded_Crane(Di=0.0525, angle=angle, bend_diameters=r)
    assert ours.smooth_bend(r, 0.0525, angle) == pytest.approx(library, rel=0.06)


@pytest.mark.parametrize("angle", [20.0, 45.0, 90.0])
def test_mitres_against_the_library(angle: float) -> None:
    library = bend_miter(Di=0.0525, angle=angle, method="Crane")
    assert ours.mitre_bend(angle, 0.0525) == pytest.approx(library, rel=0.02)


def test_min_12_other_handbooks_on_mitres() -> None:
    assert bend_miter(45.0) == pytest.approx(0.3042, rel=1e-3)
    assert bend_miter(90.0) == pytest.approx(1.2021, rel=1e-3)
    blevins = bend_miter(90.0, Re=2e5, method="Blevins")
    assert blevins == pytest.approx(ours.fitting_loss("elbow-90-mitre"), rel=1e-3)
    # Crane at 50 mm lies within 10 % of both.
    assert ours.mitre_bend(90.0, 0.0525) == pytest.approx(1.15, rel=0.1)


def test_min_13_millers_bend_against_ours() -> None:
    miller = bend_rounded_Miller(
        Di=0.6, bend_diameters=2, angle=90, Re=2.1e6, roughness=2e-5, L_unimpeded=18.0
    )
    assert miller == pytest.approx(0.150, rel=0.01)
    assert ours.smooth_bend(2.0, 0.6) == pytest.approx(miller, rel=0.15)


def test_min_14_16_cones_against_the_library() -> None:
    for angle in (5.0, 20.0, 44.0, 60.0):
        assert ours.conical_diffuser(0.625, angle) == pytest.approx(
            diffuser_conical(0.05, 0.08, angle=angle, method="Crane"), rel=1e-12
        )
        assert ours.conical_contraction(0.625, angle) == pytest.approx(
            contraction_conical_Crane(0.08, 0.05, angle=angle), rel=1e-12
        )


@pytest.mark.parametrize(
    ("angle", "rennels", "idelchik"),
    [(6.0, 0.058, 0.071), (10.0, 0.068, 0.082), (15.0, 0.105, 0.112)],
)
def test_min_15_other_handbooks_on_diffusers(
    angle: float, rennels: float, idelchik: float
) -> None:
    got = {
        method: diffuser_conical(0.05, 0.08, angle=angle, fd=0.02, method=method)
        for method in ("Rennels", "Idelchik")
    }
    assert got["Rennels"] == pytest.approx(rennels, rel=0.05)
    assert got["Idelchik"] == pytest.approx(idelchik, rel=0.05)
    # Ours has no wall friction, so it is lowest at small angles; all agree within 30 %.
    assert ours.conical_diffuser(0.625, angle) == pytest.approx(
        0.5 * (rennels + idelchik), rel=0.30
    )


def test_min_21_two_k_method_at_high_reynolds_number_is_a_constant() -> None:
    assert Hooper2K(2.0, 1e4, K1=900.0, Kinfty=4.0) == pytest.approx(6.09, rel=1e-9)
    # A threaded elbow (800, 0.40) in 1 in at Re 3e4 lies in the spread of the textbook value.
    low, high = (
        getattr(ours.FITTINGS["elbow-90-threaded"], side) for side in ("low", "high")
    )
    assert low <= Hooper2K(1.0, 3e4, K1=800.0, Kinfty=0.40) <= high


@pytest.mark.parametrize("share", [0.1, 0.4, 0.55, 0.9])
@pytest.mark.parametrize("bore", [0.5, 0.65, 1.0])
@pytest.mark.parametrize("angle", [30.0, 45.0, 90.0])
def test_tees_against_the_library(share: float, bore: float, angle: float) -> None:
    flows = (1.0 - share, share)
    joined = converging_tee(share, bore, angle)
    assert joined.branch == pytest.approx(
        K_branch_converging_Crane(1.0, bore, *flows, angle=angle), abs=1e-12
    )
    assert joined.run == pytest.approx(
        K_run_converging_Crane(1.0, bore, *flows, angle=angle), abs=1e-12
    )
    parted = diverging_tee(share, bore, angle)
    assert parted.branch == pytest.approx(
        K_branch_diverging_Crane(1.0, bore, *flows, angle=angle), abs=1e-12
    )
    assert parted.run == pytest.approx(
        K_run_diverging_Crane(1.0, bore, *flows, angle=angle), abs=1e-12
    )


@pytest.mark.parametrize("open_fraction", [0.4, 0.5, 0.6, 0.7, 0.8])
def test_screen_against_another_handbook(open_fraction: float) -> None:
    # Blevins (1984), round wire at its highest Reynolds number.
    library = round_edge_screen(open_fraction, 400.0)
    assert ours.wire_screen(open_fraction) == pytest.approx(library, rel=0.12)
