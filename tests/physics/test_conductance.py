"""UA models: hand calculations, round trips, trends and refusals."""

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.conductance import (
    BrazedPlate,
    Conductance,
    DoublePipe,
    GivenUA,
    RatedUA,
    overall,
    tube_wall_resistance,
    wall_resistance,
)
from thermo.errors import InfeasibleError, RangeError
from thermo.exchanger import ARRANGEMENTS, heat_rate


@dataclasses.dataclass(frozen=True)
class Plain:
    """A liquid of constant properties, water near 60 degC unless changed."""

    rho: float = 983.0
    cp: float = 4185.0
    mu: float = 4.66e-4
    k: float = 0.654

    def density(self, T: Any) -> Any:
        return self.rho + 0.0 * T

    def specific_heat(self, T: Any) -> Any:
        return self.cp + 0.0 * T

    def viscosity(self, T: Any) -> Any:
        return self.mu + 0.0 * T

    def conductivity(self, T: Any) -> Any:
        return self.k + 0.0 * T


HOT, COLD = Plain(), Plain(rho=997.0, cp=4180.0, mu=8.9e-4, k=0.607)
RATED = RatedUA(3600.0, 2.0, 0.65, film_split=0.4, hot_drop_rated=30e3, cold_drop_rated=12e3)
PIPE = DoublePipe(0.020, 0.001, 0.030, 3.0, parallel=2, fouling=1e-5)
PLATE = BrazedPlate(30, 0.11, 0.466, 2.0e-3, 0.4e-3, math.radians(60.0), 0.025)
MODELS: list[Conductance] = [GivenUA(3600.0, 30e3, 2.0, 12e3, 0.65), RATED, PIPE, PLATE]


def ua(model: Conductance, m_hot: Any, m_cold: Any) -> Any:
    return model.ua(m_hot, HOT, 353.0, m_cold, COLD, 303.0)


def test_series_resistances_by_hand() -> None:
    assert wall_resistance(0.6e-3, 16.0) == pytest.approx(3.75e-5)
    # ln(22/20) / (2 pi 160 3) = 0.0953102 / 3015.93
    assert tube_wall_resistance(0.020, 0.001, 3.0, 160.0) == pytest.approx(3.16023e-5, rel=1e-5)
    assert overall(1000.0, 1000.0) == pytest.approx(500.0)


def test_double_pipe_by_hand() -> None:
    # Two pipes, 0.5 kg/s of hot water inside each, 0.3 kg/s of cold in each annulus.
    # Inside: Re = 4 m/(pi D mu) = 0.5 4/(pi 0.02 4.66e-4); annulus: Dh 8 mm, a = 22/30.
    re_in = 4.0 * 0.5 / (math.pi * 0.020 * 4.66e-4)
    re_out = 4.0 * 0.3 / (math.pi * (0.030 + 0.022) * 8.9e-4)
    assert re_in == pytest.approx(68306.0, rel=1e-4)
    assert re_out == pytest.approx(8253.5, rel=1e-4)

    def tube(re: float, pr: float) -> float:
        f8 = (0.79 * math.log(re) - 1.64) ** -2 / 8.0
        return f8 * (re - 1000.0) * pr / (1.0 + 12.7 * math.sqrt(f8) * (pr ** (2 / 3) - 1.0))

    h_in = tube(re_in, 4185.0 * 4.66e-4 / 0.654) * 0.654 / 0.020
    h_out = 0.86 * (22 / 30) ** -0.16 * tube(re_out, 4180.0 * 8.9e-4 / 0.607) * 0.607 / 0.008
    r_in = (1.0 / h_in + 1e-5) / (math.pi * 0.020 * 3.0)
    r_out = 1.0 / (h_out * math.pi * 0.022 * 3.0)
    want = 2.0 / (r_in + 3.16023e-5 + r_out)
    assert ua(PIPE, 1.0, 0.6) == pytest.approx(want, rel=1e-5)


def test_double_pipe_drops() -> None:
    # Blasius, f = 0.316 Re^-0.25, is within 3 % of a smooth tube for 4000 < Re < 1e5.
    velocity = 0.5 / (983.0 * 0.25 * math.pi * 0.020**2)
    blasius = 0.316 * 68306.0**-0.25 * 3.0 / 0.020 * 0.5 * 983.0 * velocity**2
    smooth = dataclasses.replace(PIPE, roughness=0.0)
    assert smooth.hot_drop(1.0, HOT, 353.0) == pytest.approx(blasius, rel=0.03)
    # Laminar annulus: exact f Re of White, Table 6.3, about 95.9 at a = 0.733.
    thick = Plain(rho=1000.0, mu=0.05)
    area = 0.25 * math.pi * (0.030**2 - 0.022**2)
    velocity = 0.3 / (1000.0 * area)
    exact = 95.9 / 2.0 * 0.05 * velocity * 3.0 / 0.008**2
    assert PIPE.cold_drop(0.6, thick, 303.0) == pytest.approx(exact, rel=2e-3)


