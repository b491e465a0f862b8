"""Who may open the pages from another machine: names with argon2 hashes, and sessions of which only hashes are kept."""

from __future__ import annotations

import hashlib
import os
import secrets
import sqlite3
import threading
import time
from collections.abc import Callable
from pathlib import Path

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from outpace.errors import OutpaceError
from outpace.language import say

SHORTEST = 10
LONGEST = 200
SESSION_S = 30 * 24 * 3600
FREE_TRIES = 5
LONGEST_WAIT_S = 900.0
MOST_REMEMBERED = 10_000

TABLES = """
create table if not exists people (name text primary key, hash text not null, since real not null) strict;
create table if not exists sessions (token text primary key, name text not null, until real not null) strict;
"""


class TooOften(Exception):
    """Too many wrong tries; ``wait_s`` tells for how long none is looked at."""

    def __init__(self, wait_s: float) -> None:
        self.wait_s = wait_s
        super().__init__(f"wait {wait_s:.0f} s")


class People:
    """The names that may sign in, and who is signed in, in a file that only its owner can read.

    Parameters
    ----------
    path : Path
        The file; made where there is none.
    clock : callable
        Seconds since the epoch.
    """

    def __init__(self, path: Path, clock: Callable[[], float] = time.time) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
        path.chmod(0o600)
        self._clock = clock
        self._file = sqlite3.connect(path, check_same_thread=False)
        self._file.executescript(TABLES)
        self._lock = threading.Lock()
        self._hasher = PasswordHasher()
        self._nobody = self._hasher.hash(secrets.token_hex(16))
        self._tries: dict[str, tuple[int, float]] = {}

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def names(self) -> list[str]:
        """Return who may sign in."""
        with self._lock:
            return [str(row[0]) for row in self._file.execute("select name from people order by name")]

    def add(self, name: str, password: str) -> None:
        """Let a person sign in, or give a known one another password; old sessions of that name end."""
        told = name.strip()
        if not told or len(told) > 100:
            raise OutpaceError(
                say("a person needs a name"), where="`--person`", allowed=say("1 to 100 letters")
            )
        if not SHORTEST <= len(password) <= LONGEST:
            raise OutpaceError(
                say("a password of {n} letters", n=len(password)),
                where=told,
                allowed=say("{least} to {most} letters", least=SHORTEST, most=LONGEST),
                hint=say("four words that nobody would put together are easy to keep in mind"),
            )
        hashed = self._hasher.hash(password)
        with self._lock, self._file:
            self._file.execute(
                "insert into people values (?, ?, ?) on conflict (name) do update set hash = excluded.hash",
                (told, hashed, self._clock()),
            )
            self._file.execute("delete from sessions where name = ?", (told,))

    def sign_in(self, name: str, password: str, address: str) -> str | None:
        """Return the token of a new session, or None where name and password do not belong together.

        Raises
        ------
        TooOften
            After some wrong tries from an address or for a name: each further one doubles the wait.
        """
        told = name.strip()
        keys = (f"name {told.casefold()[:100]}", f"address {address}")
        with self._lock:
            now = self._clock()
            wait = max(self._tries.get(key, (0, 0.0))[1] for key in keys) - now
            if wait > 0:
                raise TooOften(wait)
            # Counted before the answer is known, so that tries at the same moment do not slip by together.
            for key in keys:
                self._count(key, now)
            row = self._file.execute("select hash from people where name = ?", (told,)).fetchone()
        known = row is not None and len(password) <= LONGEST
        # An unknown name takes as long as a known one.
        right = self._verified(str(row[0]) if known else self._nobody, password[:LONGEST]) and known
        if not right:
            return None
        token = secrets.token_urlsafe(32)
        with self._lock, self._file:
            for key in keys:
                self._tries.pop(key, None)
            self._file.execute("delete from sessions where until < ?", (self._clock(),))
            self._file.execute(
                "insert into sessions values (?, ?, ?)", (_hashed(token), told, self._clock() + SESSION_S)
            )
        return token

    def signed_in(self, token: str | None) -> str | None:
        """Return whose session a token is, or None."""
        if not token or len(token) > 200:
            return None
        with self._lock:
            row = self._file.execute(
                "select name from sessions where token = ? and until > ?", (_hashed(token), self._clock())
            ).fetchone()
        return str(row[0]) if row else None

    def sign_out(self, token: str | None) -> None:
        """End a session."""
        if token:
            with self._lock, self._file:
                self._file.execute("delete from sessions where token = ?", (_hashed(token),))

    def _verified(self, hashed: str, password: str) -> bool:
        try:
            return self._hasher.verify(hashed, password)
        except (VerificationError, InvalidHashError):
            return False

    def _count(self, key: str, now: float) -> None:
        if len(self._tries) >= MOST_REMEMBERED:
            self._tries = {k: kept for k, kept in self._tries.items() if kept[1] > now}
        wrong = self._tries.get(key, (0, 0.0))[0] + 1
        wait = 0.0 if wrong < FREE_TRIES else min(LONGEST_WAIT_S, 2.0 ** (wrong - FREE_TRIES + 1))
        self._tries[key] = (wrong, now + wait)


def _hashed(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
