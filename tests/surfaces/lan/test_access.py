"""From the local network: by its own names, over TLS, signed in; and as a real TLS client sees it."""

from __future__ import annotations

import os
import re
import signal
import ssl
import subprocess
import sys
import urllib.error
import urllib.parse
import urllib.request
from http.cookiejar import CookieJar

import pytest
from fastapi.testclient import TestClient
from tests.surfaces.web.conftest import ExampleAnswers

from outpace.surfaces.lan.access import Access, inside
from outpace.surfaces.lan.authority import papers
from outpace.surfaces.lan.people import People
from outpace.surfaces.web.app import create_app

HERE = "192.168.1.20"
PASSWORD = "four words none expects"
OURS = {"sec-fetch-site": "same-origin"}


@pytest.fixture
def door(tmp_path):
    people = People(tmp_path / "people.db")
    people.add("Ana", PASSWORD)
    yield Access(people, papers(tmp_path, [HERE]), frozenset({HERE}), 8766)
    people.close()


@pytest.fixture
def phone(door):
    app = create_app("no such book", answers=ExampleAnswers(), lan=door)
    return TestClient(
        app, base_url=f"https://{HERE}:8766", client=("192.168.1.31", 4000), follow_redirects=False
    )


def sign_in(phone, password=PASSWORD, **more):
    return phone.post("/sign-in", data={"name": "Ana", "password": password, **more}, headers=OURS)


@pytest.mark.parametrize(
    "path", ["/", "/plan?farm=x", "/house/south", "/count", "/enter", "/week.ics", "/nix"]
)
def test_no_page_opens_before_the_sign_in_and_it_leads_back(phone, path):
    response = phone.get(path)
    assert response.status_code == 303
    assert response.headers["location"] == f"/sign-in?to={urllib.parse.quote(path, safe='')}"
    assert "default-src 'self'" in response.headers["content-security-policy"]


def test_neither_answers_nor_forms_come_through_before_the_sign_in(phone):
    assert phone.get("/api/week").status_code == 401
    assert phone.get("/api/openapi.json").status_code == 401
    assert phone.post("/lag", data={}, headers=OURS).status_code == 401
    assert phone.post("/api/walks", json={}, headers=OURS).status_code == 401


def test_how_to_trust_and_how_to_sign_in_can_be_read_by_anybody(phone, door):
    assert phone.get("/sign-in").status_code == 200
    assert door.papers.fingerprint in phone.get("/trust").text
    sent = phone.get("/trust/outpace.crt")
    assert sent.content == door.papers.authority.read_bytes()
    assert b"PRIVATE" not in sent.content
    style = re.search(r'href="(/static/[^"]+paper.css)"', phone.get("/sign-in").text).group(1)
    assert phone.get(style).status_code == 200


def test_the_session_travels_in_a_cookie_for_tls_only_that_no_script_or_other_site_gets(phone):
    response = sign_in(phone, to="/plan")
    assert response.headers["location"] == "/plan"
    told = response.headers["set-cookie"]
    assert told.startswith("__Host-")
    assert {"Secure", "HttpOnly", "SameSite=Strict", "Path=/"} <= {part.strip() for part in told.split(";")}
    assert phone.get("/plan").status_code == 200
    assert phone.get("/api/week").status_code == 200
    assert phone.post("/sign-out", headers=OURS).status_code == 303
    assert phone.get("/plan").status_code == 303


def test_a_wrong_password_is_told_and_the_sixth_try_waits(phone):
    for _ in range(5):
        response = sign_in(phone, "wrong words none expects")
        assert response.status_code == 401
        assert "set-cookie" not in response.headers
    response = sign_in(phone)
    assert response.status_code == 429
    assert int(response.headers["retry-after"]) >= 1


def test_a_form_of_another_site_is_refused_though_signed_in(phone):
    sign_in(phone)
    for headers in (
        {"sec-fetch-site": "cross-site"},
        {"origin": "https://elsewhere.example"},
        {"origin": "null"},
    ):
        assert phone.post("/sign-out", headers=headers).status_code == 403
    assert phone.get("/plan").status_code == 200
    assert phone.post("/sign-out", headers={"origin": f"https://{HERE}:8766"}).status_code == 303


