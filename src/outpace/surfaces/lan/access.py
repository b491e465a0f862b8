"""Who comes in over the local network: only by a name of this machine, over TLS, and signed in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import quote

from outpace.surfaces.lan.authority import Papers
from outpace.surfaces.lan.people import SESSION_S, People

COOKIE = "__Host-outpace"
OPEN_PATHS = frozenset({"/sign-in", "/trust", "/trust/outpace.crt"})


@dataclass(frozen=True, slots=True)
class Access:
    """What the door of the local network needs to know."""

    people: People
    papers: Papers
    names: frozenset[str]
    port: int

    @property
    def addresses(self) -> list[str]:
        """Return the addresses of the pages on the local network."""
        return [f"https://{f'[{name}]' if ':' in name else name}:{self.port}/" for name in sorted(self.names)]

    def person(self, headers: Mapping[bytes, bytes]) -> str | None:
        """Return who is signed in by the cookie of a request."""
        return self.people.signed_in(token_of(headers))


def token_of(headers: Mapping[bytes, bytes]) -> str | None:
    """Return the token in the cookie of a request, if there is one.

    Examples
    --------
    >>> token_of({b"cookie": b"a=1; __Host-outpace=xyz"}), token_of({})
    ('xyz', None)
    """
    try:
        cookies = SimpleCookie(headers.get(b"cookie", b"").decode("latin-1"))
    except CookieError:
        return None
    return cookies[COOKIE].value if COOKIE in cookies else None


def cookie_of(token: str) -> str:
    """Return the header that gives a browser its session: over TLS only, never to scripts or other sites."""
    lives = SESSION_S if token else 0
    return f"{COOKIE}={token}; Max-Age={lives}; Path=/; Secure; HttpOnly; SameSite=Strict"


def is_open(path: str) -> bool:
    """Return whether a page can be opened before signing in: the sign-in, how to trust, and their looks."""
    return path in OPEN_PATHS or path.startswith("/static/")


def sign_in_address(scope: Mapping[str, Any]) -> str:
    """Return where to sign in, with the page that was wanted.

    Examples
    --------
    >>> sign_in_address({"path": "/house/a b", "query_string": b"farm=x"})
    '/sign-in?to=%2Fhouse%2Fa%2520b%3Ffarm%3Dx'
    """
    wanted = quote(scope["path"])
    if told := scope.get("query_string", b"").decode("latin-1"):
        wanted += f"?{told}"
    return f"/sign-in?to={quote(wanted, safe='')}"


def inside(to: str | None) -> str:
    """Return a page of ours to go on to; anything else leads to the first page.

    Examples
    --------
    >>> inside("/plan"), inside("//elsewhere"), inside("https://elsewhere"), inside("/\\\\elsewhere"), inside(None)
    ('/plan', '/', '/', '/', '/')
    """
    if not to or not to.startswith("/") or to[1:2] == "/" or any(ord(c) < 32 or c == "\\" for c in to):
        return "/"
    return to
