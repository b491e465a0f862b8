"""Curves of development over the whole range of temperatures, as fitted to trials.

Like the rules of `outpace.biology.temperature_response`, each gives a rate in shares of the stage per day, never below
zero, and is known only inside the temperatures it was fitted to.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from outpace.biology.inputs import FloatArray, above_zero, numbers, plain


def briere1(temperature: ArrayLike, scale: ArrayLike, lower: ArrayLike, upper: ArrayLike) -> FloatArray:
    """Return the rate of development by the first equation of Brière and others.

    Parameters
    ----------
    temperature : array of float
        [°C]
    scale : float or array of float
        *a* in the paper. [d⁻¹ °C⁻²·⁵]
    lower, upper : float or array of float
        Lower and lethal threshold, *T0* and *TL*. [°C]

    Returns
    -------
    rate : array of float
        ``a T (T - T0) sqrt(TL - T)``, 0 outside the thresholds. A fitted *T0* below 0 °C is an artefact of
        the curve: between it and 0 °C the product is negative and the rate is therefore 0. [d⁻¹]

    Raises
    ------
    ValueError
        If ``scale`` is not above zero or ``lower`` not below ``upper``.

    References
    ----------
    Briere1999, recalled.

    Examples
    --------
    >>> briere1([0.0, 20.0, 33.0], scale=1e-4, lower=5.0, upper=33.0).round(4)
    array([0.    , 0.1082, 0.    ])
    """
    return briere2(temperature, scale, lower, upper, 2.0)


def briere2(
    temperature: ArrayLike, scale: ArrayLike, lower: ArrayLike, upper: ArrayLike, root: ArrayLike
) -> FloatArray:
    """Return the rate of development by the second equation of Brière and others.

    Parameters
    ----------
    temperature : array of float
        [°C]
    scale : float or array of float
        *a* in the paper. [d⁻¹ °C^(-2-1/root)]
    lower, upper : float or array of float
        Lower and lethal threshold, *T0* and *TL*. [°C]
    root : float or array of float
        Which root of ``TL - T`` is taken; *m* (elsewhere *d*). 2 gives `briere1`.

    Returns
    -------
    rate : array of float
        ``a T (T - T0) (TL - T)^(1/m)``, never below 0, 0 outside the thresholds. [d⁻¹]

    Raises
    ------
    ValueError
        If ``scale`` or ``root`` is not above zero, or ``lower`` not below ``upper``.

    References
    ----------
    Briere1999, recalled.

    Examples
    --------
    >>> float(briere2(20.0, scale=1e-4, lower=5.0, upper=33.0, root=2.0).round(4))
    0.1082
    """
    degrees = numbers("temperature", temperature)
    low = numbers("lower", lower)
    top = numbers("upper", upper)
    if (low >= top).any():
        raise ValueError("lower must be below upper")
    power = 1.0 / above_zero("root", root)
    rise = above_zero("scale", scale) * degrees * (degrees - low)
    rate = rise * np.maximum(top - degrees, 0.0) ** power
    return plain(np.where((degrees > low) & (degrees < top), np.maximum(rate, 0.0), 0.0))


def logan6(
    temperature: ArrayLike, scale: ArrayLike, rise: ArrayLike, upper: ArrayLike, width: ArrayLike
) -> FloatArray:
    """Return the rate of development by the six-word equation of Logan and others.

    Parameters
    ----------
    temperature : array of float
        [°C]
    scale : float or array of float
        Rate at 0 °C far from the upper limit; *ψ* in the paper. [d⁻¹]
    rise : float or array of float
        Exponential rise with temperature; *ρ*. [°C⁻¹]
    upper : float or array of float
        Lethal temperature; *Tm*. [°C]
    width : float or array of float
        Width of the fall above the optimum; *ΔT*. [°C]

    Returns
    -------
    rate : array of float
        ``ψ (exp(ρT) - exp(ρTm - (Tm - T)/ΔT))``, never below 0. It stays above 0 in the cold. [d⁻¹]

    Raises
    ------
    ValueError
        If ``scale``, ``rise`` or ``width`` is not above zero.

    References
    ----------
    Logan1976, recalled.

    Examples
    --------
    >>> (1 / logan6([15.0, 20.0, 25.0], 0.037578, 0.154748, 31.412453, 5.784563)).round(2)
    array([10.15,  6.45,  5.07])
    """
    factor = above_zero("scale", scale)
    return plain(factor * np.maximum(_two_exponentials(temperature, rise, upper, width), 0.0))


def lactin1(temperature: ArrayLike, rise: ArrayLike, upper: ArrayLike, width: ArrayLike) -> FloatArray:
    """Return the rate of development by the first equation of Lactin and others.

    Parameters
    ----------
    temperature : array of float
        [°C]
    rise, upper, width : float or array of float
        As in `logan6`, whose scale is dropped; *ρ*, *Tmax*, *Δ* in the paper. [°C⁻¹, °C, °C]

    Returns
    -------
    rate : array of float
        ``exp(ρT) - exp(ρTmax - (Tmax - T)/Δ)``, never below 0. [d⁻¹]

    Raises
    ------
    ValueError
        If ``rise`` or ``width`` is not above zero.

    References
    ----------
    Lactin1995, recalled.

    Examples
    --------
    >>> float((1 / lactin1(20.0, 0.163142, 31.419509, 6.1101)).round(1))
    6.4
    """
    return plain(np.maximum(_two_exponentials(temperature, rise, upper, width), 0.0))


def lactin2(
    temperature: ArrayLike, rise: ArrayLike, upper: ArrayLike, width: ArrayLike, shift: ArrayLike
) -> FloatArray:
    """Return the rate of development by the second equation of Lactin and others.

    Parameters
    ----------
    temperature : array of float
        [°C]
    rise, upper, width : float or array of float
        As in `lactin1`. [°C⁻¹, °C, °C]
    shift : float or array of float
        Added to the rate, below zero so that the curve meets zero in the cold; *λ* in the paper. [d⁻¹]

    Returns
    -------
    rate : array of float
        ``exp(ρT) - exp(ρTmax - (Tmax - T)/Δ) + λ``, never below 0. [d⁻¹]

    Raises
    ------
    ValueError
        If ``rise`` or ``width`` is not above zero.

    References
    ----------
    Lactin1995, recalled.

    Examples
    --------
    >>> (1 / lactin2([15.0, 20.0, 25.0], 0.158712, 31.60617, 6.278001, -0.003533)).round(2)
    array([10.09,  6.44,  5.08])
    """
    rate = _two_exponentials(temperature, rise, upper, width) + numbers("shift", shift)
    return plain(np.maximum(rate, 0.0))


def gaussian(temperature: ArrayLike, peak: ArrayLike, optimum: ArrayLike, spread: ArrayLike) -> FloatArray:
    """Return the rate of development by Taylor's bell curve.

    Parameters
    ----------
    temperature : array of float
        [°C]
    peak : float or array of float
        Rate at the optimum; *R* in the paper. [d⁻¹]
    optimum : float or array of float
        *Tm*. [°C]
    spread : float or array of float
        *S*. [°C]

    Returns
    -------
    rate : array of float
        ``R exp(-((T - Tm)/S)²/2)``. It has no threshold: far outside it is small, not 0. [d⁻¹]

    Raises
    ------
    ValueError
        If ``peak`` or ``spread`` is not above zero.

    References
    ----------
    Taylor1981, recalled.

    Examples
    --------
    >>> (1 / gaussian([10.0, 20.0, 25.0], peak=0.155, optimum=26.3, spread=10.4)).round(1)
    array([22. ,  7.8,  6.5])
    """
    offset = (numbers("temperature", temperature) - numbers("optimum", optimum)) / above_zero(
        "spread", spread
    )
    return plain(above_zero("peak", peak) * np.exp(-0.5 * offset**2))


def _two_exponentials(
    temperature: ArrayLike, rise: ArrayLike, upper: ArrayLike, width: ArrayLike
) -> FloatArray:
    """Return exp(ρT) - exp(ρTm - (Tm - T)/Δ), the core that Logan's and Lactin's curves share."""
    degrees = numbers("temperature", temperature)
    slope = above_zero("rise", rise)
    top = numbers("upper", upper)
    fall = above_zero("width", width)
    if (slope * fall >= 1.0).any():
        raise ValueError("rise times width must be below 1, else the curve has no upper limit")
    # Above the upper limit the difference is negative and may be huge: hold the temperature there instead.
    held = np.minimum(degrees, top)
    difference: FloatArray = np.exp(slope * held) - np.exp(slope * top - (top - held) / fall)
    return difference
