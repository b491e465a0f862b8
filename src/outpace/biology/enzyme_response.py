"""Development as the work of one enzyme that cold and heat put out of action."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from outpace.biology.inputs import FloatArray, above_zero, numbers, plain

GAS_CONSTANT = 8.314462618
"""Molar gas constant, exact in the SI since 2019. [J mol⁻¹ K⁻¹]"""

ZERO_CELSIUS = 273.15
"""0 °C. [K]"""

REFERENCE_TEMPERATURE = 25.0
"""Temperature at which `sharpe_schoolfield` takes its reference rate; the paper's 298.15 K. [°C]"""


def sharpe_schoolfield(
    temperature: ArrayLike,
    reference_rate: ArrayLike,
    activation: ArrayLike,
    cold_energy: ArrayLike,
    cold_half: ArrayLike,
    heat_energy: ArrayLike,
    heat_half: ArrayLike,
) -> FloatArray:
    """Return the rate of development by the enzyme model of Sharpe and DeMichele, in Schoolfield's form.

    Parameters
    ----------
    temperature : array of float
        [°C]
    reference_rate : float or array of float
        Rate at 25 °C if no enzyme were inactive; *ρ(25 °C)* in the paper. [d⁻¹]
    activation : float or array of float
        Enthalpy of activation; *ΔH‡A*. [J mol⁻¹]
    cold_energy, heat_energy : float or array of float
        Sizes of the enthalpy changes of cold and heat inactivation, both above zero; *-ΔHL* and *ΔHH*. [J
        mol⁻¹]
    cold_half, heat_half : float or array of float
        Temperatures at which half the enzyme is inactive; *T½L* and *T½H*, here in Celsius. [°C]

    Returns
    -------
    rate : array of float
        Above 0 everywhere, small outside the two half temperatures. [d⁻¹]

    Raises
    ------
    ValueError
        If a rate or an energy is not above zero, ``cold_half`` not below ``heat_half``, or a temperature is
        at or under absolute zero.

    References
    ----------
    Sharpe1977; Schoolfield1981; recalled.

    Examples
    --------
    >>> sharpe_schoolfield([10.0, 25.0, 36.0], 0.2, 50e3, 200e3, 8.0, 400e3, 33.0).round(4)
    array([0.0422, 0.1956, 0.076 ])
    """
    kelvin = numbers("temperature", temperature) + ZERO_CELSIUS
    cold = numbers("cold_half", cold_half) + ZERO_CELSIUS
    heat = numbers("heat_half", heat_half) + ZERO_CELSIUS
    if (kelvin <= 0.0).any() or (cold <= 0.0).any():
        raise ValueError("temperatures must lie above absolute zero")
    if (cold >= heat).any():
        raise ValueError("cold_half must be below heat_half")
    reference = REFERENCE_TEMPERATURE + ZERO_CELSIUS
    drive = above_zero("activation", activation) / GAS_CONSTANT * (1.0 / reference - 1.0 / kelvin)
    frozen = -above_zero("cold_energy", cold_energy) / GAS_CONSTANT * (1.0 / cold - 1.0 / kelvin)
    cooked = above_zero("heat_energy", heat_energy) / GAS_CONSTANT * (1.0 / heat - 1.0 / kelvin)
    # In logarithms, so that neither end overflows.
    inactive = np.logaddexp(0.0, np.logaddexp(frozen, cooked))
    warmth = kelvin / reference
    return plain(above_zero("reference_rate", reference_rate) * warmth * np.exp(drive - inactive))
