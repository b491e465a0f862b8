"""What a virtual scout wrote, as the product reads it: the house, the walks, the parcels, the temperature."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from benchmarks.virtual_house.scout import CLASS_EDGES, Notebook
from benchmarks.virtual_house.season import Known
from numpy.typing import NDArray

from outpace.estimation.assimilation import Posterior
from outpace.estimation.hyperparasitoids import GENUS, share_taken, with_hyperparasitoids, without_signs
from outpace.estimation.lot_quality import lot_quality
from outpace.estimation.observations import LineSeen, MummiesSeen, Seen, WalkSeen
from outpace.estimation.weighing import in_order
from outpace.facts.table import Facts
from outpace.simulation.climate import hourly_ahead, prior_from_place
from outpace.simulation.model import HouseModel, Release, Spray, ZoneSpec
from outpace.terms.enemies import Check, Lot

Array = NDArray[np.float64]

EVENING = 18 / 24
EPOCH = datetime(2026, 1, 1, tzinfo=UTC)
POT_D = 14.0
WEEK_H = 7 * 24
HOLES_COUNT_D = 28
"""Empty mummies of so many days speak of hyperparasitoids."""


@dataclass(frozen=True)
class House:
    """One house on one day as the product holds it; days are those of the virtual house."""

    model: HouseModel
    walks: tuple[Seen, ...]
    releases: tuple[Release, ...]
    sprays: tuple[Spray, ...]
    temperature: Array
    today: int
    holes: tuple[int, int]
    """Holes read in the last four weeks, and how many of them were ragged."""


def house_of(known: Known, facts: Facts, members: int, ahead: int) -> House:
    """Return the house as the product would hold it, with temperature for ``ahead`` days."""
    place = known.place
    crop = place.scene.crop
    book_leaves = facts.one("", "leaves_per_plant", crop=crop).value
    leaves = float(max(1, round(place.leaves)))
    holes = holes_of(known)
    model = HouseModel(
        crop=crop,
        zones=(ZoneSpec("whole house", place.area_m2, float(place.plants)),),
        pests=(place.named,),
        enemies=(place.enemy,),
        hyperparasitoids=(GENUS,) if holes[1] else (),
        leaves_per_plant=leaves,
        leaf_area_m2=facts.one("", "leaf_area_per_plant", crop=crop).value * leaves / book_leaves,
    )
    course = prior_from_place(facts, place.latitude, place.day_of_year, known.day + ahead)
    heat = hourly_ahead(facts, known.logger, ahead, members, place.seed + 17, course=course)
    return House(
        model=model,
        walks=tuple(seen_of(each) for each in known.walks),
        releases=_releases(known, facts, members),
        sprays=tuple(Spray(each.day, None, each.kills_aphids, each.kills_wasps) for each in known.sprays),
        temperature=heat.hours,
        today=known.day,
        holes=holes,
    )


def holes_of(known: Known) -> tuple[int, int]:
    """Return how many holes of empty mummies were read in the last four weeks, and how many were ragged."""
    recent = [walk for walk in known.walks if walk.day > known.day - HOLES_COUNT_D]
    ragged = sum(int(walk.ragged.sum()) for walk in recent if walk.ragged is not None)
    smooth = sum(int(walk.smooth.sum()) for walk in recent if walk.smooth is not None)
    return ragged + smooth, ragged


def with_signs(house: House, posterior: Posterior, facts: Facts) -> Posterior:
    """Return what is held of a house with the hyperparasitoids that its ragged holes speak of."""
    read, ragged = house.holes
    if not ragged:
        return posterior
    hours = in_order(house.temperature, posterior.lineage)[24 * house.today :][:WEEK_H]
    share = share_taken(without_signs(facts), ragged, read)
    return with_hyperparasitoids(posterior, share, np.broadcast_to(hours.mean(axis=0), (posterior.members,)))


def seen_of(book: Notebook) -> Seen:
    """Return a walk as the product's likelihood takes it."""
    if book.style == "line":
        mummies = None if book.closed is None else float(book.closed.sum())
        return LineSeen(
            day=float(book.day),
            pest=0,
            looked_at=len(book.aphids),
            infested=book.infested,
            aphids_about=_about(float(book.aphids.sum())),
            mummies_about=mummies,
            unit=book.unit,
            zone=0,
            chosen="fixed" if book.fixed else "random",
        )
    low = book.aphids.astype(np.float64)
    high = low.copy()
    if book.style == "classes":
        for least, most in CLASS_EDGES:
            inside = (book.aphids >= least) & (book.aphids <= (np.inf if most is None else most))
            low[inside], high[inside] = least, np.inf if most is None else most
    mummies_seen: tuple[MummiesSeen, ...] = ()
    if book.closed is not None and book.smooth is not None and book.ragged is not None:
        empty = (book.smooth + book.ragged).astype(np.float64)
        mummies_seen = (MummiesSeen((0,), book.closed.astype(np.float64), empty),)
    return WalkSeen(
        day=float(book.day),
        unit=book.unit,
        chosen="fixed" if book.fixed else "random",
        zone=np.zeros(len(low), np.int64),
        plant=book.plant,
        low=low[None, :],
        high=high[None, :],
        mummies=mummies_seen,
    )


def mean_written(book: Notebook, leaves: float) -> float:
    """Return the mean per plant that the walk itself says, classes taken at their middle."""
    aphids = book.aphids.astype(np.float64)
    if book.style == "classes":
        for least, most in CLASS_EDGES:
            inside = (aphids >= least) & (aphids <= (np.inf if most is None else most))
            aphids[inside] = 1.5 * least if most is None else np.sqrt(least * most)
    if book.style == "line":
        aphids = np.array([_about(float(aphids.sum())) / len(aphids)])
    return float(aphids.mean()) * (leaves if book.unit == "leaf" else 1.0)


def _about(total: float) -> float:
    """Return a total as people tell it: two figures."""
    return float(f"{total:.2g}")


def _releases(known: Known, facts: Facts, members: int) -> tuple[Release, ...]:
    lots = [
        Lot(
            lot=f"P{i}",
            enemy=each.enemy,
            form="mummies",
            label_counts="units_in_pack",
            labelled_number=each.number,
        )
        for i, each in enumerate(known.parcels)
    ]
    checks = [
        Check(
            lot=f"P{i}",
            time=EPOCH + timedelta(days=each.came + POT_D),
            kind="emergence",
            looked_at=each.checked[0],
            positive=each.checked[1],
            days=POT_D,
        )
        for i, each in enumerate(known.parcels)
        if each.came is not None and each.checked is not None and each.came + POT_D <= known.day
    ]
    out = []
    for lot, parcel in zip(lots, known.parcels, strict=True):
        quality = lot_quality(facts, lot, checks, members, known.place.seed, lots=lots)
        day = (
            float(parcel.came) + 0.4 if parcel.came is not None else max(parcel.planned, known.day) + EVENING
        )
        out.append(
            Release(
                day=day,
                enemy=0,
                zone=0,
                number=parcel.number * quality.units_per_label,
                form="mummies",
                emergence=quality.emergence,
                share_female=quality.share_female,
            )
        )
    return tuple(out)
