"""Brazed plate exchanger: conductance and pressure drop from its geometry.

Properties are taken at the temperatures that the caller gives; inlet temperatures make the film
of a stream that warms up a little low. A side at rest has no film, and no
heat flows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from thermo import films
from thermo.exchanger_checks import require, require_above
from thermo.friction import RE_FLOOR
from thermo.ops import ops_of
from thermo.wall import overall, wall_resistance

if TYPE_CHECKING:
    from thermo.liquids import Liquid

PORT_LOSS = 1.4
"""Velocity heads lost in the ports of a plate pack, inlet and outlet together, on one side.

Shah & Focke (1988); Kakac & Liu, Heat Exchangers, chapter on plate exchangers; from memory.
"""


@dataclass(frozen=True, slots=True)
class BrazedPlate:
    """Brazed pack of chevron plates, one pass a side, streams in counterflow or parallel.

    The number of channels is one less than that of plates and the cold side has the odd one
    out. The two end plates pass no heat.

    Attributes
    ----------
    plates : int
        Number of plates with both end plates, at least 3 [-].
    width : float or ndarray
        Width of the flow channel [m].
    port_length : float or ndarray
        Length from port centre to port centre along the flow [m].
    channel_depth : float or ndarray
        Depth of the pressing, the mean gap between plates [m].
    plate_thickness : float or ndarray
        Thickness of a plate [m].
    chevron_angle : float
        Angle between the corrugations and the main flow direction, 10 to 80 degrees, in rad:
        0 is along the flow. The larger, the more heat and the more drop.
    port_diameter : float or ndarray
        Inner diameter of the ports [m].
    enlargement : float or ndarray
        Developed over projected plate area, 1 to 1.6 [-].
    wall_conductivity : float or ndarray
        Conductivity of the plates; austenitic stainless steel unless given [W/(m K)].
    fouling : float or ndarray
        Fouling resistance of both sides together [m2 K/W].

    Raises
    ------
    RangeError
        A dimension is outside its range.

    References
    ----------
    Martin (1996); VDI Heat Atlas 2e, section M6; Kakac & Liu, Heat Exchangers.
    """

    plates: int
    width: Any
    port_length: Any
    channel_depth: Any
    plate_thickness: Any
    chevron_angle: float
    port_diameter: Any
    enlargement: Any = 1.2
    wall_conductivity: Any = 16.0
    fouling: Any = 0.0

    def __post_init__(self) -> None:
        require("number of plates", self.plates, "", 3)
        require_above("width of the plates", self.width, "m")
        require_above("length between ports", self.port_length, "m")
        require_above("depth of the channels", self.channel_depth, "m")
        require_above("thickness of the plates", self.plate_thickness, "m")
        require_above("diameter of the ports", self.port_diameter, "m")
        require("chevron angle from the flow direction", math.degrees(self.chevron_angle),
                "deg", 10.0, 80.0)
        require("enlargement of the plates", self.enlargement, "", 1.0, 1.6)
        require_above("conductivity of the plates", self.wall_conductivity, "W/(m K)")
        require("fouling resistance of the plates", self.fouling, "m2 K/W")

    @property
    def area(self) -> Any:
        """Heat-passing area, developed [m2]."""
        return (self.plates - 2) * self.enlargement * self.width * self.port_length

    @property
    def hydraulic_diameter(self) -> Any:
        """Hydraulic diameter of a channel, twice the depth over the enlargement [m]."""
        return 2.0 * self.channel_depth / self.enlargement

    @property
    def hot_channels(self) -> int:
        """Channels of the hot side [-]."""
        return (self.plates - 1) // 2

    @property
    def cold_channels(self) -> int:
        """Channels of the cold side [-]."""
        return self.plates // 2

    def _flux(self, m: Any, channels: int) -> Any:
        return m / (channels * self.channel_depth * self.width)

    def reynolds(self, m: Any, channels: int, liquid: Liquid, t: Any) -> Any:
        """Reynolds number of one side.

        Parameters
        ----------
        m : float or ndarray
            Mass flow of this side, not negative [kg/s].
        channels : int
            Its number of channels, ``hot_channels`` or ``cold_channels`` [-].
        liquid : Liquid
            What flows.
        t : float or ndarray
            Mean temperature [K].

        Returns
        -------
        float or ndarray
            Reynolds number on the hydraulic diameter [-]; a flow at rest reads 0.001, so that
            the laminar friction law stays finite.
        """
        re = films.reynolds_of_flux(
            self._flux(m, channels), self.hydraulic_diameter, liquid.viscosity(t))
        return ops_of(re).maximum(re, RE_FLOOR)

    def film(self, m: Any, channels: int, liquid: Liquid, t: Any) -> Any:
        """Film coefficient of one side, on the developed area.

        Parameters
        ----------
        m : float or ndarray
            Mass flow of this side, not negative [kg/s].
        channels : int
            Its number of channels, ``hot_channels`` or ``cold_channels`` [-].
        liquid : Liquid
            What flows.
        t : float or ndarray
            Mean temperature [K].

        Returns
        -------
        float or ndarray
            Film coefficient [W/(m2 K)].
        """
        k = liquid.conductivity(t)
        pr = films.prandtl(liquid.specific_heat(t), liquid.viscosity(t), k)
        re = self.reynolds(m, channels, liquid, t)
        friction = films.martin_friction(re, self.chevron_angle)
        nu = films.martin_nusselt(re, pr, self.chevron_angle, friction)
        return nu * k / self.hydraulic_diameter

    def ua(
        self, m_hot: Any, liquid_hot: Liquid, t_hot: Any,
        m_cold: Any, liquid_cold: Liquid, t_cold: Any,
    ) -> Any:
        """Overall conductance; arguments as in :class:`thermo.conductance.Conductance`."""
        wall = wall_resistance(self.plate_thickness, self.wall_conductivity)
        return self.area * overall(
            self.film(m_hot, self.hot_channels, liquid_hot, t_hot),
            self.film(m_cold, self.cold_channels, liquid_cold, t_cold),
            wall + self.fouling,
        )

    def _drop(self, m: Any, channels: int, liquid: Liquid, t: Any) -> Any:
        friction = films.martin_friction(
            self.reynolds(m, channels, liquid, t), self.chevron_angle)
        flux = self._flux(m, channels)
        port_flux = m / (0.25 * math.pi * self.port_diameter**2)
        heads = (friction * self.port_length / self.hydraulic_diameter * flux * flux
                 + PORT_LOSS * port_flux * port_flux)
        return 0.5 * heads / liquid.density(t)

    def hot_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the hot side [Pa]; see :class:`thermo.conductance.Conductance`."""
        return self._drop(m, self.hot_channels, liquid, t)

    def cold_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the cold side [Pa]; see :class:`thermo.conductance.Conductance`."""
        return self._drop(m, self.cold_channels, liquid, t)

    def cautions(
        self, m_hot: float, liquid_hot: Liquid, t_hot: float,
        m_cold: float, liquid_cold: Liquid, t_cold: float,
    ) -> list[str]:
        """Say which side is outside the range of Martin's correlation."""
        low, high = films.PLATE_RE_RANGE
        found = []
        for side, m, channels, liquid, t in (
            ("hot", m_hot, self.hot_channels, liquid_hot, t_hot),
            ("cold", m_cold, self.cold_channels, liquid_cold, t_cold),
        ):
            re = float(self.reynolds(m, channels, liquid, t))
            if m > 0.0 and not low <= re <= high:
                found.append(f"{side} side: Re {re:.0f} in the plate channels is outside "
                             f"{low:.0f} to {high:.0f}, the range of the plate correlation")
        return found
