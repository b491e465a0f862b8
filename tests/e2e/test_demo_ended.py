"""Ctrl-C ends the demo in order, while it builds and while it serves."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import urllib.request
from datetime import date

import pytest
from tests.e2e.command_line import CommandLine

RUN = [sys.executable, "-c", "from outpace.surfaces.cli.main import run; run()", "demo", "--port", "0"]


def heed_ctrl_c():
    """Undo what a shell does to programs that it starts in the background: they would not hear of Ctrl-C."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture
def demo(tmp_path):
    """Start the demo in a process of its own; return it."""
    started = []

    def start():
        started.append(
            subprocess.Popen(
                [*RUN, "--out", str(tmp_path)],
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
                env={**os.environ, "COLUMNS": "80"},
                preexec_fn=heed_ctrl_c,
            )
        )
        return started[0]

    yield start
    for process in started:
        if process.poll() is None:
            process.kill()
            process.wait()


def read_until(process, wanted):
    for line in process.stderr:
        if wanted in line:
            return line
    raise AssertionError(f"{wanted!r} was never said")


def test_while_it_builds_no_half_built_book_stays_behind(demo, tmp_path):
    process = demo()
    read_until(process, "building the invented farm")
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=240)
    assert process.returncode == 130
    assert err.strip().splitlines()[-1] == "ended"
    assert "Traceback" not in err
    assert list(tmp_path.glob("farm-*.book")) == []


def test_while_it_serves_it_ends_without_an_error(demo, tmp_path):
    # A small farm stands in for the invented one, which takes longer to foresee.
    line = CommandLine(tmp_path / f"farm-{date.today()}.book")
    line.text(
        "farm", "Kelp Lane", "--place", "54.1,-3.2", "--time-zone", "Europe/London", "--currency", "GBP"
    )
    line.text("house", "Long tunnel", "--crop", "sweet pepper", "--area", "240", "--plants", "520")
    process = demo()
    address = read_until(process, "http://").split("pages: ")[1].split()[0]
    with urllib.request.urlopen(address + "facts", timeout=60) as page:
        assert page.status == 200
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=240)
    assert process.returncode == 0
    assert err.strip().splitlines()[-1] == "ended"
    assert "Walk 20 plants in Long tunnel" in out
    assert "Traceback" not in err + out
