"""Table Schemas and the descriptor of the data package, derived from the records of the trade."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from outpace.language import say
from outpace.records.columns import Column, table
from outpace.records.references import references_from
from outpace.terms.scouting import COUNT_CLASSES
from outpace.terms.tables import TABLES

TYPES = {str: "string", int: "integer", float: "number", bool: "boolean", datetime: "datetime", date: "date"}

BOOKKEEPING_FIELDS: tuple[dict[str, Any], ...] = (
    {"name": "recorded", "type": "datetime", "format": "any", "description": "when it became known"},
    {"name": "recorded_by", "type": "string", "description": "who made it known"},
    {"name": "replaces", "type": "string", "description": "the event this row corrects"},
    {
        "name": "withdrawn",
        "type": "boolean",
        "trueValues": ["yes"],
        "falseValues": ["no"],
        "description": "yes: this row no longer holds",
    },
)

EVENT_FIELD: dict[str, Any] = {
    "name": "event",
    "type": "string",
    "description": "the batch that brought the row",
}


def field_of(column: Column) -> dict[str, Any]:
    """Return the Table Schema field of one column.

    >>> field_of(table("houses").column("action_unit"))["constraints"]
    {'enum': ['leaf', 'shoot', 'plant', 'share_infested']}
    """
    field: dict[str, Any] = {"name": column.stored, "type": TYPES[column.kind]}
    if column.kind is datetime:
        field["format"] = "any"  # ISO 8601 with its offset, as the farm's clock shows it
    if column.kind is bool:
        field |= {"trueValues": ["yes"], "falseValues": ["no"]}
    rules = column.rules
    limits: dict[str, Any] = {}
    if column.required:
        limits["required"] = True
    if rules.get("least") is not None:
        limits["minimum"] = rules["least"]
    if rules.get("most") is not None:
        limits["maximum"] = rules["most"]
    if rules.get("above") is not None:
        limits["minimum"] = rules["above"]
        field["description"] = say("above {above:g}", above=rules["above"])
    if rules.get("one_of"):
        limits["enum"] = list(rules["one_of"])
    if rules.get("each_of"):
        name = f"({'|'.join(rules['each_of'])})"
        limits["pattern"] = rf"{name}([\s,;|]+{name})*"
    if rules.get("clock"):
        limits["pattern"] = r"([01]\d|2[0-3]):[0-5]\d"
    if rules.get("count"):
        classes = "|".join(re.escape(name) for name in COUNT_CLASSES if not name.isdigit())
        limits["pattern"] = rf"\d+|{classes}"
        field["description"] = say("a whole number, a class, or present")
    if rules.get("species"):
        field["description"] = say("Latin name in lower case with underscores; any, unknown for aphids")
    if rules.get("past"):
        field["description"] = say("lies in the past")
    if limits:
        field["constraints"] = limits
    return field


def schema_of(name: str, resources: Iterable[str] | None = None) -> dict[str, Any]:
    """Return the Table Schema of one table: fields, key, references.

    Parameters
    ----------
    name
        The table.
    resources : iterable of str, optional
        Tables in the same package; references to others are left out. Default: all are there.
    """
    described = table(name)
    there = None if resources is None else set(resources)
    schema: dict[str, Any] = {
        "fields": [*(field_of(column) for column in described.columns), *BOOKKEEPING_FIELDS],
        "missingValues": [""],
    }
    keys = [column.stored for column in described.keys]
    if all(column.required for column in described.keys):
        schema["primaryKey"] = keys
    else:
        schema["uniqueKeys"] = [keys]  # some key cells may be empty, which a primary key forbids
    references = [
        {
            "fields": list(reference.columns),
            "reference": {
                "resource": reference.parent,
                "fields": [column.stored for column in table(reference.parent).keys],
            },
        }
        for reference in references_from(name)
        # A reference with an empty cell leans on nothing, which a Table Schema cannot say.
        if all(described.column(column).required for column in reference.columns)
        and (there is None or reference.parent in there)
    ]
    if references:
        schema["foreignKeys"] = references
    return schema


def resource_of(name: str, path: str, schema: dict[str, Any]) -> dict[str, Any]:
    """Return the descriptor of one CSV file."""
    return {
        "name": name,
        "path": path,
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": schema,
    }


def history_schema(name: str) -> dict[str, Any]:
    """Return the Table Schema of a table that holds the history: ``events``, ``people`` or ``climate_past``."""
    if name == "climate_past":
        return {"fields": [*schema_of("climate")["fields"], EVENT_FIELD], "missingValues": [""]}
    if name == "people":
        fields = [
            {"name": "person", "type": "string", "constraints": {"required": True}},
            {"name": "name", "type": "string"},
        ]
        return {"fields": fields, "missingValues": [""], "primaryKey": ["person"]}
    kinds = {"seq": "integer", "recorded": "datetime"}
    fields = []
    for column in (
        "event",
        "device",
        "seq",
        "previous_hash",
        "recorded",
        "by",
        "why",
        "table",
        "key",
        "content",
    ):
        field: dict[str, Any] = {"name": column, "type": kinds.get(column, "string")}
        if column == "recorded":
            field["format"] = "any"
        if column not in ("why", "table", "key"):
            field["constraints"] = {"required": True}
        fields.append(field)
    return {"fields": fields, "missingValues": [""], "primaryKey": ["event"]}


def file_schema(name: str, there: set[str], *, history: bool) -> dict[str, Any]:
    """Return the Table Schema of one file of a package."""
    if name not in TABLES:
        return history_schema(name)
    schema = schema_of(name, there)
    if name == "climate" and history:
        schema["fields"].append(EVENT_FIELD)
    return schema


def package_descriptor(
    files: Iterable[tuple[str, str]], *, name: str = "book", history: bool = False
) -> dict[str, Any]:
    """Return the descriptor of a data package.

    Parameters
    ----------
    files
        Pairs of file stem and table: ``("climate-2026", "climate")``.
    name : str
        The name of the package.
    history : bool, default False
        Whether climate rows name their event.
    """
    pairs = list(files)
    there = {table_name for _, table_name in pairs}
    return {
        "profile": "tabular-data-package",
        "name": name,
        "title": say("The book of a farm: what was seen, bought, released and done"),
        "resources": [
            resource_of(stem, f"{stem}.csv", file_schema(table_name, there, history=history))
            for stem, table_name in pairs
        ],
    }
