"""Data packages of one house each, with fixed days, written as a farm's own files would be."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path

from tests.e2e.command_line import write_table

HOUSE = "Glen tunnel"
SUPPLIER = "Glen Insects (invented)"


def _at(day: date, hour: int = 9) -> str:
    return datetime.combine(day, time(hour)).isoformat(timespec="minutes")


def write_place(folder: Path, first: date, *, heating: float = 10, level: float = 5) -> None:
    """Write a farm on a cool coast with one house of sweet pepper."""
    farm = {
        "farm": "Glen",
        "latitude": 55.9,
        "longitude": -4.3,
        "time_zone": "Europe/London",
        "currency": "GBP",
        "recorded": _at(first),
    }
    house = {
        "house": HOUSE,
        "crop": "sweet pepper",
        "area_m2": 300,
        "plants": 750,
        "leaves_per_plant": 40,
        "heating_setpoint_degc": heating,
        "vent_setpoint_degc": 24,
        "planted": first.isoformat(),
        "action_level": level,
        "action_unit": "plant",
        "recorded": _at(first),
    }
    write_table(folder, "farm", [farm])
    write_table(folder, "houses", [house])


def write_hours(folder: Path, first: date, last: date, degc: float) -> None:
    """Write a constant temperature among the leaves, hour by hour."""
    begin = datetime.combine(first, time())
    hours = ((last - first).days + 1) * 24
    rows = [
        {
            "house": HOUSE,
            "sensor": "G1",
            "place": "canopy",
            "source": "logger",
            "time": (begin + timedelta(hours=hour)).isoformat(timespec="minutes") + "+00:00",
            "temperature_degc": degc,
        }
        for hour in range(hours)
    ]
    write_table(folder, "climate", rows)


def write_walks(
    folder: Path, pest: str, walks: Sequence[tuple[date, int, int, int | None]], *, looked_at: int = 30
) -> None:
    """Write walks told in one line: day, plants infested, aphids in all, mummies (None: not looked for)."""
    write_table(
        folder,
        "walks",
        [
            {
                "walk": f"G-{day}",
                "house": HOUSE,
                "time": _at(day),
                "unit": "plant",
                "chosen": "random",
                "looked_at": looked_at,
                "finished": "yes",
            }
            for day, *_ in walks
        ],
    )
    write_table(
        folder,
        "walk_lines",
        [
            {
                "walk": f"G-{day}",
                "pest": pest if infested else "any",
                "looked_at": looked_at,
                "infested": infested,
                "aphids_about": aphids,
                "mummies_about": "" if mummies is None else mummies,
            }
            for day, infested, aphids, mummies in walks
        ],
    )


def write_release(folder: Path, enemy: str, days: Sequence[date], number: int) -> None:
    """Write releases of mummies, each from a lot whose label counts units."""
    lots = [
        {
            "lot": f"L-{day}",
            "enemy": enemy,
            "form": "mummies",
            "label_counts": "units_in_pack",
            "labelled_number": number,
            "arrived": _at(day, 8),
        }
        for day in days
    ]
    releases = [
        {"release": f"R-{day}", "house": HOUSE, "time": _at(day, 18), "lot": f"L-{day}", "number": number}
        for day in days
    ]
    write_table(folder, "lots", lots)
    write_table(folder, "releases", releases)


def write_packs(folder: Path, enemies: Sequence[str], since: date) -> None:
    """Write a price list of one invented supplier: every enemy at one price."""
    rows = [
        {
            "supplier": SUPPLIER,
            "enemy": enemy,
            "form": "mummies",
            "pack_size": 250,
            "valid_from": since.isoformat(),
            "label_counts": "units_in_pack",
            "price": 20,
            "freight_per_parcel": 9,
            "cutoff_weekday": "Wed",
            "cutoff_time": "12:00",
            "delivery_weekday": "Tue",
            "lead_d": 6,
        }
        for enemy in enemies
    ]
    write_table(folder, "packs", rows)
