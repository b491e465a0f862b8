"""Which fact fills which parameter of an aphid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from outpace.biology.dispersion import clumping_from_taylor
from outpace.biology.temperature_response import cold_pace
from outpace.simulation.chains import Array, grid_temperatures
from outpace.simulation.draws import chain_rows, log_spread, spread_over
from outpace.simulation.layout import INSTARS, Substages, lay_out
from outpace.simulation.life_cycle import SteadyGrowth
from outpace.simulation.parameter_rows import FECUNDITY, LEARNABLE, LOG_GROWTH, MORTALITY, PEST_ROWS
from outpace.simulation.responses import LEAST_K, MOST_K, Shared, by_straight_lines

if TYPE_CHECKING:
    from outpace.simulation.bridge import Bridge

# How many rows a chain may have. Narrow spreads would need more (a cohort's 10 % asks for 100 from birth to adult),
# and time goes with the rows; warm and cool leaves of one crop widen the spread by about what this leaves out.
MOST_PER_INSTAR = 8
YOUNG_ROWS = 2
WINGLESS_AGES = 10
WINGED_AGES = 5
REFERENCE_TEMPERATURE = 20.0
"""Where growth is measured when a multiplier of it is turned into one of births. [°C]"""
DAYS_PER_WEEK = 7.0


def pest_substages(bridge: Bridge, pest: str) -> tuple[int, int, int, int, int, int, int]:
    """Return how many rows each of the chains of a pest has."""
    variation = bridge.one(pest, "development_cv").value
    first, second, third, fourth = (
        chain_rows(bridge.one(pest, "instar_share", stage=stage).value, variation, MOST_PER_INSTAR)
        for stage in INSTARS
    )
    return (first, second, third, fourth, YOUNG_ROWS, WINGLESS_AGES, WINGED_AGES)


def pest_tables(bridge: Bridge, p: int, substages: Substages) -> Array:
    """Return death at a passage, ageing, lifetime births and heat death over temperature."""
    pest, crop = bridge.model.pests[p], bridge.model.crop
    upper = bridge.one(pest, "upper_temperature").value
    survival = _survival(bridge, pest) * by_straight_lines(bridge.warm(pest, "nymph_survival_multiplier"))
    passages = sum(substages.pests[p][:4])
    births = by_straight_lines(bridge.warm(pest, "lifetime_fecundity"), nil_at=upper)
    births = births * by_straight_lines(bridge.warm(pest, "crop_multiplier", crop=crop))
    lives = bridge.warm(pest, "adult_life")
    life = by_straight_lines(lives)
    coldest = lives[0].temperature_degc
    pace = np.ones_like(life)
    if coldest is not None:
        lower = min(bridge.one(pest, "lower_threshold").value, coldest - 1.0)
        pace = cold_pace(grid_temperatures(), lower, coldest)
    heat = by_straight_lines(bridge.warm(pest, "heat_death"))
    passing = 1.0 - np.clip(survival, 0.0, 1.0) ** (1.0 / passages)
    return np.stack([passing, pace / life, births, heat])


def _survival(bridge: Bridge, pest: str) -> float:
    on_crop = bridge.one(pest, "crop_survival_multiplier", crop=bridge.model.crop).value
    return min(bridge.one(pest, "nymph_survival").value * on_crop, 0.999)


def births_on(bridge: Bridge, crop: str | None, pest: str) -> float:
    """Return births on the crop of a zone over those on the crop of the house."""
    if crop is None or crop == bridge.model.crop:
        return 1.0
    here, usual = (
        float(
            np.interp(
                REFERENCE_TEMPERATURE,
                grid_temperatures(),
                by_straight_lines(bridge.warm(pest, "crop_multiplier", crop=name)),
            )
        )
        for name in (crop, bridge.model.crop)
    )
    return here / usual if usual > 0.0 else 1.0


def pest_rows(bridge: Bridge, p: int, substages: Substages, shared: Shared) -> Array:
    """Return the rows of the parameter table, shape (N_PEST, members)."""
    pest, crop = bridge.model.pests[p], bridge.model.crop
    named = bridge.development(pest)
    passages = sum(substages.pests[p][:4])
    survival = _survival(bridge, pest)
    fact = bridge.one(pest, "nymph_survival")
    drawn = (
        spread_over(fact, bridge.normal(f"{pest}.nymph_survival"), least=0.01, most=0.995)
        * survival
        / fact.value
    )
    named["mortality"] = (1.0 - np.minimum(drawn, 0.999) ** (1.0 / passages)) / (
        1.0 - survival ** (1.0 / passages)
    )
    birth_rows = bridge.warm(pest, "lifetime_fecundity")
    crop_rows = bridge.warm(pest, "crop_multiplier", crop=crop)
    named["fecundity"] = np.exp(
        log_spread(birth_rows) * bridge.normal(f"{pest}.lifetime_fecundity")
        + log_spread(crop_rows) * bridge.normal(f"{pest}.crop_multiplier")
    )
    life_rows = bridge.warm(pest, "adult_life")
    named["life"] = np.exp(log_spread(life_rows) * bridge.normal(f"{pest}.adult_life"))
    delay = bridge.drawn(pest, "pre_reproductive_delay", least=0.05)
    middle = {name: bridge.one(pest, name).value for name in ("lower_threshold", "thermal_constant")}
    named["pre_reproductive"] = (
        delay * (REFERENCE_TEMPERATURE - middle["lower_threshold"]) / middle["thermal_constant"]
    )
    named["winged_least"] = bridge.drawn(pest, "winged_share_base", least=0.0, most=0.5)
    named["winged_more"] = bridge.drawn(pest, "winged_share_rise", least=0.0, most=0.5)
    named["winged_half"] = bridge.drawn(pest, "winged_share_half", least=1.0)
    named["winged_births"] = bridge.drawn(pest, "winged_fecundity", least=0.0)
    named["winged_leaving"] = bridge.drawn(pest, "winged_leaving", least=0.0, most=1.0)
    named["winged_flight"] = bridge.drawn(pest, "winged_flight_delay", least=0.1)
    named["unexplained_loss"] = bridge.drawn(pest, "unexplained_loss", least=0.0)
    named["immigration"] = bridge.drawn(pest, "immigration", least=0.0)
    named["honeydew_half"] = bridge.drawn("any_wasp", "honeydew_half", least=1.0)
    named["taylor_a"] = bridge.drawn(pest, "taylor_a", least=1.0)
    named["taylor_b"] = bridge.drawn(pest, "taylor_b", least=1.0)
    named["exchange"] = bridge.drawn(pest, "zone_exchange", least=0.0, most=1.0)
    named["walking"] = bridge.drawn(pest, "crowding_departure", least=0.0, most=1.0)
    named["walking_half"] = bridge.drawn(pest, "crowding_departure_start", least=0.1)
    for name in LEARNABLE:
        width = bridge.one(pest, "learnable_sd", stage=name.removeprefix("log_")).value
        named[name] = width * bridge.normal(f"{pest}.{name}")
    named["ceiling"] = _ceiling(bridge, pest)
    named["ceiling"] *= np.sqrt(
        felt_crowding(
            shared.nodes, named["ceiling"], named["taylor_a"], named["taylor_b"], named["log_clumping"]
        )
    )
    swing_time = bridge.drawn(pest, "process_correlation_time", least=1.0)
    named["swing_time"] = swing_time
    rate, lever = _growth(bridge, p, substages, shared, named)
    named["growth_leverage"] = np.full(bridge.members, rate * lever)
    named["ceiling_loss"] = np.full(bridge.members, rate)
    # A lasting swing s of growth moves log numbers over a week by s rate √(2 swing_time × 7 d).
    weekly = bridge.drawn(pest, "process_sd_per_sqrt_week", stage="growth", least=0.0)
    named["growth_swing"] = weekly / (rate * np.sqrt(2.0 * swing_time * DAYS_PER_WEEK))
    weekly = bridge.drawn(pest, "process_sd_per_sqrt_week", stage="attack", least=0.0)
    named["attack_swing"] = weekly * np.sqrt(swing_time / (2.0 * DAYS_PER_WEEK))
    return np.stack([named[row] + np.zeros(bridge.members) for row in PEST_ROWS])


def _growth(
    bridge: Bridge, p: int, substages: Substages, shared: Shared, named: dict[str, Array]
) -> tuple[float, float]:
    """Return the rate of increase and the generation time of the middle member on the reference crop."""
    column = np.array([[np.median(named[row])] if row in named else [0.0] for row in PEST_ROWS])
    column[[FECUNDITY, MORTALITY], 0] = 1.0
    column[LOG_GROWTH, 0] = 0.0
    pest = bridge.model.pests[p]
    tables = shared.pest_tables.copy()
    tables[p, 2] = by_straight_lines(bridge.warm(pest, "lifetime_fecundity"))
    counts = lay_out(substages, 1).rows.pest_count[p]
    growth = SteadyGrowth(column, shared._replace(pest_tables=tables), p, counts, REFERENCE_TEMPERATURE)
    rate = growth.rate()
    return float(rate[0]), float(growth.generation_time(rate)[0])


def _ceiling(bridge: Bridge, pest: str) -> Array:
    """Return aphids per leaf that a crop can carry, from the nearest fact there is."""
    crop, model = bridge.model.crop, bridge.model
    factors = {
        "ceiling_per_leaf": 1.0,
        "ceiling_per_plant": 1.0 / model.leaves_per_plant,
        "ceiling_per_leaf_area": model.leaf_area_m2 / model.leaves_per_plant,
    }
    for quantity, factor in factors.items():
        if bridge.facts.find(pest, quantity, crop=crop) is not None:
            return factor * bridge.drawn(pest, quantity, crop=crop, least=0.0)
    return factors["ceiling_per_leaf_area"] * bridge.drawn(pest, "ceiling_per_leaf_area", least=0.0)


def felt_crowding(nodes: Array, mean: Array, taylor_a: Array, taylor_b: Array, log_clumping: Array) -> Array:
    """Return by how much clumped aphids lose more by crowding than even ones, shape (members,).

    Crowding takes the square of a leaf's density from each aphid on it, so all together lose by the mean of the cubes.
    A fact tells the mean at which a crop's aphids stop increasing; what a leaf bears is higher by the root of this.

    Parameters
    ----------
    nodes : array of float, shape (fineness, nodes)
        Relative densities of leaves over log k, as the kernel has them.
    mean : array of float, shape (members,)
        Aphids per leaf at which the crop is full.
    taylor_a, taylor_b, log_clumping : array of float, shape (members,)
    """
    k = np.clip(clumping_from_taylor(mean, taylor_a, taylor_b) * np.exp(-log_clumping), LEAST_K, MOST_K)
    cubes = (nodes**3).mean(axis=1)
    felt: Array = np.interp(np.log(k), np.linspace(np.log(LEAST_K), np.log(MOST_K), len(nodes)), cubes)
    return felt
