"""Which fact fills which parameter of a wasp, and of a wasp on an aphid that it accepts."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from outpace.simulation.chains import Array
from outpace.simulation.draws import chain_rows, log_spread, spread_over
from outpace.simulation.layout import Substages
from outpace.simulation.parameter_rows import ENEMY_ROWS
from outpace.simulation.pest_bridge import REFERENCE_TEMPERATURE
from outpace.simulation.responses import by_straight_lines

if TYPE_CHECKING:
    from outpace.simulation.bridge import Bridge

# How many rows a chain may have. Narrow spreads would need more (a cohort's 10 % asks for 100 from birth to adult),
# and time goes with the rows; warm and cool leaves of one crop widen the spread by about what this leaves out.
MOST_STUNG = 12
MOST_MUMMY = 8
MOST_CARRIER = 6


def wasp_substages(bridge: Bridge, enemy: str) -> tuple[int, int, int, int]:
    """Return how many rows each of the chains of a wasp has."""
    variation = bridge.one(enemy, "development_cv").value
    share = bridge.one(enemy, "mummy_share").value
    heat = bridge.one(enemy, "emergence_heat").value
    return (
        len(egg_shares(bridge, enemy)),
        chain_rows(share, variation, MOST_STUNG),
        chain_rows(1.0 - share, variation, MOST_MUMMY),
        chain_rows(1.0, bridge.one(enemy, "emergence_spread").value / heat, MOST_CARRIER),
    )


def egg_shares(bridge: Bridge, enemy: str) -> list[float]:
    """Return the share of eggs laid on each day of adult life, the days before the first egg included."""
    shape = [0.0] * round(bridge.one(enemy, "pre_oviposition").value)
    own_table = bridge.facts.find(enemy, "fecundity_by_day", stage="day 1")
    day = 1
    while (fact := bridge.facts.find(enemy, "fecundity_by_day", stage=f"day {day}")) is not None:
        if own_table is None or fact.species != own_table.species:
            break
        bridge.used[fact.key] = fact
        shape.append(fact.value)
        day += 1
    return [share / sum(shape) for share in shape]


def wasp_tables(bridge: Bridge, e: int, substages: Substages) -> Array:
    """Return death at passages, activity, lifetime eggs and heat death over temperature."""
    enemy = bridge.model.enemies[e]
    share = bridge.one(enemy, "mummy_share").value
    survival = np.clip(by_straight_lines(bridge.warm(enemy, "immature_survival")), 0.0, 1.0)
    _, stung, mummies, _ = substages.enemies[e]
    return np.stack(
        [
            1.0 - survival ** (share / stung),
            1.0 - survival ** ((1.0 - share) / mummies),
            by_straight_lines(bridge.warm(enemy, "attack_temperature_multiplier"), to_nil=True),
            by_straight_lines(bridge.warm(enemy, "eggs")),
            by_straight_lines(bridge.warm(enemy, "heat_death")),
        ]
    )


def wasp_rows(bridge: Bridge, e: int) -> Array:
    """Return the rows of the parameter table, shape (N_ENEMY, members)."""
    enemy = bridge.model.enemies[e]
    named = bridge.development(enemy)
    best = bridge.warm(enemy, "immature_survival")[0]
    drawn = spread_over(best, bridge.normal(f"{enemy}.immature_survival"), least=0.01, most=0.995)
    named["immature_death"] = np.log(drawn) / math.log(best.value)
    named["mummy_share"] = bridge.drawn(enemy, "mummy_share", least=0.2, most=0.9)
    named["share_female"] = bridge.drawn(enemy, "share_female", least=0.0, most=1.0)
    named["adult_loss"] = bridge.drawn(enemy, "adult_loss", least=0.0)
    if bridge.model.vent_area_m2:
        open_share = min(bridge.model.vent_area_m2 / bridge.model.area_m2, 1.0)
        named["adult_loss"] = named["adult_loss"] + open_share * bridge.drawn(enemy, "vent_loss", least=0.0)
    named["eggs"] = np.exp(log_spread(bridge.warm(enemy, "eggs")) * bridge.normal(f"{enemy}.eggs"))
    named["attack_rate"] = bridge.drawn(enemy, "attack_rate", least=0.0)
    if bridge.model.ants:
        factor = bridge.one(enemy, "attack_factor_with_ants")
        named["attack_rate"] *= spread_over(factor, bridge.normal("any_wasp.attack_factor_with_ants"))
    named["handling_time"] = bridge.drawn(enemy, "handling_time", least=0.0)
    named["interference"] = bridge.drawn(enemy, "interference", least=0.0, most=1.0)
    named["avoidance"] = bridge.drawn(
        enemy, "superparasitism_avoidance", stage="first day", least=0.0, most=1.0
    )
    named["refuge_k"] = bridge.drawn(enemy, "refuge_k", least=0.02)
    named["carrier_heat"] = bridge.drawn(enemy, "emergence_heat", least=1.0)
    named["mummy_fall"] = bridge.drawn(enemy, "mummy_fall", least=0.0)
    named["exchange"] = bridge.drawn(enemy, "zone_exchange", least=0.0, most=1.0)
    named["attraction"] = bridge.drawn(enemy, "host_attraction", least=0.0)
    starved = 1.0 / bridge.drawn(enemy, "adult_life_water_only", least=0.5)
    named["hungry_loss"] = np.maximum(starved - named["adult_loss"], 0.0)
    named["food_half"] = bridge.drawn(enemy, "food_half", least=1e-5)
    named["rest_share"] = bridge.drawn(enemy, "diapause_share", least=0.0, most=1.0)
    named["rest_day_length"] = bridge.drawn(enemy, "diapause_day_length", least=0.0)
    named["rest_temperature"] = bridge.drawn(enemy, "diapause_temperature")
    named["lot_emergence"] = bridge.drawn(enemy, "emergence", least=0.0, most=1.0)
    named["lot_share_female"] = bridge.drawn(enemy, "share_female", least=0.0, most=1.0)
    return np.stack([named[row] + np.zeros(bridge.members) for row in ENEMY_ROWS])


def pair_rows(bridge: Bridge, pest: str, enemy: str) -> Array:
    """Return the rows of an aphid and a wasp that accepts it, shape (N_PAIR, members)."""
    level = int(bridge.one(enemy, "host_match", other_species=pest).value)
    factor = bridge.one(enemy, "host_match_factor", stage=str(level))
    acceptance = spread_over(factor, bridge.normal(f"{enemy}.{pest}.acceptance"), least=0.0)
    share = bridge.one(enemy, "mummy_share").value
    # A host on which the wasp grows slowly: all of the difference is put before the mummy.
    times = [
        bridge.one(enemy, "thermal_constant", other_species=other).value
        / (REFERENCE_TEMPERATURE - bridge.one(enemy, "lower_threshold", other_species=other).value)
        for other in ("", pest)
    ]
    slowness = (times[1] / times[0] - (1.0 - share)) / share
    return np.stack([acceptance, np.full(bridge.members, slowness)])
