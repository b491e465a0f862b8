"""Who may read the pages, and what a browser may do with them."""

from __future__ import annotations

import ipaddress
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from typing import TYPE_CHECKING, Any

from outpace.language import say

if TYPE_CHECKING:
    from outpace.surfaces.lan.access import Access

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

READS = frozenset({"GET", "HEAD", "OPTIONS"})
NAMES = frozenset({"localhost", "127.0.0.1", "[::1]"})

POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)

HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=(), payment=(), usb=()"),
)


def host_name(header: str) -> str:
    """Return the name in a Host header, without its port.

    Examples
    --------
    >>> [host_name(h) for h in ("localhost:8765", "127.0.0.1", "[::1]:80", "a.example:1:2")]
    ['localhost', '127.0.0.1', '[::1]', 'a.example:1:2']
    """
    if header.startswith("["):
        name, _, rest = header.partition("]")
        return f"{name}]" if not rest or rest.startswith(":") else header
    name, _, port = header.partition(":")
    return name if not port or port.isdigit() else header


def is_near(client: str | None) -> bool:
    """Return whether a caller sits on this machine."""
    if client is None:
        # A socket of this machine's own kind carries no address.
        return True
    try:
        address = ipaddress.ip_address(client)
    except ValueError:
        return False
    mapped = getattr(address, "ipv4_mapped", None)
    return (mapped or address).is_loopback


def is_ours(headers: Iterable[tuple[bytes, bytes]], scheme: str = "http") -> bool:
    """Return whether a form comes from these pages, or from no browser at all.

    A browser says from where it sends. Our pages tell nobody where they are, so that ``Origin`` is "null" even
    for their own forms; the newer ``Sec-Fetch-Site`` is looked at first.

    Examples
    --------
    >>> is_ours([(b"sec-fetch-site", b"cross-site")]), is_ours([(b"origin", b"null")]), is_ours([])
    (False, False, True)
    """
    told = {key: value.decode("latin-1") for key, value in headers}
    site, host = told.get(b"sec-fetch-site"), told.get(b"host", "")
    if site is not None:
        return site in ("same-origin", "none")
    origin = told.get(b"origin")
    return origin is None or origin.lower() == f"{scheme}://{host}".lower()


class Guard:
    """Let in only this machine asking by its own name, and send every answer out with its headers.

    A page of another site can make a browser ask 127.0.0.1 under that site's own name; the name in the
    request then tells, and the request is refused. What comes over TLS comes from the local network: it is let in
    by the names the certificate holds, and signed in.

    Parameters
    ----------
    app : ASGI application
        What is guarded.
    lan : Access, optional
        The door of the local network; left out, there is none.
    """

    def __init__(self, app: App, lan: Access | None = None) -> None:
        self.app = app
        self.lan = lan

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        named = [value.decode("latin-1") for key, value in scope["headers"] if key == b"host"]
        client = scope.get("client")

        async def send_guarded(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                told = {key.lower() for key, _ in message.get("headers", ())}
                extra = [pair for pair in HEADERS if pair[0] not in told]
                if b"cache-control" not in told:
                    extra.append((b"cache-control", b"no-store"))
                message["headers"] = [*message.get("headers", ()), *extra]
            await send(message)

        if scope.get("scheme") == "https":
            await self._from_the_network(scope, receive, send_guarded, named)
        elif not is_near(client[0] if client else None):
            await _refuse(send_guarded, 403, say("These pages are for this machine only."))
        elif len(named) != 1 or host_name(named[0]).lower() not in NAMES:
            await _refuse(
                send_guarded, 421, say("These pages answer to localhost, 127.0.0.1 and [::1] only.")
            )
        elif scope["method"] not in READS and not is_ours(scope["headers"]):
            await _refuse(send_guarded, 403, say("A form is taken from these pages only."))
        else:
            await self.app(scope, receive, send_guarded)

    async def _from_the_network(self, scope: Scope, receive: Receive, send: Send, named: list[str]) -> None:
        from outpace.surfaces.lan.access import is_open, sign_in_address

        if self.lan is None:
            await _refuse(send, 403, say("These pages are for this machine only."))
        elif len(named) != 1 or host_name(named[0]).strip("[]").lower() not in self.lan.names:
            await _refuse(send, 421, say("These pages answer to the addresses in their certificate only."))
        elif scope["method"] not in READS and not is_ours(scope["headers"], "https"):
            await _refuse(send, 403, say("A form is taken from these pages only."))
        elif is_open(scope["path"]) or self.lan.person(dict(scope["headers"])):
            await self.app(scope, receive, send)
        elif scope["path"].startswith("/api/") or scope["method"] not in READS:
            await _refuse(send, 401, say("Sign in first."))
        else:
            there = sign_in_address(scope).encode("ascii")
            await send(
                {
                    "type": "http.response.start",
                    "status": 303,
                    "headers": [(b"location", there), (b"content-length", b"0")],
                }
            )
            await send({"type": "http.response.body", "body": b""})


async def _refuse(send: Send, status: int, text: str) -> None:
    body = text.encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
