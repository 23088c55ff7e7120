"""Different paths side by side: equal loss, closed-form splits, choking."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thermo.duct import Supply, march
from thermo.duct_fittings import Lip
from thermo.duct_parallel import RESIDUAL, march_paths
from thermo.duct_parts import FrictionTube, LossPart, Path, PlenumExit
from thermo.duct_section import Section
from thermo.errors import RangeError
from thermo.gas import Gas

GAS = Gas(287.05, 1.4, 1.85e-5, 0.0262)
AIR = Supply(88e3, 305.0, GAS)


def path(bore: float, length: float, k: float, count: int = 1) -> Path:
    section = Section(bore)
    return Path((
        Lip(name="lip", section=section, k_static=0.9),
        FrictionTube(name="tube", section=section, length=length),
        LossPart(name="k", section=section, k=k),
        PlenumExit(name="plenum", section=section),
    ), count)


def lumped(bore: float, k: float) -> Path:
    return Path((LossPart(name="k", section=Section(bore), k=k),))


def test_an_identical_pair_is_one_path_at_half_the_flow() -> None:
    one = march(path(0.05, 2.0, 1.0), 0.1, AIR)
    pair = march_paths((path(0.05, 2.0, 1.0), path(0.05, 2.0, 1.0)), 0.2, AIR)
    assert pair.outlet_pressure[0] == pytest.approx(one.outlet_pressure[0], rel=1e-12)
    np.testing.assert_allclose(pair.share[:, 0], 0.5, rtol=1e-12)
    counted = march_paths((path(0.05, 2.0, 1.0, count=2),), 0.2, AIR)
    assert counted.outlet_pressure[0] == pytest.approx(one.outlet_pressure[0], rel=1e-12)


def test_fixed_coefficients_split_by_area_over_root_k() -> None:
    # SPL-04's closed form: flow goes with A/sqrt(K); 12 mm with K 6 and 16 mm with K 9. Slow air.
    run = march_paths((lumped(0.012, 6.0), lumped(0.016, 9.0)), 2e-3, AIR)
    weight = np.array([0.012**2 / 6.0**0.5, 0.016**2 / 9.0**0.5])
    np.testing.assert_allclose(run.share[:, 0], weight / weight.sum(), rtol=1e-4)
    assert run.converged[0]


@settings(max_examples=40)
@given(
    st.floats(0.03, 0.08), st.floats(0.03, 0.08), st.floats(0.2, 4.0), st.floats(0.0, 3.0),
    st.floats(0.01, 0.12), st.floats(0.0, 90.0),
)
def test_all_paths_lose_the_same(
    bore: float, other: float, length: float, k: float, flow: float, speed: float
) -> None:
    paths = (path(bore, length, k), path(other, 1.0, 0.5), path(0.04, 2.0, 0.0))
    run = march_paths(paths, flow, Supply(88e3, 305.0, GAS, speed, 330.0), find_limit=False)
    assert run.converged[0] != run.choked[0]
    if run.converged[0]:
        losses = [r.loss[0] for r in run.paths]
        assert max(losses) - min(losses) <= RESIDUAL <= 0.01
        assert run.share[:, 0].sum() == pytest.approx(1.0, rel=1e-12)
        assert (run.share > 0.0).all()
        # Energy: what the walls gave is in the mixed air.
        rise = run.outlet_temperature[0] - 305.0
        assert run.heat[0] == pytest.approx(flow * GAS.specific_heat * rise, rel=1e-9)


def test_no_flow() -> None:
    run = march_paths((path(0.05, 2.0, 1.0), path(0.03, 1.0, 0.0)), 0.0, AIR)
    assert run.outlet_pressure[0] == 88e3
    assert run.converged[0]
    assert run.share[:, 0].sum() == pytest.approx(1.0)


def test_choking_is_flagged_for_its_points_only() -> None:
    paths = (path(0.05, 2.0, 1.0), path(0.03, 3.0, 2.0))
    run = march_paths(paths, np.array([0.1, 1.0]), AIR)
    assert run.choked.tolist() == [False, True]
    assert run.converged.tolist() == [True, False]
    assert np.isnan(run.outlet_pressure[1])
    assert np.isfinite(run.outlet_pressure[0])
    limit = float(run.flow_limit[1])
    assert np.isnan(run.flow_limit[0])
    assert not march_paths(paths, limit, AIR, find_limit=False).choked[0]
    assert march_paths(paths, 1.001 * limit, AIR, find_limit=False).choked[0]


def test_paths_are_needed() -> None:
    with pytest.raises(RangeError, match="number of paths"):
        march_paths((), 0.1, AIR)
