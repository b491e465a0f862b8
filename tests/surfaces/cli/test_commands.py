"""The command line as a whole: quick to start, plain when it fails, documented."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from outpace.errors import OutpaceError
from outpace.surfaces.cli import lookups, main, reference
from outpace.surfaces.cli.main import command_names

ROOT = Path(__file__).parents[3]
SLOW = ("numpy", "numba", "scipy", "sqlalchemy", "fastapi", "uvicorn", "matplotlib", "rich", "typst")


def loaded_by(arguments, extra=""):
    script = (
        "import sys\nfrom outpace.surfaces.cli.main import outcome\n"
        f"code = outcome({arguments!r})\n"
        f"print('LOADED', code, *[m for m in {SLOW!r} if m in sys.modules])\n"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    _, code, *modules = run.stdout.splitlines()[-1].split()
    return int(code), modules


@pytest.mark.parametrize(
    "arguments", [["--help"], ["week", "--help"], ["book", "--help"], ["serve", "--help"]]
)
def test_help_loads_nothing_slow(arguments):
    assert loaded_by(arguments) == (0, [])


def test_lag_loads_neither_the_compiler_nor_the_database():
    words = ["lag", "--enemy", "APHIDIUS COLEMANI", "--pest", "MYZUPE"]
    code, modules = loaded_by([*words, "--release", "2026-04-20", "--temperature", "18"])
    assert code == 0
    assert not {"numba", "sqlalchemy", "fastapi", "matplotlib"} & set(modules)


@pytest.mark.parametrize("name", command_names())
def test_every_command_has_help_within_80_columns(say, name):
    said = say(*name.split(), "--help")
    assert said.code == 0
    assert [line for line in said.out.splitlines() if len(line) > 80] == []


def test_the_reference_is_fresh_and_covers_every_command():
    page = (ROOT / "docs" / "cli.md").read_text(encoding="utf-8")
    assert page == reference.text()
    assert re.findall(r"^## `outpace (.+)`$", page, re.M) == list(command_names())


def test_every_command_that_readme_and_guide_type_exists():
    words = set()
    for path in (ROOT / "README.md", ROOT / "docs" / "guide.md"):
        if path.exists():
            words |= set(re.findall(r"(?:^    |^|`)outpace ([a-z]+)", path.read_text(encoding="utf-8"), re.M))
    assert words
    assert words <= {name.split()[0] for name in command_names()}


def test_a_mistyped_command_names_the_near_one(say):
    said = say("wek")
    assert said.code == 2
    assert "`outpace week`" in said.err
    assert said.out == ""


def test_a_mistyped_option_is_told_with_its_help(say):
    said = say("week", "--jsn")
    assert said.code == 2
    assert said.err.startswith("error: no such option: --jsn")
    assert "\n\nhint: `outpace week --help`" in said.err


def test_an_error_for_people_goes_to_stderr_without_a_traceback_and_with_its_code(say):
    said = say("lag", "--enemy", "colemni", "--pest", "MYZUPE", "--temperature", "18")
    assert said.code == 2
    assert said.out == ""
    assert "Traceback" not in said.err
    assert said.err.startswith("error: no enemy called 'colemni'")
    assert "Aphidius colemani" in said.err


def test_a_fault_of_ours_is_not_hidden(monkeypatch):
    def broken() -> None:
        """Break."""
        raise ZeroDivisionError("ours")

    monkeypatch.setattr(main, "COMMANDS", (("week", broken), ("lag", lookups.lag)))
    with pytest.raises(ZeroDivisionError):
        main.outcome(["week"])


def test_an_error_raised_in_a_command_ends_with_the_code_it_carries(monkeypatch, capsys):
    def refuse() -> None:
        """Refuse."""
        raise OutpaceError("area 0 m²", where="`houses.csv` row 2", hint="measure it")

    monkeypatch.setattr(main, "COMMANDS", (("week", refuse), ("lag", lookups.lag)))
    assert main.outcome(["week"]) == 1
    assert capsys.readouterr().err == "error: `houses.csv` row 2: area 0 m²\n\nhint: measure it\n"


def test_ctrl_c_ends_a_command_without_a_traceback(monkeypatch, capsys):
    def stopped() -> None:
        """Stop."""
        raise KeyboardInterrupt

    monkeypatch.setattr(main, "COMMANDS", (("week", stopped), ("lag", lookups.lag)))
    assert main.outcome(["week"]) == 130
    assert capsys.readouterr().err == "ended\n"


@pytest.mark.parametrize("words", [("--host", "0.0.0.0"), ("--host", "192.0.2.7"), ("--host", "x")])
def test_pages_for_other_machines_are_refused(say, words):
    said = say("serve", *words)
    assert said.code == 2
    assert "sign-in" in said.err


def test_a_port_in_use_is_told_before_anything_is_built(say, tmp_path):
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        said = say("demo", "--port", taken.getsockname()[1], "--out", tmp_path / "demo")
    assert said.code == 1
    assert "cannot be used" in said.err
    assert not (tmp_path / "demo").exists()
