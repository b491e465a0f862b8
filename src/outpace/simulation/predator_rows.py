"""The rows of the parameter table that stand for one predator, after those of pests, wasps and pairs."""

from __future__ import annotations

PREDATOR_ROWS = (
    "lower_threshold",  # °C
    "thermal_constant",  # °C d
    "optimum_temperature",  # °C
    "upper_temperature",  # °C
    "immature_death",  # multiplier of the death at each passage
    "share_female",  # of own brood
    "larva_loss",  # d⁻¹
    "starving_loss",  # d⁻¹, more, of larvae that find nothing
    "adult_loss",  # d⁻¹
    "eggs",  # multiplier
    "prey_per_larva",  # as oldest nymphs, over its life
    "attack_rate",  # m² leaf d⁻¹, of a larva of the hungriest stage
    "refuge_k",
    "larvae_among_prey",  # share that sits where prey sits
    "egg_half_prey",  # aphids on a leaf
    "prey_for_egg_laying",  # aphids on a leaf
    "floor_survival",  # of larvae that drop, against a soft floor
    "critical_day_length",  # h, at nights of 20 °C
    "critical_day_length_night",  # h per °C of cooler night
    "day_length_spread",  # h
    "carrier_heat",  # °C d from release to emergence
    "exchange",  # share of adults mixed over the zones each day
    "lot_emergence",  # of bought animals whose lot was not checked
    "lot_share_female",
)
(
    _,  # the first four rows are those of a pest: LOWER, CONSTANT, OPTIMUM, UPPER
    _,
    _,
    _,
    YOUNG_DEATH,
    FEMALE_SHARE,
    LARVA_LOSS,
    STARVING_LOSS,
    PREDATOR_ADULT_LOSS,
    PREDATOR_EGGS,
    PREY_PER_LARVA,
    LEAF_SEARCHED,
    PREY_REFUGE_K,
    LARVAE_AMONG_PREY,
    EGG_HALF_PREY,
    PREY_FOR_EGGS,
    FLOOR_SURVIVAL,
    CRITICAL_DAY,
    CRITICAL_DAY_NIGHT,
    DAY_SPREAD,
    PREDATOR_CARRIER_HEAT,
    PREDATOR_EXCHANGE,
    _,
    _,
) = range(len(PREDATOR_ROWS))
N_PREDATOR = len(PREDATOR_ROWS)
