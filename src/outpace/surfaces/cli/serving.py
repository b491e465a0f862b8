"""The pages on this machine, and the invented farm that shows the whole job."""

from __future__ import annotations

import ipaddress
import socket
from pathlib import Path
from typing import Annotated

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import BookOption, JsonOption

PORT = 8765

PortOption = Annotated[int, typer.Option("--port", min=0, max=65535, help="The port; 0 takes any free one.")]


def _check_loopback(host: str) -> str:
    address = "127.0.0.1" if host == "localhost" else host
    try:
        inside = ipaddress.ip_address(address).is_loopback
    except ValueError:
        inside = False
    if not inside:
        raise OutpaceError(
            f"pages for other machines need a sign-in, which this version does not have: host {host}",
            where="`--host`",
            allowed="only this machine: 127.0.0.1",
            hint="open the pages on this machine, or print the sheets with `outpace week --sheets DIR`",
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
            f"port {port} cannot be used: {error.strerror}",
            where="`--port`",
            hint="try another port, or `--port 0` for any free one",
        ) from error
    return opened


def serve_book(book: str | None, opened: socket.socket) -> None:
    """Serve the pages of a book until Ctrl-C."""
    import uvicorn

    from outpace.season.open_book import book_url
    from outpace.surfaces.web.app import create_app

    host, port = opened.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host
    opened.listen(128)  # who asks from here on waits, and is not refused
    try:
        door.say(f"pages: http://{shown}:{port}/  (Ctrl-C ends)")
        server = uvicorn.Server(
            uvicorn.Config(create_app(book_url(book)), log_level="warning", lifespan="on", access_log=False)
        )
        server.run(sockets=[opened])
    except KeyboardInterrupt:
        # uvicorn has shut down in order by now and hands the signal on; or it had not begun.
        pass
    finally:
        opened.close()
    door.say("ended")


def serve(
    host: Annotated[
        str, typer.Option("--host", help="The address to listen on; only this machine.")
    ] = "127.0.0.1",
    port: PortOption = PORT,
    lan: Annotated[
        bool,
        typer.Option("--lan", help="Serve phones on the local network. Refused until there is a sign-in."),
    ] = False,
    book: BookOption = None,
) -> None:
    """Serve the pages on this machine."""
    address = _check_loopback("the local network" if lan else host)
    # A book that cannot be opened is told before the pages start; who names none begins with an empty one.
    with door.book_at(book, create=book is None):
        pass
    serve_book(book, listen(address, port))


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
