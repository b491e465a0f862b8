"""The pages on the local network: certificate, names that may sign in, and what is said on the terminal."""

from __future__ import annotations

import asyncio
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.season.open_book import data_folder
from outpace.surfaces.cli import door
from outpace.surfaces.lan.access import Access
from outpace.surfaces.lan.authority import own_addresses, papers
from outpace.surfaces.lan.people import People

if TYPE_CHECKING:
    import uvicorn

FOLDER = "network"
ANY_ADDRESS = "0.0.0.0"


@dataclass(frozen=True, slots=True)
class Network:
    """An open socket on the local network, and the door behind it."""

    access: Access
    opened: socket.socket

    def serve(self, plain: uvicorn.Config, near: socket.socket) -> None:
        """Serve one application on this machine and on the local network until Ctrl-C."""
        import uvicorn

        safe = uvicorn.Config(
            plain.app,
            log_level="warning",
            lifespan="off",
            access_log=False,
            proxy_headers=False,
            ssl_certfile=str(self.access.papers.certificate),
            ssl_keyfile=str(self.access.papers.key),
        )
        self.opened.listen(128)
        _tell(self.access)

        class Beside(uvicorn.Server):
            """A server that leaves the signals to the other one."""

            @contextmanager
            def capture_signals(self) -> Iterator[None]:
                yield

        first, second = uvicorn.Server(plain), Beside(safe)

        async def both() -> None:
            other = asyncio.create_task(second.serve(sockets=[self.opened]))
            try:
                await first.serve(sockets=[near])
            finally:
                second.should_exit = True
                await other

        asyncio.run(both())

    def close(self) -> None:
        """Close the socket and the file of names."""
        self.opened.close()
        self.access.people.close()


def open_network(host: str | None, port: int, person: str | None) -> Network:
    """Return the door of the local network, opened.

    Raises
    ------
    OutpaceError
        If this machine has no address in a local network, or nobody may sign in yet.
    """
    from outpace.surfaces.cli.serving import listen

    addresses = [host] if host else own_addresses()
    if not addresses:
        raise OutpaceError(
            say("this machine has no address in a local network"),
            where="`--lan`",
            hint=say("join the network first, or name the address with `--host`"),
        )
    folder = data_folder() / FOLDER
    made = papers(folder, [*addresses, "127.0.0.1"])
    people = People(folder / "people.db")
    try:
        if person is not None:
            people.add(person, _password(person))
        if not people.names():
            raise OutpaceError(
                say("nobody may sign in yet"),
                where="`--lan`",
                hint=say("`outpace serve --lan --person NAME` asks for a password"),
                code=ExitCode.USAGE,
            )
        opened = listen(host or ANY_ADDRESS, port)
    except BaseException:
        people.close()
        raise
    names = frozenset({*addresses, "127.0.0.1"}) if host is None else frozenset(addresses)
    return Network(Access(people, made, names, opened.getsockname()[1]), opened)


def _password(person: str) -> str:
    if sys.stdin.isatty():
        asked: str = typer.prompt(
            say("A password for {person}", person=person), hide_input=True, confirmation_prompt=True, err=True
        )
        return asked
    return sys.stdin.readline().rstrip("\r\n")


def _tell(access: Access) -> None:
    import segno

    shown = [each for each in access.addresses if "127.0.0.1" not in each] or access.addresses
    for address in shown:
        door.say(say("phones: {address}", address=address))
    door.say(say("trust, once a phone: {address}trust", address=shown[0]))
    if sys.stderr.isatty():
        segno.make(f"{shown[0]}trust", error="m").terminal(out=sys.stderr, compact=True)
    door.say(say("fingerprint (SHA-256): {fingerprint}", fingerprint=access.papers.fingerprint))
    door.say(say("may sign in: {names}", names=", ".join(access.people.names())))
    door.say(
        say("Anyone in this network sees the sign-in: use a network with its own password, not the guests'.")
    )
    door.say(say("The keys lie in {folder}: give that folder to nobody.", folder=access.papers.key.parent))
