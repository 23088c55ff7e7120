"""Pulsating engine draw: how much more a duct loses than in steady flow at the same mean."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from thermo.ops import Real

PULSE_DURATION = 240.0
"""Crank angle of one induction pulse [deg], common practice: a little over the 180 degrees of the
stroke, as the valve opens early and shuts late. Gives 3.70, 1.85, 1.23 and 1.01 for one to four
cylinders of a four-stroke."""

PLENUM_DAMPING = 0.5**0.5
"""Damping ratio of duct and plenum [-], common practice: 0.71 has no resonant peak, as organ-pipe
and resonance tuning are outside this model."""

_HARMONICS = 64
"""Harmonics summed. Their squares fall with the fourth power: the rest is below 1e-5."""

_CHUNK = 512
"""Frequency ratios taken at a time, so that their harmonics stay in the cache."""


def harmonic_amplitudes(
    cylinders: int, revs_per_intake: float = 2.0, duration: float = PULSE_DURATION
) -> npt.NDArray[np.float64]:
    """Return the harmonics of the induction flow over its mean.

    Parameters
    ----------
    cylinders : int
        Cylinders that draw from the duct, evenly spaced, 1 or more.
    revs_per_intake : float, optional
        Crank turns for each intake of one cylinder: 2 four-stroke, 1 two-stroke [-].
    duration : float, optional
        Crank angle of one half-sine pulse, above 0 and up to the cycle [deg].

    Returns
    -------
    ndarray, shape (64,)
        Fourier coefficient k = 1, 2, ... (multiples of the induction frequency) over the mean,
        cos(pi k x)/(1 - (2 k x)^2) with x = cylinders times duration over cycle [-].

    Notes
    -----
    Fourier series of a half-sine pulse; evenly spaced pulses leave only the multiples of the
    number of cylinders. Closed form, valid with overlapping pulses too.
    """
    share = cylinders * duration / (360.0 * revs_per_intake)
    turn = 2.0 * share * np.arange(1, _HARMONICS + 1)
    removable = np.abs(turn - 1.0) < 1e-6
    below = np.where(removable, 1.0, 1.0 - turn * turn)
    return np.where(removable, 0.25 * np.pi, np.cos(0.5 * np.pi * turn) / below)


def induction_frequency(cylinders: int, rpm: Real, revs_per_intake: float = 2.0) -> Real:
    """Return the frequency of the induction pulses.

    Parameters
    ----------
    cylinders : int
        Cylinders that draw from the duct.
    rpm : float or ndarray
        Engine speed [1/min].
    revs_per_intake : float, optional
        Crank turns for each intake of one cylinder: 2 four-stroke, 1 two-stroke [-].

    Returns
    -------
    float or ndarray
        Frequency [Hz].
    """
    return cylinders * rpm / (60.0 * revs_per_intake)


def plenum_frequency(
    sound_speed: Real, duct_area: Real, duct_length: Real, plenum_volume: Real
) -> Real:
    """Return the natural frequency of the air in the duct on the spring of the plenum.

    Parameters
    ----------
    sound_speed : float or ndarray
        Speed of sound of the air in the plenum [m/s].
    duct_area : float or ndarray
        Flow area of the duct, all parallel paths together [m2].
    duct_length : float or ndarray
        Length of the duct [m].
    plenum_volume : float or ndarray
        Volume between duct and engine, above 0 [m3].

    Returns
    -------
    float or ndarray
        (a/2 pi) sqrt(A/(L V)) [Hz].

    Notes
    -----
    Helmholtz resonator, e.g. Kinsler and Frey, Fundamentals of Acoustics, ch. 10 (from memory).
    """
    frequency: Real = sound_speed / (2.0 * np.pi) * (
        duct_area / (duct_length * plenum_volume)
    ) ** 0.5
    return frequency


def pulsation_factor(
    cylinders: int,
    frequency_ratio: Real = 0.0,
    revs_per_intake: float = 2.0,
    duration: float = PULSE_DURATION,
    damping: float = PLENUM_DAMPING,
) -> Real:
    """Return mean(m^2)/mean(m)^2 in the duct, by which its loss exceeds the steady one.

    Parameters
    ----------
    cylinders : int
        Cylinders that draw from the duct, evenly spaced, 1 or more.
    frequency_ratio : float or ndarray, optional
        Induction frequency over the natural frequency of duct and plenum; 0 without a plenum
        [-].
    revs_per_intake : float, optional
        Crank turns for each intake of one cylinder: 2 four-stroke, 1 two-stroke [-].
    duration : float, optional
        Crank angle of one half-sine pulse [deg].
    damping : float, optional
        Damping ratio of duct and plenum [-].

    Returns
    -------
    float or ndarray
        Factor, 1 or more [-].

    Notes
    -----
    Parseval's sum over :func:`harmonic_amplitudes`, each harmonic k passed through one degree of
    freedom, gain^2 = 1/((1 - (k r)^2)^2 + (2 zeta k r)^2). A first estimate: the wave motion of a
    long duct is not in it, and the loss is taken as quasi-steady, with the square of the flow.
    """
    amplitude = harmonic_amplitudes(cylinders, revs_per_intake, duration)
    order = np.arange(1, _HARMONICS + 1)
    ratio = np.asarray(frequency_ratio, dtype=np.float64)
    sums = np.empty(ratio.size)
    for begin in range(0, ratio.size, _CHUNK):
        some = slice(begin, begin + _CHUNK)
        square = np.square(np.multiply.outer(ratio.ravel()[some], order))
        gain = 1.0 / ((1.0 - square) ** 2 + 4.0 * damping * damping * square)
        sums[some] = np.sum(gain * amplitude * amplitude, axis=-1)
    factor: Real = (1.0 + 2.0 * sums.reshape(ratio.shape))[()]
    return factor
