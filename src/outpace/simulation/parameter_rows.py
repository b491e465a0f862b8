"""The rows of the parameter table: first those of each pest, then of each enemy, then of each accepted pair.

Every row holds one value per member. The kernel reads the table by the numbers below; people and other
layers read it by name through `outpace.simulation.parameters.Parameters`.
"""

from __future__ import annotations

LEARNABLE = ("log_growth", "log_attack", "log_immigration", "log_clumping")
"""The rows of a pest that counts re-estimate; 0 where the books are right."""

PEST_ROWS = (
    "lower_threshold",  # °C
    "thermal_constant",  # °C d
    "optimum_temperature",  # °C
    "upper_temperature",  # °C
    "log_growth",  # of the rate of increase
    "log_attack",  # of the area searched by the enemies of this pest
    "log_immigration",
    "log_clumping",  # above zero: more clumped than Taylor's law says
    "growth_leverage",  # change of log births that doubles the rate of increase, per doubling less one
    "fecundity",  # multiplier, crop included
    "pre_reproductive",  # of the time from birth to adult
    "life",  # multiplier
    "mortality",  # multiplier of the death at each passage
    "winged_least",  # share of moults to adult
    "winged_more",  # added when crowded
    "winged_half",  # aphids per leaf
    "winged_births",  # multiplier
    "winged_leaving",  # share of the winged that leave the house
    "winged_flight",  # d
    "ceiling",  # aphids per leaf
    "ceiling_loss",  # d⁻¹, at the ceiling
    "unexplained_loss",  # d⁻¹
    "immigration",  # winged per m² and day
    "honeydew_half",  # aphids per leaf
    "taylor_a",
    "taylor_b",
    "growth_swing",  # s.d. of the swings of log growth
    "attack_swing",  # s.d. of the swings of log attack
    "swing_time",  # d
    "exchange",  # share of flying winged that goes to other zones each day
    "walking",  # share of oldest nymphs and wingless adults that leave their plant on a day, on a crowded one
    "walking_half",  # aphids per plant at which half as many do
)
ENEMY_ROWS = (
    "lower_threshold",  # °C
    "thermal_constant",  # °C d
    "optimum_temperature",  # °C
    "upper_temperature",  # °C
    "mummy_share",  # of egg to adult spent before the mummy
    "immature_death",  # multiplier of the death at each passage
    "share_female",  # of own brood
    "adult_loss",  # d⁻¹
    "eggs",  # multiplier
    "attack_rate",  # m² leaf d⁻¹
    "handling_time",  # d
    "interference",
    "avoidance",  # of aphids already stung
    "refuge_k",
    "carrier_heat",  # °C d from release to emergence
    "mummy_fall",  # d⁻¹
    "exchange",  # share of females that goes to other zones each day
    "lot_emergence",  # of bought animals whose lot was not checked
    "lot_share_female",
    "attraction",  # of hosts: a zone with twice the hosts to a leaf draws so much more
    "hungry_loss",  # d⁻¹, more where there is no honeydew
    "food_half",  # aphids per leaf at which half of that loss is spared
    "rest_share",  # of mummies formed in short and cold days, that rest until spring
    "rest_day_length",  # h
    "rest_temperature",  # °C
)
PAIR_ROWS = (
    "acceptance",
    "slowness",  # multiplier of the time as a living stung aphid
)

(
    LOWER,
    CONSTANT,
    OPTIMUM,
    UPPER,
    LOG_GROWTH,
    LOG_ATTACK,
    LOG_IMMIGRATION,
    LOG_CLUMPING,
    GROWTH_LEVERAGE,
    FECUNDITY,
    PRE_REPRODUCTIVE,
    LIFE,
    MORTALITY,
    WINGED_LEAST,
    WINGED_MORE,
    WINGED_HALF,
    WINGED_BIRTHS,
    WINGED_LEAVING,
    WINGED_FLIGHT,
    CEILING,
    CEILING_LOSS,
    UNEXPLAINED_LOSS,
    IMMIGRATION,
    HONEYDEW_HALF,
    TAYLOR_A,
    TAYLOR_B,
    GROWTH_SWING,
    ATTACK_SWING,
    SWING_TIME,
    PEST_EXCHANGE,
    WALKING,
    WALKING_HALF,
) = range(len(PEST_ROWS))

(
    _,  # the first four rows of an enemy are those of a pest: LOWER, CONSTANT, OPTIMUM, UPPER
    _,
    _,
    _,
    MUMMY_SHARE,
    IMMATURE_DEATH,
    SHARE_FEMALE,
    ADULT_LOSS,
    EGGS,
    ATTACK_RATE,
    HANDLING_TIME,
    INTERFERENCE,
    AVOIDANCE,
    REFUGE_K,
    CARRIER_HEAT,
    MUMMY_FALL,
    ENEMY_EXCHANGE,
    LOT_EMERGENCE,
    LOT_SHARE_FEMALE,
    ATTRACTION,
    HUNGRY_LOSS,
    FOOD_HALF,
    REST_SHARE,
    REST_DAY_LENGTH,
    REST_TEMPERATURE,
) = range(len(ENEMY_ROWS))
ACCEPTANCE, SLOWNESS = range(len(PAIR_ROWS))

N_PEST = len(PEST_ROWS)
N_ENEMY = len(ENEMY_ROWS)
N_PAIR = len(PAIR_ROWS)
