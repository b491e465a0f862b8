"""The orders as one table: a row a house and line, for a spreadsheet or a supplier who wants a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from outpace.surfaces.tables import Table

COLUMNS = (
    "supplier",
    "cutoff",
    "delivery_date",
    "provisional",
    "enemy",
    "form",
    "packs",
    "pack_size",
    "unit_price",
    "price",
    "currency",
    "house",
    "number",
    "release_date",
)


def order_table(answer: Mapping[str, Any]) -> Table:
    """Return the lines of all orders; packs and price stand with the first house of a line, freight alone."""
    rows: list[list[Any]] = []
    for order in answer["orders"]:
        head = [
            order["supplier"],
            order["cutoff"],
            order["delivery_date"],
            "yes" if order["provisional"] else "no",
        ]
        for line in order["lines"]:
            for number, place in enumerate(line["houses"]):
                first = number == 0
                rows.append(
                    [
                        *head,
                        line["enemy"],
                        line["form"],
                        line["packs"] if first else None,
                        line["pack_size"],
                        line["unit_price"],
                        line["price"] if first else None,
                        order["currency"],
                        place["house"],
                        place["number"],
                        place["release_date"],
                    ]
                )
        freight: list[Any] = [None] * len(COLUMNS)
        freight[:4] = head
        freight[4], freight[9], freight[10] = "freight", order["freight"], order["currency"]
        rows.append(freight)
    return COLUMNS, rows
