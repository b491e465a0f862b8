"""Pages are served on this machine only, and Ctrl-C ends them in order."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import urllib.request

import pytest


@pytest.fixture
def served(farm, tmp_path):
    """Serve the farm's book in a process of its own; yield the process and the address of its pages."""
    words = [sys.executable, "-c", "from outpace.surfaces.cli.main import run; run()", "serve", "--port", "0"]
    process = subprocess.Popen(
        [*words, "--book", str(tmp_path / "own.book")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    line = process.stderr.readline()
    found = re.search(r"http://127\.0\.0\.1:\d+/", line)
    assert found, line
    yield process, found.group()
    if process.poll() is None:
        process.kill()
        process.wait()


def test_the_pages_answer_on_loopback_and_ctrl_c_ends_them_in_order(served):
    process, address = served
    with urllib.request.urlopen(address + "facts", timeout=60) as answer:
        assert answer.status == 200
        assert b"Aphidius colemani" in answer.read()
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0
    assert err.strip().splitlines()[-1] == "ended"
    assert "Traceback" not in err
    assert out == ""


def test_a_book_that_is_not_there_is_told_before_the_pages_start(say, tmp_path):
    said = say("serve", "--port", "0", "--book", tmp_path / "none.book")
    assert said.code == 1
    assert "there is no book" in said.err
    assert "pages" not in said.err
