"""What an earlier plan of a house left for the next: figures of what was tried, and what its members say of today.

A plan tries hundreds of schedules in each house, and most of its time goes there. None of what it finds rests on
prices, risk, budget or other houses, so after a change in one house, or of a price, the others run nothing anew. What
is kept is taken only where all that it rests on is the very same, so the plan is the one worked out without it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from outpace.facts.table import Fact
from outpace.planning.figures import Figures
from outpace.planning.places import Place
from outpace.season.evidence import digest_of
from outpace.season.outlook import Outlook
from outpace.season.worked_out import keep_part, kept_part, once_from

TRIALS = "trials"


class Earlier:
    """The figures of one house: read when its places are known, and kept again when the plan is made."""

    def __init__(self, found: Outlook, *rests_on: int) -> None:
        self.found, self.rests_on = found, rests_on
        self.digest, self.figures = "", Figures()

    def __call__(self, places: Sequence[Place]) -> Figures:
        """Return the figures of an earlier plan of the same house with the same places."""
        self.digest = digest_of(self.found.digest, self.rests_on, [_place_told(place) for place in places])
        self.figures = Figures(kept_part(TRIALS, self.digest))
        return self.figures

    def keep(self) -> None:
        """Keep what was found beside what was known."""
        if self.digest and self.figures.grown:
            keep_part(TRIALS, self.digest, self.figures.kept())


def _place_told(place: Place) -> tuple[Any, ...]:
    """Return all of a place that a run reads; the price is not among it."""
    offer, pack = place.offer, place.offer.pack
    return (
        *(place.day, *place.goods, list(place.levels), place.units_per_label, pack.supplier, pack.pack_size),
        *(offer.day, offer.enemy, offer.units, offer.emergence, offer.share_female, offer.most_units),
    )


@dataclass(frozen=True)
class Standing:
    """What the members of a house say of today: its use of the published ones, and cautions of cold days.

    ``facts`` are those that the members were drawn with.
    """

    use: str
    cold: tuple[str, ...]
    facts: tuple[Fact, ...]


def standing_from(digest: str, work: Callable[[], Standing]) -> Standing:
    """Return what stands in a house as it was found before from the very same things, or find it and keep it."""

    def told() -> dict[str, Any]:
        found = work()
        return {"use": found.use, "cold": list(found.cold), "facts": [asdict(fact) for fact in found.facts]}

    kept = once_from("standing", digest, told)
    return Standing(kept["use"], tuple(kept["cold"]), tuple(Fact(**row) for row in kept["facts"]))
