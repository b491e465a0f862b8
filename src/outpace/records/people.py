"""Names of people, kept apart so that they can be erased without touching the history.

Events and row versions hold a random id. Erasing a person removes the name here; every chain stays valid.
"""

from __future__ import annotations

import secrets
from datetime import datetime

import sqlalchemy as sa

from outpace.records.canonical import recorded_text
from outpace.records.tables import people

ERASED = "(erased)"


class People:
    """The names known to one book, read once for one transaction."""

    def __init__(self, connection: sa.Connection) -> None:
        self._connection = connection
        self._name_of: dict[str, str | None] = {}
        self._id_of: dict[str, str] = {}
        for person, name in connection.execute(sa.select(people.c.person, people.c.name)):
            self._name_of[person] = name
            if name is not None:
                self._id_of[name] = person

    def name(self, person: str | None) -> str | None:
        """Return the name behind an id; a fixed word where it was erased."""
        if person is None:
            return None
        return self._name_of.get(person) or ERASED

    def name_or_none(self, person: str) -> str | None:
        """Return the name behind an id; None where it is unknown or was erased."""
        return self._name_of.get(person)

    def is_erased(self, person: str | None) -> bool:
        return person is not None and self._name_of.get(person) is None

    def id(self, name: str | None) -> str | None:
        """Return the id of a name, giving it one where it is new."""
        if name is None:
            return None
        if name not in self._id_of:
            self._add(f"p{secrets.token_hex(8)}", name)
        return self._id_of[name]

    def _add(self, person: str, name: str | None) -> None:
        self._connection.execute(people.insert().values(person=person, name=name))
        self._name_of[person] = name
        if name is not None:
            self._id_of[name] = person

    def adopt(self, person: str, name: str | None) -> None:
        """Take over an id from another book; where the id is known, what this book says stands."""
        if person not in self._name_of:
            if name in self._id_of:
                # Two books met the same person apart: both ids stay, both speak the name.
                self._connection.execute(people.insert().values(person=person, name=name))
                self._name_of[person] = name
            else:
                self._add(person, name)

    def erase(self, name: str, now: datetime) -> list[str]:
        """Remove a name for good and return the ids that bore it."""
        ids = [person for person, known in self._name_of.items() if known == name]
        for person in ids:
            self._connection.execute(
                people.update().where(people.c.person == person).values(name=None, erased=recorded_text(now))
            )
            self._name_of[person] = None
        self._id_of.pop(name, None)
        return ids
