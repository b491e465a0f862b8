"""A phone's browser on the local network: signs in over TLS, then opens the walk without signal."""

from __future__ import annotations

import base64
import hashlib
import socket
import threading
import time

import pytest
import uvicorn
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from tests.surfaces.web.chromium import PHONE
from tests.surfaces.web.conftest import ExampleAnswers
from tests.surfaces.web.served import chromium, rules_broken, visit

from outpace.surfaces.lan.access import Access
from outpace.surfaces.lan.authority import papers
from outpace.surfaces.lan.people import People
from outpace.surfaces.web.app import create_app

pytestmark = pytest.mark.browser

PASSWORD = "four words none expects"


def test_the_walk_opens_without_signal_once_the_phone_has_signed_in(tmp_path):
    people = People(tmp_path / "people.db")
    people.add("Ana", PASSWORD)
    made = papers(tmp_path, ["127.0.0.1"])
    opened = socket.socket()
    opened.bind(("127.0.0.1", 0))
    port = opened.getsockname()[1]
    app = create_app(
        "no book", answers=ExampleAnswers(), lan=Access(people, made, frozenset({"127.0.0.1"}), port)
    )
    config = uvicorn.Config(
        app,
        log_level="error",
        ssl_certfile=str(made.certificate),
        ssl_keyfile=str(made.key),
        proxy_headers=False,
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [opened]})
    thread.start()
    deadline = time.monotonic() + 20
    while not server.started and time.monotonic() < deadline:
        time.sleep(0.02)
    # The browser trusts this one key, as a phone does that has our authority installed.
    public = x509.load_pem_x509_certificate(made.certificate.read_bytes()).public_key()
    spki = public.public_bytes(serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo)
    trusted = base64.b64encode(hashlib.sha256(spki).digest()).decode()
    try:
        with chromium(f"--ignore-certificate-errors-spki-list={trusted}") as browser:
            page = visit(browser, f"https://127.0.0.1:{port}/count", PHONE).page
            assert "/sign-in?to=%2Fcount" in page.url
            assert rules_broken(page) == []
            page.goto(f"https://127.0.0.1:{port}/trust")
            assert rules_broken(page) == []
            assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
            page.go_back()
            page.fill("#name", "Ana")
            page.fill("#password", PASSWORD)
            page.press("#password", "Enter")
            page.wait_for_selector("button.house-go")
            assert page.evaluate("document.cookie") == ""
            page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
            page.click("button.house-go")
            page.wait_for_selector("#count:visible")
            server.should_exit = True
            thread.join(20)
            page.reload()
            page.wait_for_selector("#count:visible")
            page.goto(f"https://127.0.0.1:{port}/species-key?tubes=dark")
            assert "look next at" in page.inner_text("h1")
    finally:
        server.should_exit = True
        thread.join(20)
        opened.close()
        people.close()
