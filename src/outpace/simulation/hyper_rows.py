"""The rows of the parameter table that stand for one hyperparasitoid, after those of predators."""

from __future__ import annotations

HYPER_ROWS = (
    "lower_threshold",  # °C
    "thermal_constant",  # °C d
    "optimum_temperature",  # °C
    "upper_temperature",  # °C
    "survive",  # a passage from one substage in the mummy to the next
    "share_female",
    "adult_loss",  # d⁻¹
    "eggs_per_day",  # at the reference temperature
    "attack_rate",  # m² leaf d⁻¹, at the reference temperature
    "handling_time",  # d
    "refuge_k",
    "pace",  # of development at the reference temperature [d⁻¹]
    "exchange",  # share of females mixed over the zones each day
)
(
    _,  # the first four rows are those of a pest: LOWER, CONSTANT, OPTIMUM, UPPER
    _,
    _,
    _,
    HYPER_SURVIVE,
    HYPER_FEMALE,
    HYPER_LOSS,
    HYPER_EGGS,
    HYPER_SEARCH,
    HYPER_HANDLING,
    HYPER_REFUGE_K,
    HYPER_PACE,
    HYPER_EXCHANGE,
) = range(len(HYPER_ROWS))
N_HYPER = len(HYPER_ROWS)
