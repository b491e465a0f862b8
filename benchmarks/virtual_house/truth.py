"""What is true in one virtual house: drawn wide, once a season, and hidden from whoever forecasts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from benchmarks.virtual_house.scenes import APHIDS, LOOK_ALIKE, SCENES, WASPS, Scene

WRONGS = (
    "no_refuge",
    "type_iii",
    "gradients",
    "misidentified",
    "wrong_enemy",
    "two_scouts",
    "biased_logger",
    "bad_parcels",
    "hyperparasitoids",
    "skipped_walks",
    "density_dependent_k",
    "wild_predators",
)
"""What can be wrong in a house beside the luck and the wide numbers of every house."""


@dataclass(frozen=True, slots=True)
class Truth:
    """All that is drawn for one house. Rates are per day, temperatures in °C, times of development at 20 °C.

    ``named`` is the aphid as the scout writes it, ``aphid`` the one that is there.
    """

    seed: int
    wrongs: frozenset[str]
    scene: Scene
    aphid: str
    named: str
    enemy: str
    rows: int
    columns: int
    leaves: float
    # aphids
    nymph_days: float
    base: float
    upper: float
    softness: float
    births: float
    births_best: float
    births_width: float
    births_fade_days: float
    nymph_death: float
    adult_death: float
    pace_sd: float
    crowd_at: float
    winged_most: float
    winged_at: float
    winged_leave: float
    stroll: float
    stroll_crowded: float
    hidden: float
    quality_sd: float
    immigrants: float
    founders: float
    # wasps
    wasp_days: float
    wasp_base: float
    wasp_upper: float
    to_mummy: float
    accepts: float
    visits: float
    finding: float
    sting_cap: float
    type_iii_at: float
    following: float
    following_power: float
    hindrance: float
    eggs: float
    eggs_per_day: float
    wasp_loss: float
    mummy_death: float
    share_female: float
    shells_fall: float
    bearing_stung: float
    # others
    predators: float
    hyper_arrive: float
    hyper_search: float
    # climate
    mean: float
    drift: float
    stray_sd: float
    stray_memory: float
    half_range: float
    floor: float
    vent: float
    gradient: float
    logger_bias: float
    logger_noise: float
    day_of_year: int
    latitude: float

    @property
    def plants(self) -> int:
        return self.rows * self.columns

    @property
    def area_m2(self) -> float:
        return self.plants / self.scene.plants_per_m2


def draw_truth(seed: int, wrongs: frozenset[str] = frozenset(), bought: str | None = None) -> Truth:
    """Return the truth of a season; the same seed and wrongs give the same house.

    ``bought`` is the enemy that is ordered in place of the usual one; all other luck of the house stays.
    """
    unknown = wrongs - set(WRONGS)
    if unknown:
        raise ValueError(f"no such wrong: {sorted(unknown)}")
    rng = np.random.default_rng([seed, 101])

    def around(middle: float, sd: float) -> float:
        return float(middle * np.exp(sd * rng.standard_normal()))

    def between(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    scene = SCENES[int(rng.integers(len(SCENES)))]
    named = scene.aphid
    aphid_name, enemy = scene.aphid, scene.wasp
    if "misidentified" in wrongs:
        # The grower buys what suits the aphid that was written down.
        named = LOOK_ALIKE[aphid_name]
        enemy = max(WASPS, key=lambda key: WASPS[key].accepts.get(named, 0.0))
    if "wrong_enemy" in wrongs:
        enemy = min(WASPS, key=lambda key: WASPS[key].accepts.get(aphid_name, 0.0))
    enemy = bought or enemy
    aphid, wasp = APHIDS[aphid_name], WASPS[enemy]
    rows = int(rng.integers(4, 13))
    return Truth(
        seed=seed,
        wrongs=wrongs,
        scene=scene,
        aphid=aphid_name,
        named=named,
        enemy=enemy,
        rows=rows,
        columns=int(between(180, 560) / rows),
        leaves=max(4.0, around(scene.leaves, 0.15)),
        nymph_days=around(aphid.days_at_20, 0.1),
        base=aphid.base + rng.normal(0, 0.8),
        upper=aphid.upper + rng.normal(0, 0.8),
        softness=between(2.5, 6),
        births=around(aphid.births * scene.on_crop, 0.25),
        births_best=aphid.best + rng.normal(0, 1.2),
        births_width=between(9, 14),
        births_fade_days=between(7, 14),
        nymph_death=around(0.03, 0.5),
        adult_death=around(0.04, 0.4),
        pace_sd=between(0.08, 0.18),
        crowd_at=around(scene.crowd, 0.5),
        winged_most=between(0.2, 0.6),
        winged_at=around(30.0 * scene.leaves, 0.5) * 0.6,
        winged_leave=between(0.3, 0.8),
        stroll=around(0.03, 0.5),
        stroll_crowded=between(0.4, 0.9) if "density_dependent_k" in wrongs else between(0.02, 0.15),
        hidden=0.0 if "no_refuge" in wrongs else between(0.05, 0.35),
        quality_sd=between(0.05, 0.25),
        immigrants=around(0.0008, 1.0),
        founders=around(0.04, 0.7),
        wasp_days=around(wasp.days_at_20, 0.07),
        wasp_base=wasp.base + rng.normal(0, 0.6),
        wasp_upper=wasp.upper + rng.normal(0, 0.6),
        to_mummy=between(0.58, 0.68),
        accepts=wasp.accepts.get(aphid_name, 0.0),
        visits=around(14.0, 0.3),
        finding=around(0.15, 0.45),
        sting_cap=around(9.0, 0.3),
        type_iii_at=around(25.0, 0.5) if "type_iii" in wrongs else 0.0,
        following=0.05 if "no_refuge" in wrongs else between(0.15, 0.6),
        following_power=between(0.3, 0.8),
        hindrance=around(0.08, 0.5),
        eggs=around(wasp.eggs, 0.2),
        eggs_per_day=around(45.0, 0.25),
        wasp_loss=between(0.13, 0.36),
        mummy_death=between(0.05, 0.25),
        share_female=between(0.48, 0.66),
        shells_fall=around(0.03, 0.5),
        bearing_stung=between(0.15, 0.5),
        predators=around(0.08, 0.6) if "wild_predators" in wrongs else around(0.004, 0.8),
        hyper_arrive=between(14, 45) if "hyperparasitoids" in wrongs else 1e9,
        hyper_search=around(0.10, 0.4),
        mean=between(scene.coolest, scene.warmest),
        drift=between(-0.02, 0.06),
        stray_sd=between(0.8, 2.6),
        stray_memory=between(0.5, 0.85),
        half_range=between(2.0, 6.5),
        floor=between(6, 14),
        vent=between(23, 29),
        gradient=between(3.0, 6.0) if "gradients" in wrongs else between(0.0, 0.8),
        logger_bias=float(rng.choice([-1, 1])) * between(1.5, 3.5)
        if "biased_logger" in wrongs
        else rng.normal(0, 0.3),
        logger_noise=0.3,
        day_of_year=int(rng.integers(60, 170)),
        latitude=between(36, 55),
    )
