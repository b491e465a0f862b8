"""Which fact fills which parameter: the one place where names of quantities meet rows of the kernel's table."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from outpace.biology.temperature_response import cold_pace
from outpace.facts.table import Fact, Facts
from outpace.simulation.chains import grid_temperatures
from outpace.simulation.den import Hunters
from outpace.simulation.draws import Luck, draw_pair, log_spread, spread_over
from outpace.simulation.layout import HOST_SIZES, INSTARS, Substages, lay_out
from outpace.simulation.life_cycle import SteadyGrowth
from outpace.simulation.model import HouseModel
from outpace.simulation.parameter_rows import (
    ENEMY_ROWS,
    FECUNDITY,
    LEARNABLE,
    LOG_GROWTH,
    MORTALITY,
    PAIR_ROWS,
    PEST_ROWS,
)
from outpace.simulation.predator_bridge import PredatorFacts, what_hunters_share
from outpace.simulation.predator_rows import PREDATOR_ROWS
from outpace.simulation.responses import Shared, by_straight_lines, node_table, pool

Array = NDArray[np.float64]

# How many rows a chain may have. Narrow spreads would need more (a cohort's 10 % asks for 100 from birth to adult),
# and time goes with the rows; warm and cool leaves of one crop widen the spread by about what this leaves out.
MOST_PER_INSTAR = 8
MOST_STUNG = 12
MOST_MUMMY = 8
MOST_CARRIER = 6
YOUNG_ROWS = 2
WINGLESS_AGES = 10
WINGED_AGES = 5
REFERENCE_TEMPERATURE = 20.0
"""Where growth is measured when a multiplier of it is turned into one of births. [°C]"""
DAYS_PER_WEEK = 7.0


def chain_rows(share: float, variation: float, most: int) -> int:
    """Return the rows of a stage that takes ``share`` of a time with this coefficient of variation.

    Examples
    --------
    >>> chain_rows(0.25, 0.1, 8), chain_rows(0.25, 0.25, 8)
    (8, 4)
    """
    return int(min(max(round(share / variation**2), 1), most))


class Bridge:
    """Collects the facts of one house and remembers which were used."""

    def __init__(self, facts: Facts, model: HouseModel, members: int, seed: int, spread: bool) -> None:
        self.facts = facts
        self.model = model
        self.members = members
        self.luck = Luck(seed, members)
        self.spread = spread
        self.used: dict[str, Fact] = {}
        wrong = [name for name in model.enemies if facts.species[name].guild != "wasp"]
        wrong += [name for name in model.predators if facts.species[name].guild == "wasp"]
        if wrong:
            raise ValueError(f"{', '.join(wrong)}: wasps are enemies of a model, all others its predators")
        self.pairs = tuple(
            (p, e)
            for p, pest in enumerate(model.pests)
            for e, enemy in enumerate(model.enemies)
            if self.one(enemy, "host_match", other_species=pest).value > 0
        )

    def table(self) -> tuple[Array, tuple[str, ...], Substages, Shared]:
        """Return the parameter table, the names of its rows, the substages and what the members share."""
        pests = tuple(self._pest_substages(name) for name in self.model.pests)
        enemies = tuple(self._enemy_substages(name) for name in self.model.enemies)
        hunters = tuple(PredatorFacts(self, name) for name in self.model.predators)
        substages = Substages(pests, enemies, self.pairs, tuple(hunter.substages() for hunter in hunters))
        shared = self._shared(substages, what_hunters_share(self, hunters, substages))
        blocks = [self._pest(p, substages, shared) for p in range(len(self.model.pests))]
        names = [f"{pest}.{row}" for pest in self.model.pests for row in PEST_ROWS]
        for e, enemy in enumerate(self.model.enemies):
            blocks.append(self._enemy(e))
            names += [f"{enemy}.{row}" for row in ENEMY_ROWS]
        for p, e in self.pairs:
            blocks.append(self._pair(self.model.pests[p], self.model.enemies[e]))
            names += [f"{self.model.enemies[e]}.{self.model.pests[p]}.{row}" for row in PAIR_ROWS]
        for hunter in hunters:
            blocks.append(hunter.rows())
            names += [f"{hunter.name}.{row}" for row in PREDATOR_ROWS]
        return np.ascontiguousarray(np.concatenate(blocks)), tuple(names), substages, shared

    def one(self, species: str, quantity: str, **where: str) -> Fact:
        """Return one row and note its use."""
        fact = self.facts.one(species, quantity, **where)
        self.used[fact.key] = fact
        return fact

    def warm(self, species: str, quantity: str, **where: str) -> tuple[Fact, ...]:
        """Return the rows of a quantity by temperature and note their use."""
        rows = self.facts.by_temperature(species, quantity, **where)
        if not rows:
            self.facts.one(species, quantity, **where)
        self.used.update((row.key, row) for row in rows)
        return rows

    def normal(self, name: str) -> Array:
        """Return the members' standard normal numbers of that name; zeros without spread."""
        return self.luck.normal(name) if self.spread else np.zeros(self.members)

    def _drawn(
        self, species: str, quantity: str, *, least: float = -np.inf, most: float = np.inf, **where: str
    ) -> Array:
        fact = self.one(species, quantity, **where)
        return spread_over(fact, self.normal(f"{species}.{quantity}"), least=least, most=most)

    def _pest_substages(self, pest: str) -> tuple[int, int, int, int, int, int, int]:
        variation = self.one(pest, "development_cv").value
        first, second, third, fourth = (
            chain_rows(self.one(pest, "instar_share", stage=stage).value, variation, MOST_PER_INSTAR)
            for stage in INSTARS
        )
        return (first, second, third, fourth, YOUNG_ROWS, WINGLESS_AGES, WINGED_AGES)

    def _enemy_substages(self, enemy: str) -> tuple[int, int, int, int]:
        variation = self.one(enemy, "development_cv").value
        share = self.one(enemy, "mummy_share").value
        heat = self.one(enemy, "emergence_heat").value
        return (
            len(self._egg_shape(enemy)),
            chain_rows(share, variation, MOST_STUNG),
            chain_rows(1.0 - share, variation, MOST_MUMMY),
            chain_rows(1.0, self.one(enemy, "emergence_spread").value / heat, MOST_CARRIER),
        )

    def _egg_shape(self, enemy: str) -> list[float]:
        """Return the share of eggs laid on each day of adult life, the days before the first egg included."""
        shape = [0.0] * round(self.one(enemy, "pre_oviposition").value)
        own_table = self.facts.find(enemy, "fecundity_by_day", stage="day 1")
        day = 1
        while (fact := self.facts.find(enemy, "fecundity_by_day", stage=f"day {day}")) is not None:
            if own_table is None or fact.species != own_table.species:
                break
            self.used[fact.key] = fact
            shape.append(fact.value)
            day += 1
        return [share / sum(shape) for share in shape]

    def _shared(self, substages: Substages, hunters: Hunters) -> Shared:
        model = self.model
        egg_shape = np.zeros((len(model.enemies), max([c[0] for c in substages.enemies], default=1)))
        shapes = []
        for e, enemy in enumerate(model.enemies):
            egg_shape[e, : substages.enemies[e][0]] = self._egg_shape(enemy)
        for pest in model.pests:
            shapes.append(
                [self.one(pest, "fecundity_age_shape", stage=f"adult {i + 1:02d}").value for i in range(10)]
            )
        preference = np.zeros((len(self.pairs), 6))
        births = np.zeros((len(self.pairs), len(HOST_SIZES)))
        for j, (p, e) in enumerate(self.pairs):
            enemy, other = model.enemies[e], model.pests[p]
            for i, stage in enumerate((*INSTARS, "adult", "winged")):
                preference[j, i] = self.one(
                    enemy, "instar_preference", other_species=other, stage=stage
                ).value
            young = [
                self.one(enemy, "stung_births", other_species=other, stage=stage).value
                for stage in (*INSTARS, "adult")
            ]
            births[j] = (np.mean(young[:3]), young[3], young[4])
        return Shared(
            pest_tables=np.stack([self._pest_tables(p, substages) for p in range(len(model.pests))]),
            enemy_tables=np.stack([self._enemy_tables(e, substages) for e in range(len(model.enemies))])
            if model.enemies
            else np.zeros((0, 5, len(by_straight_lines(self.warm(model.pests[0], "lifetime_fecundity"))))),
            wingless_shape=np.array([pool(shape, WINGLESS_AGES) for shape in shapes]),
            winged_shape=np.array([pool(shape, WINGED_AGES) for shape in shapes]),
            egg_shape=egg_shape,
            instar_share=np.array(
                [
                    [self.one(pest, "instar_share", stage=stage).value for stage in INSTARS]
                    for pest in model.pests
                ]
            ),
            preference=preference,
            stung_births=births,
            nodes=node_table(),
            zone=model.ground(0, 1)[0],
            near=self._near(),
            births=np.array(
                [[self._births(zone.crop, pest) for pest in model.pests] for zone in model.zones]
            ),
            hunters=hunters,
        )

    def _near(self) -> Array:
        """Return how near zones lie to each other: a Laplace kernel of the distance flown in a day."""
        centres = self.model.centres_m
        if len(centres) == 1:
            return np.zeros((1, 1))
        apart = np.abs(centres[:, None] - centres)
        near: Array = np.exp(-apart / self.one("any_wasp", "dispersal_distance").value)
        np.fill_diagonal(near, 0.0)
        shares: Array = near / near.sum(axis=1, keepdims=True)
        return shares

    def _births(self, crop: str | None, pest: str) -> float:
        """Return births on the crop of a zone over those on the crop of the house."""
        if crop is None or crop == self.model.crop:
            return 1.0
        here, usual = (
            float(
                np.interp(
                    REFERENCE_TEMPERATURE,
                    grid_temperatures(),
                    by_straight_lines(self.warm(pest, "crop_multiplier", crop=name)),
                )
            )
            for name in (crop, self.model.crop)
        )
        return here / usual if usual > 0.0 else 1.0

    def _pest_tables(self, p: int, substages: Substages) -> Array:
        pest, crop = self.model.pests[p], self.model.crop
        upper = self.one(pest, "upper_temperature").value
        survival = self._survival(pest) * by_straight_lines(self.warm(pest, "nymph_survival_multiplier"))
        passages = sum(substages.pests[p][:4])
        births = by_straight_lines(self.warm(pest, "lifetime_fecundity"), nil_at=upper)
        births = births * by_straight_lines(self.warm(pest, "crop_multiplier", crop=crop))
        lives = self.warm(pest, "adult_life")
        life = by_straight_lines(lives)
        coldest = lives[0].temperature_degc
        pace = np.ones_like(life)
        if coldest is not None:
            lower = min(self.one(pest, "lower_threshold").value, coldest - 1.0)
            pace = cold_pace(grid_temperatures(), lower, coldest)
        heat = by_straight_lines(self.warm(pest, "heat_death"))
        passing = 1.0 - np.clip(survival, 0.0, 1.0) ** (1.0 / passages)
        return np.stack([passing, pace / life, births, heat])

    def _survival(self, pest: str) -> float:
        on_crop = self.one(pest, "crop_survival_multiplier", crop=self.model.crop).value
        return min(self.one(pest, "nymph_survival").value * on_crop, 0.999)

    def _enemy_tables(self, e: int, substages: Substages) -> Array:
        enemy = self.model.enemies[e]
        share = self.one(enemy, "mummy_share").value
        survival = np.clip(by_straight_lines(self.warm(enemy, "immature_survival")), 0.0, 1.0)
        _, stung, mummies, _ = substages.enemies[e]
        return np.stack(
            [
                1.0 - survival ** (share / stung),
                1.0 - survival ** ((1.0 - share) / mummies),
                by_straight_lines(self.warm(enemy, "attack_temperature_multiplier"), to_nil=True),
                by_straight_lines(self.warm(enemy, "eggs")),
                by_straight_lines(self.warm(enemy, "heat_death")),
            ]
        )

    def development(self, species: str) -> dict[str, Array]:
        """Return the four rows of development of a species, threshold and constant drawn as a pair."""
        correlation = self.one(species, "threshold_constant_correlation").value
        threshold, constant = draw_pair(
            self.one(species, "lower_threshold"),
            self.one(species, "thermal_constant"),
            correlation,
            self.normal(f"{species}.lower_threshold"),
            self.normal(f"{species}.thermal_constant"),
        )
        optimum = self._drawn(species, "optimum_temperature")
        upper = self._drawn(species, "upper_temperature")
        return {
            "lower_threshold": threshold,
            "thermal_constant": constant,
            "optimum_temperature": optimum,
            "upper_temperature": np.maximum(upper, optimum + 1.0),
        }

    def _pest(self, p: int, substages: Substages, shared: Shared) -> Array:
        pest, crop = self.model.pests[p], self.model.crop
        named = self.development(pest)
        passages = sum(substages.pests[p][:4])
        survival = self._survival(pest)
        fact = self.one(pest, "nymph_survival")
        drawn = (
            spread_over(fact, self.normal(f"{pest}.nymph_survival"), least=0.01, most=0.995)
            * survival
            / fact.value
        )
        named["mortality"] = (1.0 - np.minimum(drawn, 0.999) ** (1.0 / passages)) / (
            1.0 - survival ** (1.0 / passages)
        )
        birth_rows = self.warm(pest, "lifetime_fecundity")
        crop_rows = self.warm(pest, "crop_multiplier", crop=crop)
        named["fecundity"] = np.exp(
            log_spread(birth_rows) * self.normal(f"{pest}.lifetime_fecundity")
            + log_spread(crop_rows) * self.normal(f"{pest}.crop_multiplier")
        )
        life_rows = self.warm(pest, "adult_life")
        named["life"] = np.exp(log_spread(life_rows) * self.normal(f"{pest}.adult_life"))
        delay = self._drawn(pest, "pre_reproductive_delay", least=0.05)
        middle = {name: self.one(pest, name).value for name in ("lower_threshold", "thermal_constant")}
        named["pre_reproductive"] = (
            delay * (REFERENCE_TEMPERATURE - middle["lower_threshold"]) / middle["thermal_constant"]
        )
        named["winged_least"] = self._drawn(pest, "winged_share_base", least=0.0, most=0.5)
        named["winged_more"] = self._drawn(pest, "winged_share_rise", least=0.0, most=0.5)
        named["winged_half"] = self._drawn(pest, "winged_share_half", least=1.0)
        named["winged_births"] = self._drawn(pest, "winged_fecundity", least=0.0)
        named["winged_leaving"] = self._drawn(pest, "winged_leaving", least=0.0, most=1.0)
        named["winged_flight"] = self._drawn(pest, "winged_flight_delay", least=0.1)
        named["ceiling"] = self._ceiling(pest)
        named["unexplained_loss"] = self._drawn(pest, "unexplained_loss", least=0.0)
        named["immigration"] = self._drawn(pest, "immigration", least=0.0)
        named["honeydew_half"] = self._drawn("any_wasp", "honeydew_half", least=1.0)
        named["taylor_a"] = self._drawn(pest, "taylor_a", least=1.0)
        named["taylor_b"] = self._drawn(pest, "taylor_b", least=1.0)
        named["exchange"] = self._drawn(pest, "zone_exchange", least=0.0, most=1.0)
        for name in LEARNABLE:
            width = self.one(pest, "learnable_sd", stage=name.removeprefix("log_")).value
            named[name] = width * self.normal(f"{pest}.{name}")
        swing_time = self._drawn(pest, "process_correlation_time", least=1.0)
        named["swing_time"] = swing_time
        rate, lever = self._growth(p, substages, shared, named)
        named["growth_leverage"] = np.full(self.members, rate * lever)
        named["ceiling_loss"] = np.full(self.members, rate)
        # A lasting swing s of growth moves log numbers over a week by s rate √(2 swing_time × 7 d).
        weekly = self._drawn(pest, "process_sd_per_sqrt_week", stage="growth", least=0.0)
        named["growth_swing"] = weekly / (rate * np.sqrt(2.0 * swing_time * DAYS_PER_WEEK))
        weekly = self._drawn(pest, "process_sd_per_sqrt_week", stage="attack", least=0.0)
        named["attack_swing"] = weekly * np.sqrt(swing_time / (2.0 * DAYS_PER_WEEK))
        return np.stack([named[row] + np.zeros(self.members) for row in PEST_ROWS])

    def _growth(
        self, p: int, substages: Substages, shared: Shared, named: dict[str, Array]
    ) -> tuple[float, float]:
        """Return the rate of increase and the generation time of the middle member on the reference crop."""
        column = np.array([[np.median(named[row])] if row in named else [0.0] for row in PEST_ROWS])
        column[[FECUNDITY, MORTALITY], 0] = 1.0
        column[LOG_GROWTH, 0] = 0.0
        pest = self.model.pests[p]
        tables = shared.pest_tables.copy()
        tables[p, 2] = by_straight_lines(self.warm(pest, "lifetime_fecundity"))
        counts = lay_out(substages, 1).rows.pest_count[p]
        growth = SteadyGrowth(column, shared._replace(pest_tables=tables), p, counts, REFERENCE_TEMPERATURE)
        rate = growth.rate()
        return float(rate[0]), float(growth.generation_time(rate)[0])

    def _ceiling(self, pest: str) -> Array:
        """Return aphids per leaf that a crop can carry, from the nearest fact there is."""
        crop, model = self.model.crop, self.model
        factors = {
            "ceiling_per_leaf": 1.0,
            "ceiling_per_plant": 1.0 / model.leaves_per_plant,
            "ceiling_per_leaf_area": model.leaf_area_m2 / model.leaves_per_plant,
        }
        for quantity, factor in factors.items():
            if self.facts.find(pest, quantity, crop=crop) is not None:
                return factor * self._drawn(pest, quantity, crop=crop, least=0.0)
        return factors["ceiling_per_leaf_area"] * self._drawn(pest, "ceiling_per_leaf_area", least=0.0)

    def _enemy(self, e: int) -> Array:
        enemy = self.model.enemies[e]
        named = self.development(enemy)
        best = self.warm(enemy, "immature_survival")[0]
        drawn = spread_over(best, self.normal(f"{enemy}.immature_survival"), least=0.01, most=0.995)
        named["immature_death"] = np.log(drawn) / math.log(best.value)
        named["mummy_share"] = self._drawn(enemy, "mummy_share", least=0.2, most=0.9)
        named["share_female"] = self._drawn(enemy, "share_female", least=0.0, most=1.0)
        named["adult_loss"] = self._drawn(enemy, "adult_loss", least=0.0)
        if self.model.vent_area_m2:
            open_share = min(self.model.vent_area_m2 / self.model.area_m2, 1.0)
            named["adult_loss"] = named["adult_loss"] + open_share * self._drawn(
                enemy, "vent_loss", least=0.0
            )
        named["eggs"] = np.exp(log_spread(self.warm(enemy, "eggs")) * self.normal(f"{enemy}.eggs"))
        named["attack_rate"] = self._drawn(enemy, "attack_rate", least=0.0)
        if self.model.ants:
            factor = self.one(enemy, "attack_factor_with_ants")
            named["attack_rate"] *= spread_over(factor, self.normal("any_wasp.attack_factor_with_ants"))
        named["handling_time"] = self._drawn(enemy, "handling_time", least=0.0)
        named["interference"] = self._drawn(enemy, "interference", least=0.0, most=1.0)
        named["avoidance"] = self._drawn(
            enemy, "superparasitism_avoidance", stage="first day", least=0.0, most=1.0
        )
        named["refuge_k"] = self._drawn(enemy, "refuge_k", least=0.02)
        named["carrier_heat"] = self._drawn(enemy, "emergence_heat", least=1.0)
        named["mummy_fall"] = self._drawn(enemy, "mummy_fall", least=0.0)
        named["exchange"] = self._drawn(enemy, "zone_exchange", least=0.0, most=1.0)
        named["attraction"] = self._drawn(enemy, "host_attraction", least=0.0)
        named["lot_emergence"] = self._drawn(enemy, "emergence", least=0.0, most=1.0)
        named["lot_share_female"] = self._drawn(enemy, "share_female", least=0.0, most=1.0)
        return np.stack([named[row] + np.zeros(self.members) for row in ENEMY_ROWS])

    def _pair(self, pest: str, enemy: str) -> Array:
        level = int(self.one(enemy, "host_match", other_species=pest).value)
        factor = self.one(enemy, "host_match_factor", stage=str(level))
        acceptance = spread_over(factor, self.normal(f"{enemy}.{pest}.acceptance"), least=0.0)
        share = self.one(enemy, "mummy_share").value
        # A host on which the wasp grows slowly: all of the difference is put before the mummy.
        times = [
            self.one(enemy, "thermal_constant", other_species=other).value
            / (REFERENCE_TEMPERATURE - self.one(enemy, "lower_threshold", other_species=other).value)
            for other in ("", pest)
        ]
        slowness = (times[1] / times[0] - (1.0 - share)) / share
        return np.stack([acceptance, np.full(self.members, slowness)])
