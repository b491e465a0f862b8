"""The pages on this machine, and the invented farm that shows the whole job."""

from __future__ import annotations

import ipaddress
import socket
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import BookOption, JsonOption

if TYPE_CHECKING:
    from outpace.surfaces.cli.network import Network

PORT = 8765
LAN_PORT = 8766

PortOption = Annotated[int, typer.Option("--port", min=0, max=65535, help="The port; 0 takes any free one.")]


def _check_loopback(host: str) -> str:
    address = "127.0.0.1" if host == "localhost" else host
    try:
        inside = ipaddress.ip_address(address).is_loopback
    except ValueError:
        inside = False
    if not inside:
        raise OutpaceError(
            say("pages for other machines need a sign-in and a certificate: host {host}", host=host),
            where="`--host`",
            allowed=say("only this machine: 127.0.0.1"),
            hint=say("`outpace serve --lan` serves phones on the local network, with both"),
            code=ExitCode.USAGE,
        )
    return address


def listen(host: str, port: int) -> socket.socket:
    """Return an open socket on this machine, before anything slow is loaded."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    opened = socket.socket(family, socket.SOCK_STREAM)
    opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        opened.bind((host, port))
    except OSError as error:
        opened.close()
        raise OutpaceError(
            say("port {port} cannot be used: {reason}", port=port, reason=error.strerror),
            where="`--port`",
            hint=say("try another port, or `--port 0` for any free one"),
        ) from error
    return opened


def serve_book(book: str | None, opened: socket.socket, network: Network | None = None) -> None:
    """Serve the pages of a book until Ctrl-C, on this machine and, where asked, on the local network."""
    import uvicorn

    from outpace.season.open_book import book_url
    from outpace.surfaces.web.app import create_app

    host, port = opened.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host
    opened.listen(128)  # who asks from here on waits, and is not refused
    try:
        door.say(say("pages: http://{shown}:{port}/  (Ctrl-C ends)", shown=shown, port=port))
        app = create_app(book_url(book), lan=network.access if network else None)
        plain = uvicorn.Config(app, log_level="warning", lifespan="on", access_log=False, proxy_headers=False)
        if network is None:
            uvicorn.Server(plain).run(sockets=[opened])
        else:
            network.serve(plain, opened)
    except KeyboardInterrupt:
        # uvicorn has shut down in order by now and hands the signal on; or it had not begun.
        pass
    finally:
        opened.close()
        if network is not None:
            network.close()
    door.say(say("ended"))


def serve(
    host: Annotated[
        str | None,
        typer.Option(
            "--host", help="The address to listen on: of this machine, or with --lan of its network."
        ),
    ] = None,
    port: PortOption = PORT,
    lan: Annotated[
        bool,
        typer.Option("--lan", help="Serve phones on the local network too, over TLS and with a sign-in."),
    ] = False,
    lan_port: Annotated[
        int, typer.Option("--lan-port", min=0, max=65535, help="The port for the local network.")
    ] = LAN_PORT,
    person: Annotated[
        str | None,
        typer.Option("--person", help="With --lan: a name to sign in with; its password is asked for."),
    ] = None,
    book: BookOption = None,
) -> None:
    """Serve the pages on this machine, and with --lan to phones on the local network."""
    if person is not None and not lan:
        raise OutpaceError(
            say("only the local network asks who you are"),
            where="`--person`",
            hint=say("add `--lan`"),
            code=ExitCode.USAGE,
        )
    address = _check_loopback("127.0.0.1" if lan or host is None else host)
    # A book that cannot be opened is told before the pages start; who names none begins with an empty one.
    with door.book_at(book, create=book is None):
        pass
    network = None
    if lan:
        from outpace.surfaces.cli.network import open_network

        network = open_network(host, lan_port, person)
    serve_book(book, listen(address, port), network)


def demo(
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Build the farm anew even where it is there.")
    ] = False,
    serve: Annotated[
        bool, typer.Option("--serve/--no-serve", help="Serve the pages at the end, or stop before.")
    ] = True,
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Where the book and the sheets are written.")
    ] = Path("out/demo"),
    port: PortOption = PORT,
    as_json: JsonOption = False,
) -> None:
    """Build an invented farm, print its week, write a sheet a house, serve the pages."""
    from outpace.surfaces.cli.demo_run import run_demo

    opened = listen("127.0.0.1", port) if serve else None
    try:
        url = run_demo(out, fresh=fresh, as_json=as_json)
        if opened is not None:
            serve_book(url, opened)
    finally:
        if opened is not None:
            opened.close()
