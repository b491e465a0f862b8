"""The audit pack as tables for a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from outpace.language import say
from outpace.surfaces.tables import Table


def audit_tables(answer: Mapping[str, Any]) -> dict[str, Table]:
    """Return every table of the pack by name: the records, corrections, what is missing, the rules."""
    tables: dict[str, Table] = {
        section["name"]: ([column["name"] for column in section["columns"]], section["rows"])
        for section in answer["sections"]
    }
    tables["corrections"] = (
        ("at", "by", "why", "table", "key", "column", "old", "new", "withdrawn"),
        [
            (row["at"], row["by"], row["why"], row["table"], row["key"], *cells, row["withdrawn"])
            for row in answer["corrections"]
            for cells in (
                [(cell["column"], cell["old"], cell["new"]) for cell in row["columns"]]
                or [(None, row["text"], None)]
            )
        ],
    )
    tables["missing"] = (
        ("records", "key", "time", "house", "empty", "by_law", "rule", "check"),
        [
            (
                row["section"],
                row["key"],
                row["time"],
                row["house"],
                ", ".join(row["fields"]),
                row["law"],
                row["rule"],
                say("check with your authority"),
            )
            for row in answer["lacks"]
        ],
    )
    columns = (
        "region",
        "record",
        "fields",
        "keep_y",
        "since",
        "law",
        "driver",
        "source",
        "evidence",
        "note",
        "check",
    )
    tables["rules"] = (
        columns,
        [
            [", ".join(row[name]) if name == "fields" else row[name] for name in columns]
            for row in answer["rules"]
        ],
    )
    tables["about"] = (
        ("what", "value"),
        [
            ("farm", answer["farm"]),
            ("country", answer["country"]),
            ("latitude", answer["place"]["latitude"]),
            ("longitude", answer["place"]["longitude"]),
            ("from", answer["from"]),
            ("to", answer["to"]),
            (say("as known"), answer["as_of"]),
            (say("head of the book"), answer["head"]),
            *(("mind", line) for line in answer["cautions"]),
        ],
    )
    return tables
