"""Pages served for a real browser: on loopback, in a thread, with every request and fault written down."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlsplit

import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from tests.surfaces.web.chromium import AXE, FLAGS


@contextmanager
def served(app: Any) -> Iterator[str]:
    """Serve an application on a free port; yield its address."""
    opened = socket.socket()
    opened.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="error"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [opened]})
    thread.start()
    deadline = time.monotonic() + 20
    while not server.started and time.monotonic() < deadline:
        time.sleep(0.02)
    assert server.started
    yield f"http://127.0.0.1:{opened.getsockname()[1]}"
    server.should_exit = True
    thread.join(20)
    opened.close()


@contextmanager
def chromium(*flags: str) -> Iterator[Browser]:
    """Start the browser; yield it."""
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=[*FLAGS, *flags])
        yield started
        started.close()


class Watched:
    """A page of which every request, message and fault is written down."""

    def __init__(self, context: BrowserContext) -> None:
        self.page: Page = context.new_page()
        self.hosts: set[str] = set()
        self.faults: list[str] = []
        self.page.on("request", lambda request: self.hosts.add(urlsplit(request.url).hostname or ""))
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on(
            "console",
            lambda message: (
                self.faults.append(message.text) if message.type in ("error", "warning") else None
            ),
        )


def visit(browser: Browser, url: str, size: tuple[int, int], **options: Any) -> Watched:
    """Open an address on a screen of its own."""
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, **options)
    watched = Watched(context)
    watched.page.goto(url)
    watched.page.wait_for_load_state("networkidle")
    return watched


# Rules that hold are counted only: to describe every element that keeps them takes as long as to look.
BROKEN = """axe.run({ resultTypes: ['violations'] }).then(found => ({
  held: found.passes.length,
  broken: found.violations.flatMap(fault => fault.nodes.map(node => [fault.id, node.html.slice(0, 120)])),
}))"""


def rules_broken(page: Page) -> list[tuple[str, str]]:
    """Return every accessibility rule that a page breaks, each with the element that breaks it."""
    page.evaluate(AXE.read_text())
    found = page.evaluate(BROKEN)
    assert found["held"], "no rule was looked at"
    return [(rule, element) for rule, element in found["broken"]]