def test_double_pipe_sides_change_places() -> None:
    turned = dataclasses.replace(PIPE, hot_inside=False)
    same = turned.ua(0.6, COLD, 303.0, 1.0, HOT, 353.0)
    assert same == pytest.approx(ua(PIPE, 1.0, 0.6), rel=1e-13)
    assert turned.cold_drop(1.0, HOT, 353.0) == PIPE.hot_drop(1.0, HOT, 353.0)


def test_rated_point_gives_back_its_heat() -> None:
    for name in ARRANGEMENTS:
        model = RatedUA.from_duty(
            m_hot=2.0, liquid_hot=HOT, t_hot_in=368.0, m_cold=0.65, liquid_cold=COLD,
            t_cold_in=308.0, heat=90e3, arrangement=name, film_split=0.3, wall_share=0.1)
        heat, _, _ = heat_rate(name, ua(model, 2.0, 0.65), 2.0 * 4185.0, 0.65 * 4180.0,
                               368.0, 308.0)
        assert heat == pytest.approx(90e3, rel=1e-9)


def test_rated_conductance_at_other_flows_by_hand() -> None:
    # 5 % wall, 38 % hot film, 57 % cold film; cold flow doubled: film times 2^0.8 = 1.7411.
    want = 3600.0 / (0.38 + 0.05 + 0.57 / 1.7411)
    assert ua(RATED, 2.0, 1.3) == pytest.approx(want, rel=1e-4)
    assert RATED.hot_drop(4.0, HOT, 353.0) == pytest.approx(30e3 * 3.4822, rel=1e-4)
    assert RATED.cold_drop(0.65, COLD, 303.0) == pytest.approx(12e3)


def test_rated_heat_out_of_reach_names_the_most() -> None:
    with pytest.raises(InfeasibleError, match="an endless parallel exchanger passes") as caught:
        RatedUA.from_duty(m_hot=1.0, liquid_hot=HOT, t_hot_in=360.0, m_cold=1.0, liquid_cold=HOT,
                          t_cold_in=300.0, heat=126e3, arrangement="parallel")
    assert caught.value.best == pytest.approx(0.5 * 4185.0 * 60.0)


def test_rated_inlets_the_wrong_way_round() -> None:
    with pytest.raises(RangeError, match="rated hot inlet"):
        RatedUA.from_duty(m_hot=1.0, liquid_hot=HOT, t_hot_in=300.0, m_cold=1.0, liquid_cold=HOT,
                          t_cold_in=300.0, heat=1e3)


def test_given_conductance_holds_at_every_flow() -> None:
    model = GivenUA(3600.0)
    assert ua(model, 0.0, 0.1) == ua(model, 2.0, 3.0) == 3600.0
    assert model.hot_drop(2.0, HOT, 353.0) == model.cold_drop(2.0, COLD, 303.0) == 0.0
    with_drop = MODELS[0]
    assert with_drop.hot_drop(1.0, HOT, 353.0) == pytest.approx(30e3 * 0.5**1.8)
    assert with_drop.cold_drop(0.0, COLD, 303.0) == 0.0


def test_plate_pack_geometry() -> None:
    # 30 plates: 28 pass heat, 29 channels, the odd one on the cold side.
    assert PLATE.area == pytest.approx(28 * 1.2 * 0.11 * 0.466)
    assert (PLATE.hot_channels, PLATE.cold_channels) == (14, 15)
    assert PLATE.hydraulic_diameter == pytest.approx(2 * 2.0e-3 / 1.2)


def test_plate_pack_by_hand() -> None:
    # Martin by hand for the hot side at 1.5 kg/s: G = 1.5/(14 0.002 0.11) = 487.0 kg/m2 s,
    # Re = 487.0 0.0033333/4.66e-4 = 3483.6, f0 = 0.04207, f1 = 3.694.
    re, phi = 3483.6, math.radians(60.0)
    f0, f1 = (1.8 * math.log10(re) - 1.5) ** -2, 39.0 * re**-0.289
    y = math.cos(phi) / math.sqrt(0.18 * math.tan(phi) + 0.36 * math.sin(phi) + f0 / math.cos(phi))
    f = (y + (1.0 - math.cos(phi)) / math.sqrt(3.8 * f1)) ** -2
    channel = f * 0.466 / 0.00333333 * 487.01**2 / (2.0 * 983.0)
    port = 1.4 * (1.5 / (0.25 * math.pi * 0.025**2)) ** 2 / (2.0 * 983.0)
    assert PLATE.hot_drop(1.5, HOT, 353.0) == pytest.approx(channel + port, rel=1e-4)
    pr = 4185.0 * 4.66e-4 / 0.654
    h = 0.122 * pr ** (1 / 3) * (f * re**2 * math.sin(2 * phi)) ** 0.374 * 0.654 / 0.00333333
    both = dataclasses.replace(PLATE, plates=31)  # 15 channels a side
    same = both.ua(1.5 * 15 / 14, HOT, 353.0, 1.5 * 15 / 14, HOT, 303.0)
    assert same == pytest.approx(both.area / (2.0 / h + 0.4e-3 / 16.0), rel=1e-4)