@pytest.mark.parametrize("host", ["elsewhere.example", "192.168.1.21:8766", "localhost", ""])
def test_another_name_than_those_of_the_certificate_is_refused(phone, host):
    assert phone.get("/trust", headers={"host": host}).status_code == 421


def test_the_network_gets_nothing_without_tls_and_nothing_where_it_was_not_asked_for(door):
    app = create_app("no such book", answers=ExampleAnswers(), lan=door)
    bare = TestClient(app, base_url=f"http://{HERE}:8765", client=("192.168.1.31", 4000))
    assert bare.get("/sign-in").status_code == 403
    closed = create_app("no such book", answers=ExampleAnswers())
    assert (
        TestClient(closed, base_url=f"https://{HERE}", client=("192.168.1.31", 4000)).get("/").status_code
        == 403
    )


def test_this_machine_needs_no_sign_in(door):
    app = create_app("no such book", answers=ExampleAnswers(), lan=door)
    near = TestClient(app, base_url="http://localhost", client=("127.0.0.1", 4000))
    assert near.get("/plan").status_code == 200
    assert "<svg" in near.get("/trust").text


@pytest.mark.parametrize(
    "to", ["//elsewhere.example", "https://elsewhere.example", "/\\elsewhere", "/a\r\nb", ""]
)
def test_after_the_sign_in_nobody_is_led_elsewhere(to):
    assert inside(to) == "/"


WORDS = [sys.executable, "-c", "from outpace.surfaces.cli.main import run; run()", "serve"]


@pytest.fixture
def served(tmp_path):
    """Serve on loopback over TLS in a process of its own; yield the process, its address and the folder of its keys."""
    surroundings = {**os.environ, "XDG_DATA_HOME": str(tmp_path), "OUTPACE_BOOK": ""}
    process = subprocess.Popen(
        [*WORDS, "--lan", "--host", "127.0.0.1", "--port", "0", "--lan-port", "0", "--person", "Ana"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=surroundings,
    )
    process.stdin.write(f"{PASSWORD}\n")
    process.stdin.flush()
    said = ""
    for line in process.stderr:
        said += line
        if "keys lie" in line:
            break
    found = re.search(r"https://127\.0\.0\.1:\d+/", said)
    assert found, said
    yield process, found.group(), tmp_path / "outpace" / "network", said
    if process.poll() is None:
        process.kill()
        process.wait()


def test_a_client_that_trusts_only_our_authority_reads_the_pages_after_the_sign_in(served):
    process, address, folder, said = served
    with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
        urllib.request.urlopen(address + "sign-in", timeout=60)
    trusting = ssl.create_default_context(cadata=(folder / "authority.crt").read_bytes())
    trusting.verify_flags |= ssl.VERIFY_X509_STRICT
    jar = CookieJar()
    client = urllib.request.build_opener(
        urllib.request.HTTPSHandler(context=trusting), urllib.request.HTTPCookieProcessor(jar)
    )
    with client.open(address + "facts", timeout=60) as answer:
        assert answer.url.startswith(address + "sign-in")
    form = urllib.parse.urlencode({"name": "Ana", "password": PASSWORD, "to": "/facts"}).encode()
    with client.open(address + "sign-in", form, timeout=60) as answer:
        assert answer.url == address + "facts"
        assert b"Aphidius colemani" in answer.read()
    assert [(cookie.secure, cookie.name) for cookie in jar] == [(True, "__Host-outpace")]
    assert "fingerprint (SHA-256)" in said
    process.send_signal(signal.SIGINT)
    _, rest = process.communicate(timeout=60)
    assert process.returncode == 0
    assert rest.strip().splitlines()[-1] == "ended"
    assert "Traceback" not in rest


def test_nobody_to_sign_in_is_told_before_anything_is_served(tmp_path):
    surroundings = {**os.environ, "XDG_DATA_HOME": str(tmp_path), "OUTPACE_BOOK": ""}
    done = subprocess.run(
        [*WORDS, "--lan", "--host", "127.0.0.1", "--port", "0", "--lan-port", "0"],
        capture_output=True,
        text=True,
        env=surroundings,
        timeout=120,
    )
    assert done.returncode == 2
    assert "--person NAME" in done.stderr
    assert "pages:" not in done.stderr
