"""What is judged about counting and about a house before its first walk: rows of no species, marked `practice`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from outpace.facts.table import load


@dataclass(frozen=True, slots=True)
class Judgements:
    """Priors that no count has replaced yet.

    Attributes
    ----------
    between_plants : float
        Share of the clumping, on the log, that sits between plants rather than within them.
    plant_memory_d : float
        How long a fixed plant stays better or worse than its neighbours. [d]
    about_sd : float
        Of the log of a total told as "about".
    first_sd, first_sd_per_week : float
        Of the log density before the first walk is weighed, and what each week before that walk adds, in variance.
    unseen_per_plant, unseen_sd : float
        Density of a pest that no walk has looked for yet, and the s.d. of its log.
    missed : float
        Aphids that a walk without finds may have missed.
    units_of_house : float
        Units of each zone as which the mean of the house counts.
    per_infested : float
        Aphids on an infested unit, where a line does not tell.
    walk_differs_sd : float
        How far a walk's mean lies from that of the house beyond chance; s.d. of the log.
    left_out_sd : float
        By how much numbers move in a week beyond the model's equations; s.d. of the log, growing as a random walk does.
    """

    between_plants: float
    plant_memory_d: float
    about_sd: float
    first_sd: float
    first_sd_per_week: float
    unseen_per_plant: float
    unseen_sd: float
    missed: float
    units_of_house: float
    per_infested: float
    walk_differs_sd: float
    left_out_sd: float


@lru_cache(maxsize=1)
def judgements() -> Judgements:
    """Return the judged figures of the facts.

    Examples
    --------
    >>> judgements().between_plants
    0.5
    """
    known = load()
    return Judgements(
        between_plants=known.one("", "clumping_between_plants").value,
        plant_memory_d=known.one("", "plant_memory").value,
        about_sd=known.one("", "told_about_sd").value,
        first_sd=known.one("", "first_density_sd").value,
        first_sd_per_week=known.one("", "first_density_sd", stage="per week").value,
        unseen_per_plant=known.one("", "unseen_density").value,
        unseen_sd=known.one("", "first_density_sd", stage="not looked for").value,
        missed=known.one("", "missed_aphids").value,
        units_of_house=known.one("", "zone_pooling").value,
        per_infested=known.one("", "aphids_per_infested_unit").value,
        walk_differs_sd=known.one("", "walk_differs_sd").value,
        left_out_sd=known.one("", "left_out_sd_per_sqrt_week").value,
    )
