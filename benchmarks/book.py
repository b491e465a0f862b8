"""How long a big book takes: ten seasons of a farm of twenty houses, invented, then each question timed.

``python -m benchmarks.book make FILE`` writes the book (minutes), ``python -m benchmarks.book ask FILE`` times what is
asked of it. Everything in it is invented; a seed makes it the same each time.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from benchmarks.book_week import week_rows

from outpace.records.book import Book
from outpace.terms.enemies import Allocation, Check, Lot, OrderLine, Pack, Release
from outpace.terms.place import Climate, Farm, House, PlantsIn
from outpace.terms.scouting import Card, Count, Mummies, Walk
from outpace.terms.upkeep import Decision, Harvest, Spray

FARM = "Twenty houses (invented)"
HOUSES, UNITS, WEEKS = 20, 20, 35
SUPPLIER, ENEMY = "Supplier (invented)", "aphidius_colemani"


def farm() -> Farm:
    """Return the invented farm."""
    return Farm(
        farm=FARM,
        latitude=43.6,
        longitude=-8.1,
        time_zone="Europe/Madrid",
        currency="EUR",
        labour_per_h=18.0,
        country="ES",
    )


def houses(planted: date) -> list[House]:
    """Return the houses as they are in one season."""
    return [
        House(
            farm=FARM,
            house=f"house {number:02}",
            crop="sweet_pepper",
            area_m2=1_000.0 + 50 * number,
            plants=2_500,
            planted=planted,
            action_level=1.0,
            action_unit="leaf",
        )
        for number in range(1, HOUSES + 1)
    ]


def season(year: int, until: datetime, draw: np.random.Generator) -> Iterator[list[Any]]:
    """Return what is written down in one season, in portions as a farm would enter it."""
    first = datetime(year, 2, 16, 8, tzinfo=UTC)
    yield list(houses(first.date()))
    for week in range(WEEKS):
        monday = first + timedelta(weeks=week)
        if monday + timedelta(days=6) > until:
            return
        yield list(_parcel(year, week, monday))
        rows: list[Any] = []
        for number in range(1, HOUSES + 1):
            rows += _house_week(f"house {number:02}", year, week, monday, draw)
        yield rows


def _parcel(year: int, week: int, monday: datetime) -> Iterator[Any]:
    if week % 2:
        return
    order, lot = f"o{year}-{week}", f"lot {year}-{week:02}"
    yield OrderLine(
        order=order,
        line=1,
        farm=FARM,
        placed=monday - timedelta(days=6),
        supplier=SUPPLIER,
        enemy=ENEMY,
        form="mummies",
        packs=10,
        pack_size=1_000,
        delivery_date=monday.date(),
        status="arrived",
        unit_price=44.0,
        freight=14.0,
        invoice=f"inv {order}",
    )
    yield Lot(
        lot=lot,
        order=order,
        line=1,
        enemy=ENEMY,
        form="mummies",
        label_counts="units_in_pack",
        labelled_number=10_000,
        packed=(monday - timedelta(days=2)).date(),
        arrived=monday,
    )
    yield Check(
        lot=lot, time=monday + timedelta(days=5), kind="emergence", looked_at=100, positive=80, days=5.0
    )
    for number in range(1, HOUSES + 1):
        house = f"house {number:02}"
        yield Allocation(order=order, line=1, farm=FARM, house=house, release_date=monday.date(), number=500)
        yield Release(
            release=f"{lot} {house}",
            farm=FARM,
            house=house,
            time=monday + timedelta(hours=9),
            lot=lot,
            number=500,
        )


def _house_week(
    house: str, year: int, week: int, monday: datetime, draw: np.random.Generator
) -> Iterator[Any]:
    key = f"{house} {year}-{week:02}"
    if week == 0:
        yield PlantsIn(
            batch=f"batch {key}",
            farm=FARM,
            house=house,
            time=monday,
            crop="sweet_pepper",
            number=2_500,
            sprays_told="no",
        )
    walked = monday + timedelta(days=1)
    yield Walk(
        walk=key,
        farm=FARM,
        house=house,
        time=walked,
        unit="leaf",
        chosen="random",
        scout="scout (invented)",
        minutes=20.0,
    )
    held = draw.negative_binomial(0.4, 0.4 / (0.4 + draw.gamma(1.0, 0.4)), size=UNITS)
    for unit, aphids in enumerate(held, 1):
        yield Count(walk=key, unit_no=unit, pest="myzus_persicae" if aphids else "any", aphids=str(aphids))
    for unit in range(1, 4):
        yield Mummies(walk=key, unit_no=unit, colour="tan", closed=int(draw.poisson(0.5)), empty_smooth=0)
    yield Decision(
        decision=key,
        farm=FARM,
        house=house,
        time=walked + timedelta(hours=9),
        chosen="wait",
        reason="level not near",
    )
    yield Card(
        farm=FARM,
        house=house,
        card="door",
        hung=monday - timedelta(days=7),
        time=walked,
        winged=int(draw.poisson(1)),
    )
    if week % 5 == 3:
        begins = monday + timedelta(days=2, hours=9)
        yield Spray(
            spray=key,
            farm=FARM,
            house=house,
            crop="sweet_pepper",
            start=begins,
            end=begins + timedelta(hours=1),
            kind="fungicide",
            product="invented",
            reason="mildew",
            operator="grower (invented)",
            reentry_h=12.0,
            harvest_interval_d=1.0,
            kill_enemy_share=0.1,
            residual_enemy_share=0.1,
            residual_d=3.0,
        )
    if week >= 10:
        for day in (0, 4):
            picked = monday + timedelta(days=day, hours=1)
            yield Harvest(
                harvest=f"{key} {day}",
                farm=FARM,
                house=house,
                time=picked,
                lot_code=f"C{year}{week:02}{day}{house[-2:]}",
                amount=300.0,
                unit="kg",
            )


def climate(year: int, week: int, house: str, until: datetime) -> list[Climate]:
    """Return the hours of one house and week."""
    first = datetime(year, 2, 16, tzinfo=UTC)
    hours = min((week + 1) * 168, max(0, int((until - first).total_seconds() // 3600)))
    at = np.arange(hours)
    warmth = 19 + 5 * np.sin(2 * np.pi * (at % 24 - 9) / 24)
    return [
        Climate(
            farm=FARM,
            house=house,
            place="canopy",
            source="logger",
            time=first + timedelta(hours=int(h)),
            temperature_degc=round(float(warmth[h]), 2),
        )
        for h in at[week * 168 :]
    ]


def make(place: Path, seasons: int) -> None:
    """Write the book."""
    until = datetime.now(UTC)
    draw = np.random.default_rng(20)
    first_year = until.year - seasons + 1
    with Book.open(place, create=True) as book:
        pack = Pack(
            supplier=SUPPLIER,
            enemy=ENEMY,
            form="mummies",
            pack_size=1_000,
            label_counts="units_in_pack",
            price=44.0,
            freight_per_parcel=14.0,
            cutoff_weekday="Thu",
            delivery_weekday="Tue",
            lead_d=4,
        )
        book.record([farm(), pack], by="invented", recorded=datetime(first_year, 1, 1, tzinfo=UTC))
        for year in range(first_year, until.year + 1):
            for rows in season(year, until, draw):
                book.record(rows, by="invented", correct=True, recorded=_known(rows, until))
            for week in range(WEEKS):
                for house in houses(date(year, 2, 16)):
                    rows = climate(year, week, house.house, until)
                    if rows:
                        book.record(rows, by="invented", recorded=rows[-1].time + timedelta(hours=1))
            print(f"{year} written", flush=True)
        release = next(row for row in book.snapshot(only={"releases": {}}).table(Release))
        book.record([replace(release, number=450)], by="invented", correct=True, why="counted again")


def _known(rows: list[Any], until: datetime) -> datetime:
    times = [row.time for row in rows if isinstance(row, Walk | Release | Harvest)]
    planted = [
        datetime(row.planted.year, row.planted.month, row.planted.day, tzinfo=UTC)
        for row in rows
        if isinstance(row, House)
    ]
    return min(max([*times, *planted], default=until) + timedelta(days=1), until)


def ask(place: Path) -> None:
    """Time each question, and print its answer's size."""
    from outpace.season.audit import audit
    from outpace.season.open_book import snapshot
    from outpace.season.trace import trace
    from outpace.surfaces.audit_files import audit_tables
    from outpace.surfaces.sheets import audit_pack
    from outpace.surfaces.tables import csv_bytes, xlsx_bytes

    with Book.open(place) as book:
        counts = book.row_counts()
        print({name: number for name, number in counts.items() if number})
        codes = book.snapshot(only={"harvests": {}}).table(Harvest)
        last = codes[-1]
        first_day, last_day = str(codes[0].time.date().replace(month=1, day=1)), "today"
        year = f"{last.time.year - 1}-01-01", f"{last.time.year - 1}-12-31"
        timed("trace of the last harvest code", lambda: len(trace(book, last.lot_code)["entries"]))
        timed(
            "trace of the first lot",
            lambda: len(trace(book, "lot " + codes[0].lot_code[1:5] + "-00")["entries"]),
        )
        timed(
            "what a week or an entry reads", lambda: sum(len(rows) for rows in snapshot(book).rows.values())
        )
        whole = timed("audit of one season", lambda: audit(book, *year))
        timed("  as PDF", lambda: len(audit_pack.render(whole)))
        whole = timed("audit of all seasons", lambda: audit(book, first_day, last_day))
        timed("  as CSV", lambda: sum(len(csv_bytes(table)) for table in audit_tables(whole).values()))
        timed("  as XLSX", lambda: len(xlsx_bytes(audit_tables(whole))))
        timed("  as PDF", lambda: len(audit_pack.render(whole)))
        timed("verify", lambda: len(book.verify()))
    week_rows(place, datetime(last.time.year - (last.time.month < 8), 7, 15, 7, tzinfo=UTC))


def timed(what: str, work: Callable[[], Any]) -> Any:
    """Run some work, print how long it took by the wall and in processor time, and return its result."""
    begun, used = time.perf_counter(), time.process_time()
    found = work()
    size = found if isinstance(found, int) else ""
    wall, processor = time.perf_counter() - begun, time.process_time() - used
    print(f"{what:<34} {wall:7.2f} s, of processor {processor:6.2f} s  {size}", flush=True)
    return found


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("deed", choices=("make", "ask"))
    parser.add_argument("file", type=Path)
    parser.add_argument("--seasons", type=int, default=10)
    told = parser.parse_args()
    if told.deed == "make":
        make(told.file, told.seasons)
    else:
        ask(told.file)


if __name__ == "__main__":
    main()
