"""A spray of which nothing was entered: no clock at zero, no release there, and every person on the sheet warned."""

from __future__ import annotations

import json
import shutil
import subprocess
from datetime import date, timedelta

import pytest

from outpace.surfaces.cli.main import outcome

TODAY = date.today()
SATURDAY = TODAY + timedelta(days=(5 - TODAY.weekday()) % 7)


@pytest.fixture(scope="module")
def sprayed(tmp_path_factory):
    """A house with bees, sprayed yesterday by someone who told no more than that; a parcel for it is on its way."""
    place = tmp_path_factory.mktemp("undeclared")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("OUTPACE_BOOK", str(place / "own.book"))
        patch.setenv("OUTPACE_BY", "Ida")
        packs = place / "orders.csv"
        packs.write_text(
            "order,line,farm,placed,supplier,enemy,form,packs,pack_size,delivery_date,status\n"
            f"o1,1,Kelp Lane,{TODAY - timedelta(days=2)}T09:00,Ours,Aphidius colemani,mummies,1,500,{TODAY},placed\n"
        )
        shares = place / "allocations.csv"
        shares.write_text(
            "order,line,farm,house,release_date,number\n"
            f"o1,1,Kelp Lane,Long tunnel,{TODAY + timedelta(days=1)},500\n"
        )
        lines = (
            ("farm", "Kelp Lane", "--place", "54.1,-3.2", "--time-zone", "UTC", "--currency", "GBP"),
            (
                "house",
                "Long tunnel",
                "--crop",
                "sweet pepper",
                "--area",
                "240",
                "--plants",
                "520",
                "--bees",
                "yes",
            ),
            ("book", "import", str(packs), str(shares)),
            ("spray", "add", "Long tunnel", "--start", "yesterday"),
        )
        for line in lines:
            assert outcome(line) == 0, line
        yield place


@pytest.fixture
def say(sprayed, monkeypatch, capsys):
    monkeypatch.setenv("OUTPACE_BOOK", str(sprayed / "own.book"))

    def run(*words):
        capsys.readouterr()
        code = outcome([str(word) for word in words])
        return code, capsys.readouterr().out

    return run


def test_no_clock_is_at_zero_and_none_of_them_runs(say):
    answer = json.loads(say("spray", "show", "Long tunnel", "--json")[1])
    (house,) = answer["houses"]
    for clock in ("reentry", "picking", "bees", "release"):
        assert (house[clock]["state"], house[clock]["until"]) == ("unknown", None), clock


def test_the_release_that_was_meant_for_tomorrow_clashes(say):
    answer = json.loads(say("spray", "show", "Long tunnel", "--json")[1])
    assert any("release" in clash["what"].casefold() for clash in answer["clashes"])


def test_who_picks_tomorrow_is_told_that_it_cannot_be_sold(say):
    code, out = say("house", "harvest", "Long tunnel", "KL-1")
    assert code == 0
    assert "Do not sell before the label was read" in " ".join(out.split())


def test_who_releases_is_told_at_the_moment_of_entry(say):
    code, out = say(
        "release", "Long tunnel", "--enemy", "Aphidius colemani", "--form", "mummies", "--number", "10"
    )
    assert code == 0
    assert "not entered" in out or "not known" in out


@pytest.mark.pdf
def test_the_sheet_and_the_sign_warn_everyone_whatever_day_visitors_come(say, sprayed):
    assert shutil.which("pdftotext")
    posting, sign = sprayed / "posting.pdf", sprayed / "sign.pdf"
    assert say("spray", "show", "Long tunnel", "--posting", posting, "--sign", sign)[0] == 0

    def words(path):
        done = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True, check=True)
        return " ".join(done.stdout.split())

    sheet = words(posting)
    for who in ("Going in", "Picking", "Bees", "Releases"):
        assert who in sheet
    assert "Not entered means danger: keep out, do not pick, release nothing." in sheet
    assert sheet.count("not entered") >= 8
    for field in ("Rate", "Registration number", "no clock has started"):
        assert field in sheet
    told = words(sign)
    assert "Do not go in" in told
    assert "Nobody knows yet until when" in told
    assert "children" in told
    assert SATURDAY.strftime("%-d %b") not in told.split("as known")[0], "no day is promised to visitors"


def test_the_week_asks_for_the_label_and_releases_nothing_there(say):
    answer = json.loads(say("week", "--json")[1])
    tasks = [task["what"] for house in answer["houses"] for task in house["tasks"]]
    assert any("read the label" in task.casefold() for task in tasks)
    assert any("hive" in task for task in tasks)
    (release,) = [task for task in tasks if task.startswith("Release")]
    assert release.startswith("Release no Aphidius colemani here")
