"""What the documents say is there, is fresh and is true; what the program has is in them."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from tools.generated_docs import PAGES, ROOT, printed

from outpace.surfaces.cli.main import command_names, outcome
from outpace.surfaces.web import api, demo_page, lag_page, standing_pages
from outpace.surfaces.web import pages as web_pages
from outpace.surfaces.web.app import create_app
from outpace.surfaces.web.entry import book_page, climate_page, start
from outpace.surfaces.web.entry import page as entry_page

GENERATED = ("docs/cli.md", "docs/facts.md")
WRITTEN = (
    "README.md",
    "CHANGELOG.md",
    "CONTRIBUTING.md",
    "docs/guide.md",
    "docs/model.md",
    "docs/glossary.md",
    "docs/decisions.md",
    "docs/performance.md",
    "docs/skill.md",
    "docs/audit.md",
)
PLACES = ("docs/", "src/", "tests/", "tools/", "benchmarks/")
NOT_TRIED = ("serve", "demo")
"""Commands of the guide that do not end by themselves, or build a farm of their own."""


def text_of(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


GUIDE = text_of("docs/guide.md")


@pytest.mark.parametrize("name", PAGES)
def test_a_generated_page_is_fresh(name):
    assert text_of(name) == PAGES[name](), "run `make docs`"


@pytest.mark.parametrize("name", command_names())
def test_every_command_is_in_the_guide(name):
    assert re.search(rf"\boutpace {name}\b", GUIDE), f"docs/guide.md does not speak of `outpace {name}`"


def addresses() -> list[str]:
    """Return the addresses of all pages and answers, their variable parts in capitals."""
    routes = [*create_app("never-opened.book").routes, *web_pages.router.routes]
    routes += [*lag_page.router.routes, *api.router.routes]
    for each in (entry_page, climate_page, book_page, start, standing_pages, demo_page):
        routes += each.router.routes
    paths = [route.path for route in routes if hasattr(route, "path") and route.path != "/static"]
    return [re.sub(r"\{(\w+)(?::\w+)?\}", lambda part: part[1].upper(), path) for path in paths]


def test_every_page_is_in_the_guide():
    found = addresses()
    assert {"/", "/plan", "/house/HOUSE", "/lag", "/facts", "/api/week"} <= set(found)
    assert [path for path in found if f"`{path}`" not in GUIDE] == []


def settings() -> set[str]:
    """Return every environment variable that the program reads by name."""
    sources = (ROOT / "src" / "outpace").rglob("*.py")
    return {name for path in sources for name in re.findall(r"\bOUTPACE_[A-Z_]+\b", path.read_text("utf-8"))}


def test_every_setting_is_in_the_guide():
    assert {"OUTPACE_BOOK", "OUTPACE_BY"} <= settings()
    assert [name for name in sorted(settings()) if f"`{name}`" not in GUIDE] == []


def test_the_readme_opens_with_the_job_and_names_two_commands():
    title, job, example, *_ = re.split(r"\n{2,}", text_of("README.md"))
    assert title == "# outpace"
    assert not job.startswith(("#", "`", "-", "!", "["))
    assert "natural enemies" in job
    assert "aphids" in job
    assert example.startswith("```text\n$ outpace lag")
    assert re.findall(r"^    (make \w+)", text_of("README.md"), re.M) == ["make demo", "make test"]


@pytest.mark.parametrize("name", WRITTEN)
def test_every_path_that_a_document_names_exists(name):
    text = text_of(name)
    links = [link for link in re.findall(r"\]\(([^)#]+)\)", text) if "://" not in link]
    named = [word for word in re.findall(r"`([^`\s*]+)`", text) if word.startswith(PLACES)]
    gone = [path for path in named if not (ROOT / path).exists()]
    gone += [link for link in links if not (ROOT / name).parent.joinpath(link).exists()]
    assert gone == []


@pytest.mark.parametrize("name", [*WRITTEN, *GENERATED, "requirements.lock", "requirements-dev.lock"])
def test_no_document_names_a_server_or_a_place_on_one_machine(name):
    servers = re.findall(r"https?://(?!127\.0\.0\.1|localhost|\[::1\])\S+", text_of(name))
    places = re.findall(r"(?<![\w.:/])/(?:home|root|tmp|Users)/\S*", text_of(name))
    assert servers == []
    assert places == []


def test_the_first_heading_of_every_version_is_what_changes_forecasts():
    versions = re.split(r"^## ", text_of("CHANGELOG.md"), flags=re.M)[1:]
    assert versions
    assert [re.search(r"^### (.+)$", version, re.M)[1] for version in versions] == [
        "Changes forecasts"
    ] * len(versions)


def files_of_guide() -> dict[str, str]:
    """Return the files that the guide shows in full, by name."""
    return dict(re.findall(r"^```csv (\S+)\n(.*?)^```$", GUIDE, re.M | re.S))


def typed_in(text: str) -> list[str]:
    """Return the typed lines of a document in their order, lines that go on put together."""
    blocks = re.findall(r"^```console\n(.*?)^```$", text, re.M | re.S)
    lines = "\n".join(blocks).replace("\\\n", " ").splitlines()
    return [line.removeprefix("$ ") for line in lines if line.startswith("$ outpace")]


def test_what_the_guide_types_works_in_its_order(tmp_path: Path, monkeypatch, capsys):
    for name, content in files_of_guide().items():
        (tmp_path / name).write_text(content, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OUTPACE_BOOK", "kelp-lane.book")
    monkeypatch.setenv("OUTPACE_BY", "Ida")
    lines = typed_in(GUIDE)
    assert len(lines) > 10
    failed = []
    for line in lines:
        words = shlex.split(line)[1:]
        if words[0] not in NOT_TRIED and outcome(words) != 0:
            failed.append(f"{line}\n{capsys.readouterr().err}")
    assert failed == []


def test_the_walk_of_an_auditor_works_and_ends_at_every_record(tmp_path: Path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OUTPACE_BOOK", "audited.book")
    monkeypatch.setenv("OUTPACE_BY", "Ida")
    text = text_of("docs/audit.md")
    told = {}
    for line in typed_in(text):
        assert outcome(shlex.split(line)[1:]) == 0, f"{line}\n{capsys.readouterr().err}"
        told[line] = capsys.readouterr().out
    behind = told["outpace trace KL-21"]
    shown = re.findall(r"^```text\n(.*?)^```$", text, re.M | re.S)
    pack = next(answer for line, answer in told.items() if line.startswith("outpace book audit"))
    assert [behind.startswith(shown[0]), pack.startswith(shown[1]), len(shown)] == [True, True, 2]
    # What the page says of their order and of what is missing.
    at = [
        behind.index(heading) for heading in ("\nHarvests", "\nLots of", "\nIn their order", "\nCorrections")
    ]
    assert at == sorted(at)
    assert "Arrivals of enemies, 1 time: supplier, invoice" in " ".join(pack.split())
    for record in ("arrived Tue 14 Apr 2026", "no order entered", "registration number not entered"):
        assert record in " ".join(behind.split())
    for record in (
        "2 with live aphids",
        "no live aphid found",
        "because two plants with aphids",
        "our sulphur",
    ):
        assert record in " ".join(behind.split())
    for record in (
        "L-2201",
        "list entry 4",
        "from our raiser",
        "16 of 20 emerged",
        "number was 480, is 460",
        "because the carton was not empty",
    ):
        assert record in " ".join(behind.split())
    assert "KL-21" in told["outpace trace L-2201"]
    assert {"audit.pdf", "audit.xlsx", "audit"} <= {path.name for path in tmp_path.iterdir()}
    assert "audit.md" in GUIDE


def test_an_example_that_fails_is_not_printed():
    with pytest.raises(ValueError, match="ended with 2"):
        printed("outpace lag --enemy nobody --pest MYZUPE --temperature 18")
