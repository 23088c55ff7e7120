"""Double-pipe exchanger: conductance and pressure drop from its geometry.

Properties are taken at the temperatures that the caller gives; inlet temperatures make the film
of a stream that warms up a little low. Films are those of developed flow in smooth
passages, without entrance effects.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from thermo import films
from thermo.exchanger_checks import require, require_above
from thermo.friction import RE_LAMINAR, RE_TURBULENT, ROUND_LAMINAR, friction_factor
from thermo.ops import within
from thermo.wall import tube_wall_resistance

if TYPE_CHECKING:
    from thermo.liquids import Liquid


@dataclass(frozen=True, slots=True)
class DoublePipe:
    """Tube in a tube: one stream inside the inner tube, the other in the annulus around it.

    Attributes
    ----------
    inner_bore : float or ndarray
        Inner diameter of the inner tube [m].
    inner_wall : float or ndarray
        Wall thickness of the inner tube [m].
    outer_bore : float or ndarray
        Inner diameter of the outer tube [m].
    length : float or ndarray
        Length of one double pipe; hairpins in series count in full [m]. Their return bends, and
        the losses at the ends, belong to the fittings of the loop.
    parallel : int
        Equal double pipes that share the flow [-].
    hot_inside : bool
        Whether the hot stream runs in the inner tube and the cold one in the annulus.
    wall_conductivity : float or ndarray
        Conductivity of the inner tube; wrought aluminium alloy unless given [W/(m K)].
    roughness : float or ndarray
        Roughness of all walls, for the drop only: the films are those of smooth walls [m].
    fouling : float or ndarray
        Fouling resistance of both sides together, on the inside of the inner tube [m2 K/W].

    Raises
    ------
    RangeError
        A dimension is not positive, or the inner tube does not fit into the outer one.
    """

    inner_bore: Any
    inner_wall: Any
    outer_bore: Any
    length: Any
    parallel: int = 1
    hot_inside: bool = True
    wall_conductivity: Any = 160.0
    roughness: Any = 1.5e-6
    fouling: Any = 0.0

    def __post_init__(self) -> None:
        require_above("bore of the inner tube", self.inner_bore, "m")
        require_above("wall of the inner tube", self.inner_wall, "m")
        require_above("length of the double pipe", self.length, "m")
        require("double pipes in parallel", self.parallel, "", 1)
        require_above("conductivity of the inner tube", self.wall_conductivity, "W/(m K)")
        require("roughness of the double pipe", self.roughness, "m")
        require("fouling resistance of the double pipe", self.fouling, "m2 K/W")
        within("bore of the outer tube, around the inner tube", self.outer_bore,
               self.inner_outside, math.inf, "m", open_low=True)

    @property
    def inner_outside(self) -> Any:
        """Outer diameter of the inner tube [m]."""
        return self.inner_bore + 2.0 * self.inner_wall

    def passage(self, inner: bool) -> tuple[Any, Any]:
        """Return hydraulic diameter [m] and flow area of all pipes [m2] of one passage.

        Parameters
        ----------
        inner : bool
            True for the inner tube, False for the annulus.

        Returns
        -------
        tuple of (float or ndarray)
        """
        if inner:
            return self.inner_bore, self.parallel * 0.25 * math.pi * self.inner_bore**2
        area = 0.25 * math.pi * (self.outer_bore**2 - self.inner_outside**2)
        return self.outer_bore - self.inner_outside, self.parallel * area

    def reynolds(self, inner: bool, m: Any, liquid: Liquid, t: Any) -> Any:
        """Reynolds number of one passage.

        Parameters
        ----------
        inner : bool
            True for the inner tube, False for the annulus.
        m : float or ndarray
            Mass flow through all pipes, not negative [kg/s].
        liquid : Liquid
            What flows.
        t : float or ndarray
            Mean temperature [K].

        Returns
        -------
        float or ndarray
            Reynolds number on the hydraulic diameter [-].
        """
        diameter, area = self.passage(inner)
        return films.reynolds_of_flux(m / area, diameter, liquid.viscosity(t))

    def film(self, inner: bool, m: Any, liquid: Liquid, t: Any) -> Any:
        """Film coefficient of one passage, on the inner tube's own side.

        Parameters
        ----------
        inner : bool
            True for the inner tube, False for the annulus.
        m : float or ndarray
            Mass flow through all pipes, not negative [kg/s].
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
        re = self.reynolds(inner, m, liquid, t)
        nu = (films.nusselt_duct(re, pr) if inner else
              films.nusselt_annulus(re, pr, self.inner_outside / self.outer_bore))
        return nu * k / self.passage(inner)[0]

    def ua(
        self, m_hot: Any, liquid_hot: Liquid, t_hot: Any,
        m_cold: Any, liquid_cold: Liquid, t_cold: Any,
    ) -> Any:
        """Overall conductance; arguments as in :class:`thermo.conductance.Conductance`."""
        if self.hot_inside:
            h_in = self.film(True, m_hot, liquid_hot, t_hot)
            h_out = self.film(False, m_cold, liquid_cold, t_cold)
        else:
            h_in = self.film(True, m_cold, liquid_cold, t_cold)
            h_out = self.film(False, m_hot, liquid_hot, t_hot)
        wall = tube_wall_resistance(
            self.inner_bore, self.inner_wall, self.length, self.wall_conductivity)
        inside = math.pi * self.inner_bore * self.length
        outside = math.pi * self.inner_outside * self.length
        resistance = (1.0 / h_in + self.fouling) / inside + wall + 1.0 / (h_out * outside)
        return self.parallel / resistance

    def _drop(self, inner: bool, m: Any, liquid: Liquid, t: Any) -> Any:
        diameter, area = self.passage(inner)
        flux = m / area
        constant = ROUND_LAMINAR if inner else films.annulus_laminar_constant(
            self.inner_outside / self.outer_bore)
        re = films.reynolds_of_flux(flux, diameter, liquid.viscosity(t))
        f = friction_factor(re, self.roughness / diameter, constant)
        return f * self.length / diameter * 0.5 * flux * flux / liquid.density(t)

    def hot_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the hot side [Pa]; see :class:`thermo.conductance.Conductance`."""
        return self._drop(self.hot_inside, m, liquid, t)

    def cold_drop(self, m: Any, liquid: Liquid, t: Any) -> Any:
        """Pressure drop of the cold side [Pa]; see :class:`thermo.conductance.Conductance`."""
        return self._drop(not self.hot_inside, m, liquid, t)

    def cautions(
        self, m_hot: float, liquid_hot: Liquid, t_hot: float,
        m_cold: float, liquid_cold: Liquid, t_cold: float,
    ) -> list[str]:
        """Say which film is outside the range of its correlation."""
        found = []
        for side, m, liquid, t in (("hot", m_hot, liquid_hot, t_hot),
                                   ("cold", m_cold, liquid_cold, t_cold)):
            inner = (side == "hot") == self.hot_inside
            where = "inner tube" if inner else "annulus"
            re = float(self.reynolds(inner, m, liquid, t))
            if RE_LAMINAR < re < RE_TURBULENT:
                found.append(f"{side} side ({where}): Re {re:.0f} is between laminar and "
                             "turbulent, the film is an interpolation")
            elif re > 5e6:
                found.append(f"{side} side ({where}): Re {re:.3g} is above 5e6, the range of "
                             "the Gnielinski equation")
        return found
