"""Who is let in, and with which headers every answer leaves."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from outpace.surfaces.web.app import create_app

PATHS = (
    "/",
    "/house/south",
    "/house/none",
    "/lag",
    "/facts",
    "/plan",
    "/api/week",
    "/week.ics",
    "/static/paper.css",
    "/nix",
)


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_forbids_script_from_elsewhere_and_inline(client, path):
    policy = client.get(path).headers["content-security-policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    for rule in ("default-src", "script-src", "style-src", "img-src", "connect-src", "form-action"):
        assert rules[rule] == "'self'"
    for rule in ("object-src", "base-uri", "frame-ancestors"):
        assert rules[rule] == "'none'"


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_forbids_guessing_framing_and_telling_others(client, path):
    headers = client.get(path).headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-resource-policy"] == "same-origin"


def test_a_fault_of_our_own_is_told_plainly_and_with_the_same_headers(client, answers):
    answers.given["week"] = RuntimeError("secret detail")
    response = client.get("/")
    assert response.status_code == 500
    assert "what you recorded is safe" in response.text
    assert "secret detail" not in response.text
    assert "default-src 'self'" in response.headers["content-security-policy"]


@pytest.mark.parametrize(
    "host", ["localhost", "localhost:8765", "LOCALHOST", "127.0.0.1:80", "[::1]", "[::1]:8765"]
)
def test_this_machine_may_be_called_by_its_own_names(client, host):
    assert client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:8765", "localhost.evil.example", "127.0.0.1.evil.example", "127.0.0.2",
     "localhost:80:80", "[::1]evil", "[::2]", "0.0.0.0", "", "localhost@evil.example"],
)  # fmt: skip
def test_any_other_name_is_refused_so_that_no_other_site_reads_the_book(client, host):
    response = client.get("/api/week", headers={"host": host})
    assert response.status_code == 421
    assert "south" not in response.text


@pytest.mark.parametrize(
    ("caller", "status"),
    [("127.0.0.1", 200), ("::1", 200), ("192.168.1.20", 403), ("::ffff:10.0.0.1", 403), ("name", 403)],
)
def test_only_callers_on_this_machine_are_let_in(answers, caller, status):
    app = create_app("no such book", answers=answers)
    near = TestClient(app, base_url="http://localhost", client=(caller, 50000))
    assert near.get("/").status_code == status


@pytest.mark.parametrize(
    "path", ["/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py", "/static//etc/passwd"]
)
def test_files_outside_the_folder_of_pages_are_not_served(client, path):
    response = client.get(path)
    assert response.status_code == 404
    assert "create_app" not in response.text


def test_pages_only_read(client):
    for method in ("post", "put", "delete", "patch"):
        assert getattr(client, method)("/").status_code == 405


FORM = {"enemy": "aphidius_colemani", "pest": "myzus_persicae", "temperature": "18"}


@pytest.mark.parametrize(
    ("told", "status"),
    [
        ({"sec-fetch-site": "same-origin", "origin": "null"}, 303),
        ({"sec-fetch-site": "cross-site", "origin": "null"}, 403),
        ({"sec-fetch-site": "same-site", "origin": "http://localhost:9999"}, 403),
        ({"origin": "http://localhost"}, 303),
        ({"origin": "http://localhost:9999"}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({}, 303),
    ],
)
def test_a_form_is_taken_from_our_own_pages_only(client, told, status):
    response = client.post("/lag", data=FORM, headers=told, follow_redirects=False)
    assert response.status_code == status
    assert "default-src 'self'" in response.headers["content-security-policy"]


def test_a_form_sent_under_another_name_or_from_elsewhere_is_refused(client, answers):
    assert client.post("/lag", data=FORM, headers={"host": "evil.example"}).status_code == 421
    far = TestClient(
        create_app("no such book", answers=answers), base_url="http://localhost", client=("10.0.0.1", 1)
    )
    assert far.post("/lag", data=FORM).status_code == 403
