"""Models of an exchanger's conductance UA: given, rated, or from geometry.

The models share one protocol, :class:`Conductance`. Those from geometry are in their own
modules and are gathered here. Temperatures in K, flows in kg/s, all flows not negative.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from thermo.brazed_plate import BrazedPlate
from thermo.double_pipe import DoublePipe
from thermo.errors import InfeasibleError
from thermo.exchanger import ARRANGEMENTS, ntu_for
from thermo.exchanger_checks import require, require_above
from thermo.ops import each, ops_of, within
from thermo.wall import overall, tube_wall_resistance, wall_resistance

if TYPE_CHECKING:
    from thermo.liquids import Liquid

__all__ = [
    "BrazedPlate", "Conductance", "DoublePipe", "GivenUA", "RatedUA", "ScaledUA", "drop_at",
    "overall", "tube_wall_resistance", "wall_resistance",
]

DROP_EXPONENT = 1.8
"""Pressure drop against flow in smooth turbulent passages, ``f ~ Re^-0.2`` (common practice)."""

RATED_FLOW_RANGE = (0.3, 3.0)
"""Flow over rated flow within which one film exponent may be trusted (common practice)."""


class Conductance(Protocol):
    """What the cooling loop asks of an exchanger, whichever way it is described."""

    def ua(
        self, m_hot: Any, liquid_hot: Liquid, t_hot: Any,
        m_cold: Any, liquid_cold: Liquid, t_cold: Any,
    ) -> Any:
        """Overall conductance.

        Parameters
        ----------
        m_hot, m_cold : float or ndarray
            Mass flows [kg/s].
        liquid_hot, liquid_cold : Liquid
            What flows on each side.
        t_hot, t_cold : float or ndarray
            Temperatures at which properties are taken [K].

        Returns
        -------
        float or ndarray
            Conductance [W/K].
        """
        ...

    def hot_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the hot side.

        Parameters
        ----------
        m : float or ndarray
            Mass flow [kg/s].
        liquid : Liquid
            What flows.
        t : float or ndarray
            Temperature at which properties are taken [K].

        Returns
        -------
        float or ndarray
            Pressure drop [Pa].
        """
        ...

    def cold_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the cold side; arguments and return as for :meth:`hot_drop`."""
        ...

    def cautions(
        self, m_hot: float, liquid_hot: Liquid, t_hot: float,
        m_cold: float, liquid_cold: Liquid, t_cold: float,
    ) -> list[str]:
        """Say where a correlation is used outside its range.

        Parameters
        ----------
        m_hot, m_cold : float
            Mass flows [kg/s].
        liquid_hot, liquid_cold : Liquid
            What flows on each side.
        t_hot, t_cold : float
            Temperatures at which properties are taken [K].

        Returns
        -------
        list of str
            One sentence each, empty when all is in range.
        """
        ...


def drop_at(m: Any, drop_rated: Any, flow_rated: Any) -> Any:
    """Pressure drop scaled from a rated point.

    Parameters
    ----------
    m : float or ndarray
        Mass flow, not negative [kg/s].
    drop_rated : float or ndarray
        Drop at the rated flow [Pa].
    flow_rated : float or ndarray
        Rated mass flow, above 0 [kg/s].

    Returns
    -------
    float or ndarray
        Pressure drop ``drop_rated (m/flow_rated)^1.8`` [Pa]. The change of viscosity and
        density with temperature is left out.

    References
    ----------
    Smooth turbulent friction, ``f ~ Re^-0.2`` (common practice).
    """
    return drop_rated * (m / flow_rated) ** DROP_EXPONENT


@dataclass(frozen=True, slots=True)
class GivenUA:
    """A conductance that is simply given and holds at every flow.

    Attributes
    ----------
    conductance : float or ndarray
        Overall conductance, not negative [W/K].
    hot_drop_rated, cold_drop_rated : float or ndarray
        Pressure drop of each side at its rated flow; 0 for none [Pa].
    hot_flow_rated, cold_flow_rated : float or ndarray
        Flow at which that drop holds [kg/s]; not used where the drop is 0.

    Raises
    ------
    RangeError
        A value is negative, or a drop comes without a rated flow.
    """

    conductance: Any
    hot_drop_rated: Any = 0.0
    hot_flow_rated: Any = 1.0
    cold_drop_rated: Any = 0.0
    cold_flow_rated: Any = 1.0

    def __post_init__(self) -> None:
        require("conductance of the exchanger", self.conductance, "W/K")
        _require_drops(self)

    def ua(
        self, m_hot: Any, liquid_hot: Liquid, t_hot: Any,
        m_cold: Any, liquid_cold: Liquid, t_cold: Any,
    ) -> Any:
        """Overall conductance [W/K], as given; see :class:`Conductance`."""
        return self.conductance

    def hot_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the hot side [Pa]; see :func:`drop_at`."""
        return drop_at(m, self.hot_drop_rated, self.hot_flow_rated)

    def cold_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the cold side [Pa]; see :func:`drop_at`."""
        return drop_at(m, self.cold_drop_rated, self.cold_flow_rated)

    def cautions(
        self, m_hot: float, liquid_hot: Liquid, t_hot: float,
        m_cold: float, liquid_cold: Liquid, t_cold: float,
    ) -> list[str]:
        """Return nothing: a given conductance has no range of its own."""
        return []


@dataclass(frozen=True, slots=True)
class RatedUA:
    """A conductance known at one duty point and carried to other flows by its films.

    The rated resistance is split into a hot film, a wall and a cold film; each film
    coefficient goes with its own flow to the power `film_exponent`.

    Attributes
    ----------
    ua_rated : float or ndarray
        Conductance at the rated flows, above 0 [W/K]; see :meth:`from_duty`.
    hot_flow_rated, cold_flow_rated : float or ndarray
        Rated mass flows, above 0 [kg/s].
    film_split : float or ndarray
        Share of the hot film in the resistance of both films, 0 to 1 [-].
    wall_share : float or ndarray
        Share of wall and fouling in the whole resistance, 0 to 0.9 [-].
    film_exponent : float or ndarray
        Film coefficient against flow, 0 to 1: 0.8 in turbulent tubes, 0.65 to 0.75 between
        plates (common practice) [-].
    hot_drop_rated, cold_drop_rated : float or ndarray
        Pressure drop of each side at its rated flow; 0 for none [Pa].

    Raises
    ------
    RangeError
        A value is outside its range.

    References
    ----------
    Series resistances with ``h ~ m^n``, the idea of the Wilson plot (1915).
    """

    ua_rated: Any
    hot_flow_rated: Any
    cold_flow_rated: Any
    film_split: Any = 0.5
    wall_share: Any = 0.05
    film_exponent: Any = 0.8
    hot_drop_rated: Any = 0.0
    cold_drop_rated: Any = 0.0

    def __post_init__(self) -> None:
        require_above("rated conductance", self.ua_rated, "W/K")
        require_above("rated hot flow", self.hot_flow_rated, "kg/s")
        require_above("rated cold flow", self.cold_flow_rated, "kg/s")
        require("share of the hot film", self.film_split, "", 0.0, 1.0)
        require("share of the wall", self.wall_share, "", 0.0, 0.9)
        require("film exponent", self.film_exponent, "", 0.0, 1.0)
        _require_drops(self)

    @classmethod
    def from_duty(
        cls, *, m_hot: Any, liquid_hot: Liquid, t_hot_in: Any,
        m_cold: Any, liquid_cold: Liquid, t_cold_in: Any, heat: Any,
        arrangement: str = "counterflow", shells: int = 1, film_split: Any = 0.5,
        wall_share: Any = 0.05, film_exponent: Any = 0.8,
        hot_drop: Any = 0.0, cold_drop: Any = 0.0,
    ) -> RatedUA:
        """Find the conductance of a duty point by inverting effectiveness-NTU.

        Specific heats are those at the inlets, as in the loop model, so that the loop gives
        back the rated heat at the rated point.

        Parameters
        ----------
        m_hot, m_cold : float or ndarray
            Rated mass flows [kg/s].
        liquid_hot, liquid_cold : Liquid
            What flowed on each side when the duty was rated.
        t_hot_in, t_cold_in : float or ndarray
            Inlet temperatures [K].
        heat : float or ndarray
            Rated heat, above 0 [W].
        arrangement : str
            A name in ``thermo.exchanger.ARRANGEMENTS``.
        shells : int
            Shells in series (shell-and-tube only).
        film_split, wall_share, film_exponent : float
            As the attributes [-].
        hot_drop, cold_drop : float
            Pressure drops at the rated flows [Pa].

        Returns
        -------
        RatedUA

        Raises
        ------
        RangeError
            A flow or the heat is not positive, or the hot inlet is not the warmer one.
        InfeasibleError
            No exchanger of this arrangement passes that heat; ``best`` is the most [W].
        """
        require_above("rated hot flow", m_hot, "kg/s")
        require_above("rated cold flow", m_cold, "kg/s")
        require_above("rated heat", heat, "W")
        within("rated hot inlet, above the cold inlet", t_hot_in, t_cold_in, math.inf, "K",
               open_low=True)
        c_hot = m_hot * liquid_hot.specific_heat(t_hot_in)
        c_cold = m_cold * liquid_cold.specific_heat(t_cold_in)
        ua = each(lambda hot, cold, lift, q: _rated_ua(arrangement, shells, (hot, cold), lift, q),
                  c_hot, c_cold, t_hot_in - t_cold_in, heat)
        return cls(ua, m_hot, m_cold, film_split, wall_share, film_exponent, hot_drop, cold_drop)

    def ua(
        self, m_hot: Any, liquid_hot: Liquid, t_hot: Any,
        m_cold: Any, liquid_cold: Liquid, t_cold: Any,
    ) -> Any:
        """Overall conductance at other flows [W/K], 0 at rest; see :class:`Conductance`.

        The change of the films with temperature is left out.
        """
        # A trial step too far out, which is not kept, may ask at a density below zero.
        hot, cold = (
            ops_of(share).maximum(share, 0.0) ** self.film_exponent
            for share in (m_hot / self.hot_flow_rated, m_cold / self.cold_flow_rated)
        )
        films = 1.0 - self.wall_share
        resistance = (films * self.film_split * cold + self.wall_share * hot * cold
                      + films * (1.0 - self.film_split) * hot)
        # Both flows at rest: 0/0, and no conductance.
        return self.ua_rated * hot * cold / ops_of(resistance).maximum(resistance, 1e-300)

    def hot_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the hot side [Pa]; see :func:`drop_at`."""
        return drop_at(m, self.hot_drop_rated, self.hot_flow_rated)

    def cold_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the cold side [Pa]; see :func:`drop_at`."""
        return drop_at(m, self.cold_drop_rated, self.cold_flow_rated)

    def cautions(
        self, m_hot: float, liquid_hot: Liquid, t_hot: float,
        m_cold: float, liquid_cold: Liquid, t_cold: float,
    ) -> list[str]:
        """Say which flow is too far from its rated flow."""
        low, high = RATED_FLOW_RANGE
        found = []
        for side, m, rated in (("hot", m_hot, self.hot_flow_rated),
                               ("cold", m_cold, self.cold_flow_rated)):
            ratio = float(m / rated)
            if m > 0.0 and not low <= ratio <= high:
                found.append(f"{side} side: the rated conductance is carried to {ratio:.2g} "
                             f"times its rated flow, outside {low:g} to {high:g}")
        return found


def _rated_ua(
    arrangement: str, shells: int, capacity: tuple[float, float], lift: float, heat: float
) -> float:
    """Return the conductance [W/K] that passes a heat [W] between capacity rates [W/K]."""
    c_min, c_max = min(capacity), max(capacity)
    cr, hot_is_min = c_min / c_max, capacity[0] <= capacity[1]
    most = c_min * lift
    ceiling = ARRANGEMENTS[arrangement].ceiling(cr, shells, hot_is_min)
    if heat >= most * ceiling:
        raise InfeasibleError(
            f"rated heat {heat:.6g} W is out of reach: at these flows and inlets an endless "
            f"{arrangement} exchanger passes {most * ceiling:.6g} W",
            best=most * ceiling,
        )
    return ntu_for(arrangement, heat / most, cr, shells, hot_is_min) * c_min


@dataclass(frozen=True, slots=True)
class ScaledUA:
    """Another model's conductance times a factor, as a logged pass has shown it.

    Attributes
    ----------
    model : Conductance
        What is scaled; its drops and cautions hold as they are.
    scale : float or ndarray
        Conductance in the car over the model's, above 0 [-].

    Raises
    ------
    RangeError
        The scale is not positive.
    """

    model: Conductance
    scale: Any

    def __post_init__(self) -> None:
        require_above("scale of the conductance", self.scale, "")

    def ua(
        self, m_hot: Any, liquid_hot: Liquid, t_hot: Any,
        m_cold: Any, liquid_cold: Liquid, t_cold: Any,
    ) -> Any:
        """Overall conductance [W/K]; see :class:`Conductance`."""
        return self.scale * self.model.ua(m_hot, liquid_hot, t_hot, m_cold, liquid_cold, t_cold)

    def hot_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the hot side [Pa]; see :class:`Conductance`."""
        return self.model.hot_drop(m, liquid, t)

    def cold_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the cold side [Pa]; see :class:`Conductance`."""
        return self.model.cold_drop(m, liquid, t)

    def cautions(
        self, m_hot: float, liquid_hot: Liquid, t_hot: float,
        m_cold: float, liquid_cold: Liquid, t_cold: float,
    ) -> list[str]:
        """Return the model's own cautions; see :class:`Conductance`."""
        return self.model.cautions(m_hot, liquid_hot, t_hot, m_cold, liquid_cold, t_cold)


def _require_drops(model: GivenUA | RatedUA) -> None:
    require("rated drop of the hot side", model.hot_drop_rated, "Pa")
    require("rated drop of the cold side", model.cold_drop_rated, "Pa")
    require_above("rated flow of the hot side", model.hot_flow_rated, "kg/s")
    require_above("rated flow of the cold side", model.cold_flow_rated, "kg/s")
