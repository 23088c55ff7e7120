"""Hot liquid let out to the open: how much of it turns to steam at once."""

from __future__ import annotations

from typing import Any

from thermo.liquids import Liquid
from thermo.ops import ops_of


def flash_share(enthalpy: Any, boiling_enthalpy: Any, latent_heat: Any) -> Any:
    """Share of a liquid that flashes when its pressure is let off. [poly]

    Parameters
    ----------
    enthalpy : float or ndarray
        Specific enthalpy of the liquid before [J/kg].
    boiling_enthalpy : float or ndarray
        Of liquid boiling at the pressure after [J/kg].
    latent_heat : float or ndarray
        At the pressure after [J/kg].

    Returns
    -------
    float or ndarray
        Mass share that becomes steam [-]: (h1 - hf2)/hfg2, isenthalpic; zero for liquid that
        is cooler than boiling at the pressure after.
    """
    xp = ops_of(enthalpy, boiling_enthalpy, latent_heat)
    return xp.maximum(0.0, (enthalpy - boiling_enthalpy) / latent_heat)


def flash_to_ambient(liquid: Liquid, temperature: Any, pressure: Any) -> Any:
    """Share of a coolant that flashes when a hose or the cap lets go. [poly]

    Parameters
    ----------
    liquid : Liquid
        What the circuit holds.
    temperature : float or ndarray
        Its temperature [K].
    pressure : float or ndarray
        Ambient pressure [Pa].

    Returns
    -------
    float or ndarray
        Mass share [-]. Of a mixture, the latent heat is that of its water and the change of
        its boiling point as water leaves is neglected; good for shares below 0.1.
    """
    boils = liquid.saturation_temperature(pressure)
    return flash_share(
        liquid.enthalpy(temperature), liquid.enthalpy(boils), liquid.latent_heat(boils)
    )
