"""The whole job by command on a small farm: from typed rows to a decision, as text and as JSON."""

from __future__ import annotations

import contextlib
import io
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import icalendar
import jsonschema
import pytest

import outpace.surfaces.schemas
from outpace.surfaces.cli.main import outcome

pytestmark = pytest.mark.slow

SCHEMAS = Path(outpace.surfaces.schemas.__file__).parent
TODAY = datetime.now(UTC).date()
PACKS = (
    "supplier,enemy,form,pack_size,label_counts,price,freight_per_parcel,cutoff_weekday,cutoff_time,"
    "delivery_weekday,lead_d\n"
    "Invented Supply,Aphidius colemani,mummies,250,units_in_pack,18,9,{day},23:59,Mon Tue Wed Thu Fri Sat Sun,2\n"
    "Invented Supply,Aphidius ervi,adults,250,adults_expected,40,9,{day},23:59,Mon Tue Wed Thu Fri Sat Sun,2\n"
)


def ago(days):
    return (TODAY - timedelta(days=days)).isoformat()


class Terminal:
    """Runs commands on one book; an answer is worked out once and asked for as text and as JSON."""

    def __init__(self, folder):
        self.folder = folder
        self.kept = {}

    def run(self, *words):
        key = tuple(str(word) for word in words)
        if key not in self.kept:
            out, err = io.StringIO(), io.StringIO()
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                code = outcome([*key, "--book", str(self.folder / "own.book")])
            self.kept[key] = (code, out.getvalue(), err.getvalue())
        return self.kept[key]

    def must(self, *words):
        code, out, err = self.run(*words)
        assert code == 0, err
        return out


@pytest.fixture(scope="module")
def terminal(tmp_path_factory):
    folder = tmp_path_factory.mktemp("farm")
    do = Terminal(folder)
    do.must("farm", "Kelp Lane", "--place", "54.1,-3.2", "--time-zone", "Europe/London", "--currency", "GBP")
    house = (
        "--crop",
        "sweet pepper",
        "--area",
        "240",
        "--plants",
        "520",
        "--heating",
        "18",
        "--venting",
        "25",
    )
    do.must("house", "Long tunnel", *house, "--level", "2", "--per", "plant")
    for days in range(16, 0, -1):
        do.must("climate", "typed", "Long tunnel", "--min", "15", "--max", "23", "--on", ago(days))
    line = "Long tunnel: {} looked at, {} with green peach aphid, about {}, 0 mummies"
    do.must("walk", line.format(30, 4, 12), "--on", ago(9))
    do.must("walk", line.format(30, 9, 60), "--on", ago(2))
    packs = folder / "packs.csv"
    cutoff = (datetime.now(UTC) + timedelta(days=1)).strftime("%a")
    packs.write_text(PACKS.format(day=cutoff), encoding="utf-8")
    do.must("book", "import", packs)
    return do


COMMANDS = {
    "week": ("week",),
    "ahead": ("ahead", "long tunnel"),
    "plan": ("plan", "--house", "Long tunnel"),
    "order": ("order",),
}


@pytest.mark.parametrize("name", COMMANDS)
def test_the_answer_satisfies_its_schema(terminal, name):
    answer = json.loads(terminal.must(*COMMANDS[name], "--json"))
    schema = json.loads((SCHEMAS / f"{name}.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(answer)


@pytest.mark.parametrize("name", COMMANDS)
def test_the_text_keeps_to_80_columns_and_begins_with_a_sentence(terminal, name):
    lines = terminal.must(*COMMANDS[name]).splitlines()
    assert [line for line in lines if len(line) > 80] == []
    first = " ".join(lines[: lines.index("")])
    assert first.endswith(".")
    assert any(mark.isdigit() for mark in first)


def test_week_and_ahead_agree_on_the_house(terminal):
    week = json.loads(terminal.must("week", "--json"))
    ahead = json.loads(terminal.must("ahead", "long tunnel", "--json"))
    (row,) = week["houses"]
    assert row["verdict_word"] == ahead["verdict"]["word"]
    assert row["ends_well"] == ahead["verdict"]["ends_well"]


def test_only_an_enemy_that_accepts_the_aphid_is_bought(terminal):
    plan = json.loads(terminal.must("plan", "--house", "Long tunnel", "--json"))
    assert {decision["enemy"] for decision in plan["decisions"]} <= {"aphidius_colemani", "aphidius_ervi"}
    assert "Long tunnel" in plan["chance_ever_above"]


def test_progress_goes_to_stderr_and_only_the_answer_to_stdout(terminal):
    _, out, err = terminal.run("week", "--json")
    assert json.loads(out)["schema"] == "outpace.week/1"
    assert "Long tunnel" in err


def test_the_week_writes_a_sheet_a_house_and_a_calendar(terminal, tmp_path):
    pytest.importorskip("typst")
    calendar = tmp_path / "week.ics"
    terminal.must("week", "--sheets", tmp_path / "sheets", "--calendar", calendar)
    (sheet,) = (tmp_path / "sheets").iterdir()
    assert sheet.name == "long-tunnel.pdf"
    assert sheet.read_bytes().startswith(b"%PDF")
    events = icalendar.Calendar.from_ical(calendar.read_bytes()).walk("VEVENT")
    assert events
    assert all(event.errors == [] for event in events)


def test_a_house_that_had_finds_proves_nothing_by_no_finds(terminal):
    code, out, err = terminal.run("nofinds", "long tunnel")
    assert (code, out) == (1, "")
    assert "without finds" in err


def test_a_day_before_the_first_entry_knows_no_farm(terminal):
    code, _, err = terminal.run("week", "--as-of", "2020-01-01")
    assert code == 1
    assert "no farm yet" in err


def test_a_due_task_can_be_asked_for_as_exit_code(terminal):
    week = json.loads(terminal.must("week", "--json"))
    due = bool(week["orders_due"]) or any(
        task["day"] <= week["as_of"][:10] for house in week["houses"] for task in house["tasks"]
    )
    code, _, _ = terminal.run("week", "--due-exit")
    assert code == (3 if due else 0)


def test_placing_the_order_records_it_once(terminal):
    answer = json.loads(terminal.must("order", "--json"))
    firm = [order for order in answer["orders"] if not order["provisional"]]
    code, _, err = terminal.run("order", "--place")
    if not firm:
        assert code == 1
        assert "no order is due" in err
        return
    assert code == 0
    assert "recorded as placed" in err
    terminal.must("book", "export", terminal.folder / "package")
    lines = (terminal.folder / "package" / "orders.csv").read_text(encoding="utf-8").splitlines()
    assert len(lines) == 1 + sum(len(order["lines"]) for order in firm)


def test_an_order_is_never_placed_in_the_past(terminal):
    code, _, err = terminal.run("order", "--place", "--as-of", ago(1))
    assert code == 2
    assert "--as-of" in err
