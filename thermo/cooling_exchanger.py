"""From `[exchanger]` to the model of its UA."""

from __future__ import annotations

import numpy as np

from thermo.conductance import BrazedPlate, Conductance, DoublePipe, GivenUA, RatedUA, ScaledUA
from thermo.estimate import COMMON_PRACTICE, Estimate
from thermo.inputs.loops import Exchanger
from thermo.liquids import Liquid
from thermo.ops import Real, ops_of

UA_PER_POWER = Estimate(28e-3, 15e-3, 45e-3, "1/K", COMMON_PRACTICE)
"""Exchanger conductance over brake power [W/K a W]."""


def conductance_of(
    table: Exchanger, hot: Liquid, cold: Liquid, power: Real, flows: tuple[Real, Real]
) -> Conductance:
    """Return the UA model that the scenario's exchanger table describes.

    Parameters
    ----------
    table : Exchanger
    hot, cold : Liquid
    power : float or ndarray
        Brake power, for the default [W].
    flows : tuple of float or ndarray
        Hot and cold mass flow to which given drops belong [kg/s].

    Returns
    -------
    Conductance

    Raises
    ------
    RangeError, InfeasibleError
        If geometry or rating is impossible.
    """
    model = _described(table, hot, cold, power, flows)
    if isinstance(model, GivenUA) or not bool(np.any(np.asarray(table.ua_scale) != 1.0)):
        return model
    return ScaledUA(model, table.ua_scale)


def _described(
    table: Exchanger, hot: Liquid, cold: Liquid, power: Real, flows: tuple[Real, Real]
) -> Conductance:
    """Return the UA model of a table before its scale; see :func:`conductance_of`."""
    if table.rated is not None:
        r = table.rated
        m_hot = r.hot_flow * hot.density.checked(r.hot_inlet)
        m_cold = r.cold_flow * cold.density.checked(r.cold_inlet)
        return RatedUA.from_duty(
            m_hot=m_hot,
            liquid_hot=hot,
            t_hot_in=r.hot_inlet,
            m_cold=m_cold,
            liquid_cold=cold,
            t_cold_in=r.cold_inlet,
            heat=r.heat,
            arrangement=table.arrangement,
            shells=table.shells,
            film_split=r.hot_resistance_share,
            film_exponent=r.film_exponent,
            hot_drop=r.hot_drop,
            cold_drop=r.cold_drop,
        )
    if table.double_pipe is not None:
        g = table.double_pipe
        return DoublePipe(
            g.inner_bore,
            g.inner_wall,
            g.outer_bore,
            g.length,
            g.parallel,
            g.hot_inside,
            g.wall_conductivity,
            g.roughness,
            g.fouling,
        )
    if table.plate is not None:
        p = table.plate
        return BrazedPlate(
            p.plates,
            p.width,
            p.length,
            p.channel_depth,
            p.plate_thickness,
            p.chevron_angle,
            p.port_diameter,
            p.enlargement,
            p.wall_conductivity,
            p.fouling,
        )
    ua = UA_PER_POWER.value * power if table.ua is None else table.ua
    m_hot, m_cold = (ops_of(m).maximum(m, 1e-6) for m in flows)
    return GivenUA(ua * table.ua_scale, table.hot_drop, m_hot, table.cold_drop, m_cold)