@pytest.mark.parametrize(("m_hot", "m_cold"), [(2.0, 0.65), (0.8, 0.3), (1.2, 1.2)])
def test_harder_chevrons_more_conductance_and_more_drop(m_hot: float, m_cold: float) -> None:
    packs = [dataclasses.replace(PLATE, chevron_angle=math.radians(a)) for a in (25, 35, 50, 65)]
    for values in ([ua(p, m_hot, m_cold) for p in packs],
                   [p.hot_drop(m_hot, HOT, 353.0) for p in packs],
                   [p.cold_drop(m_cold, COLD, 303.0) for p in packs]):
        assert values == sorted(values)
        assert values[-1] > 1.2 * values[0]


def test_plate_and_pipe_sizes_are_of_the_trade() -> None:
    # Common practice for water to water: plates 2000 to 7000, double pipes 800 to 3500 W/m2 K.
    assert 2000.0 < ua(PLATE, 2.0, 0.65) / PLATE.area < 7000.0
    assert 800.0 < ua(PIPE, 1.0, 0.6) / (2 * math.pi * 0.020 * 3.0) < 3500.0


@pytest.mark.parametrize("model", MODELS, ids=lambda m: type(m).__name__)
def test_scalar_equals_array_and_rest_is_quiet(model: Conductance) -> None:
    flows = np.array([0.0, 0.05, 0.4, 2.0])
    warm = np.array([340.0, 350.0, 360.0, 370.0])
    got = model.ua(flows, HOT, warm, flows[::-1], COLD, 303.0) + np.zeros(4)
    drop = model.hot_drop(flows, HOT, warm)
    for i, m in enumerate(flows.tolist()):
        one = model.ua(m, HOT, 350.0, flows[::-1].tolist()[i], COLD, 303.0)
        assert isinstance(one, float)
        assert got[i] == pytest.approx(one, rel=1e-12)
        assert drop[i] == pytest.approx(model.hot_drop(m, HOT, 350.0), rel=1e-12)
    assert drop[0] == 0.0
    at_rest = model.ua(0.0, HOT, 350.0, 0.0, COLD, 303.0)
    assert heat_rate("counterflow", at_rest, 0.0, 0.0, 350.0, 303.0)[0] == 0.0


@given(st.floats(0.05, 4.0), st.floats(0.05, 4.0), st.floats(1.0, 2.0))
def test_more_flow_never_less_conductance_or_drop(m_hot: float, m_cold: float, more: float) -> None:
    for model in MODELS:
        assert ua(model, m_hot * more, m_cold) >= ua(model, m_hot, m_cold) * (1.0 - 1e-12)
        assert ua(model, m_hot, m_cold * more) >= ua(model, m_hot, m_cold) * (1.0 - 1e-12)
        assert model.hot_drop(m_hot * more, HOT, 353.0) >= model.hot_drop(
            m_hot, HOT, 353.0) * (1.0 - 1e-12)


def test_cautions_name_the_side_and_the_range() -> None:
    def said(model: Conductance, m_hot: float, m_cold: float) -> list[str]:
        return model.cautions(m_hot, HOT, 353.0, m_cold, COLD, 303.0)

    assert said(GivenUA(1.0), 1.0, 1.0) == []
    assert said(RATED, 2.0, 0.65) == []
    assert said(RATED, 8.0, 0.0) == ["hot side: the rated conductance is carried to 4 times its "
                                     "rated flow, outside 0.3 to 3"]
    assert said(PLATE, 2.0, 0.65) == []
    assert "cold side: Re" in said(PLATE, 2.0, 0.05)[0]
    assert said(PIPE, 1.0, 0.6) == []
    assert "annulus" in said(PIPE, 1.0, 0.2)[0]
    assert "above 5e6" in said(PIPE, 100.0, 0.6)[0]


@pytest.mark.parametrize(("make", "words"), [
    (lambda: GivenUA(-1.0), "conductance of the exchanger"),
    (lambda: GivenUA(1.0, hot_drop_rated=1e3, hot_flow_rated=0.0), "rated flow of the hot side"),
    (lambda: GivenUA(1.0, cold_drop_rated=-1.0), "rated drop of the cold side"),
    (lambda: GivenUA(np.array([1.0, math.nan])), "conductance of the exchanger"),
    (lambda: dataclasses.replace(RATED, film_split=1.2), "share of the hot film"),
    (lambda: dataclasses.replace(RATED, wall_share=0.95), "share of the wall"),
    (lambda: dataclasses.replace(RATED, film_exponent=1.5), "film exponent"),
    (lambda: dataclasses.replace(PIPE, outer_bore=0.022), "around the inner tube"),
    (lambda: dataclasses.replace(PIPE, parallel=0), "double pipes in parallel"),
    (lambda: dataclasses.replace(PLATE, plates=2), "number of plates"),
    (lambda: dataclasses.replace(PLATE, chevron_angle=60.0), "chevron angle"),
    (lambda: dataclasses.replace(PLATE, enlargement=0.9), "enlargement"),
    (lambda: dataclasses.replace(PLATE, width=0.0), "width of the plates"),
])
def test_refusals(make: Any, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        make()
