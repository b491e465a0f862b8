"""Bad input by import and by command: refused with what, where and a way on, and the book stays as it was."""

from __future__ import annotations

import sqlite3
import zipfile

import pytest
from tests.e2e.command_line import OTHER_FARM, CommandLine

HOUSE_TAIL = "tomato,640,1500,40,16,14,2,64,soil,polythene,8,26,2026-09-14,yes,yes,2,leaf"
WALK_TAIL = "Ema,leaf,random,middle,20,12,yes,"


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    line = CommandLine(tmp_path_factory.mktemp("bad") / "own.book")
    line.text("book", "init")
    line.text("book", "import", OTHER_FARM)
    return line


def contents(line):
    """Return the head of the book and how many rows each of its tables has."""
    with sqlite3.connect(f"file:{line.book}?mode=ro", uri=True) as book:
        names = [name for (name,) in book.execute("select name from sqlite_master where type = 'table'")]
        counts = {name: book.execute(f'select count(*) from "{name}"').fetchone()[0] for name in names}
    return line.answer_now("book", "heads"), counts


@pytest.fixture
def refused(filled):
    """Run a command that must be refused, and return what it said; the book must be as it was."""

    def run(*words):
        before = contents(filled)
        assert sum(before[1].values()) > 100
        said = filled.run(*words)
        assert said.code in (1, 2)
        assert said.out == ""
        assert said.err.startswith("error: ")
        assert "\n\nhint: " in said.err
        assert "Traceback" not in said.err
        assert contents(filled) == before
        return said.err

    return run


def a_table(folder, name, *rows, header=None):
    first = (OTHER_FARM / f"{name}.csv").read_text(encoding="utf-8").splitlines()[0]
    path = folder / f"{name}.csv"
    path.write_text("\n".join([header(first) if header else first, *rows]) + "\n", encoding="utf-8")
    return path


ROWS = {
    "a negative count": (
        "counts",
        "N-1027,1,any,,-3,,",
        ("`counts.csv` row 2", "-3", "must not be negative"),
    ),
    "text in a number": (
        "counts",
        "N-1027,1,any,,many,,",
        ("`counts.csv` row 2", "`many`", "a whole number"),
    ),
    "a class made a date": ("counts", "N-1027,1,any,,04-Oct,,", ("`04-Oct` is a date", "write 4to10")),
    "a class made a full date": ("counts", "N-1027,1,any,,2026-10-04,,", ("is a date", "write 4to10")),
    "a class made a day number": (
        "counts",
        "N-1027,1,any,,46299,,",
        ("46299", "how a spreadsheet stores a date"),
    ),
    "an aphid misspelt": (
        "counts",
        "N-1027,1,Aphis gosypi,,3,,",
        ("`counts.csv` row 2", "'Aphis gosypi'", "near: Aphis gossypii"),
    ),
    "an enemy misspelt": (
        "lots",
        "E-9,O-31,1,Aphidius colemanni,mummies,units_in_pack,500,2,2026-10-27,2026-10-29T16:10,11.5,dry",
        ("`lots.csv` row 2", "'Aphidius colemanni'", "near: Aphidius colemani"),
    ),
    "a walk in the future": (
        "walks",
        f"N-F,Norte,2099-01-27T08:40,{WALK_TAIL}",
        ("`walks.csv` row 2", "2099-01-27", "lies in the future"),
    ),
    "a day that is not": (
        "walks",
        f"N-F,Norte,2026-02-30T08:40,{WALK_TAIL}",
        ("`walks.csv` row 2", "2026-02-30", "is no time"),
    ),
    "day before month": (
        "walks",
        f"N-F,Norte,27/10/2026 08:40,{WALK_TAIL}",
        ("27/10/2026", "must be a time like", "write year, month, day"),
    ),
    "a house that is not": (
        "walks",
        f"N-F,Nort,2026-10-27T08:40,{WALK_TAIL}",
        ("house `Nort` does not exist", "known: Norte, Sur", "did you mean `Norte`?"),
    ),
    "a house of no area": (
        "houses",
        f"Este,{HOUSE_TAIL.replace(',640,', ',0,')}",
        ("area 0 m²", "must be above 0"),
    ),
    "a second house of one name": ("houses", f"NORTE,{HOUSE_TAIL}", ("`NORTE`", "two houses of one name")),
    "a name that climbs": ("houses", f"../../etc,{HOUSE_TAIL}", ("house `../../etc`", "nor hold ../")),
    "a name that runs": ("houses", f"=cmd|calc,{HOUSE_TAIL}", ("house `=cmd|calc`", "as a formula does")),
    "400 degrees": (
        "climate",
        "Norte,N1,canopy,logger,2026-11-20 01:00,400,50",
        ("`climate.csv` row 2", "temperature 400 °C", "above the limit of 60 °C"),
    ),
}


@pytest.mark.parametrize("name", ROWS)
def test_a_bad_row_is_refused_by_file_row_and_rule(refused, tmp_path, name):
    table, row, told = ROWS[name]
    said = refused("book", "import", a_table(tmp_path, table, row))
    assert [part for part in told if part not in said] == []


def test_an_unknown_column_is_refused_by_its_name(refused, tmp_path):
    rows = (OTHER_FARM / "walks.csv").read_text(encoding="utf-8").splitlines()[1:]
    path = a_table(tmp_path, "walks", *rows, header=lambda line: line.replace("scout", "scoot"))
    said = refused("book", "import", path)
    assert "unknown column `scoot`" in said
    assert "did you mean `scout`?" in said


def test_an_empty_file_is_refused(refused, tmp_path):
    path = tmp_path / "walks.csv"
    path.touch()
    assert "`walks.csv`: is empty" in refused("book", "import", path)
    assert "is empty" in refused("climate", "import", path, "--house", "Norte")


def test_a_file_of_200_mb_is_refused_by_its_size(refused, tmp_path):
    path = tmp_path / "walks.csv"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    assert "is 200 MB, above the limit" in refused("book", "import", path)
    assert "200 MB" in refused("climate", "import", path, "--house", "Norte")


def test_a_zip_bomb_is_refused(refused, tmp_path):
    path = tmp_path / "farm.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as bomb:
        bomb.writestr("walks.csv", b"0" * 100_000_000)
    assert path.stat().st_size < 1_000_000
    assert "above the limit" in refused("book", "import", path)
    assert "this is no workbook" in refused("climate", "import", path, "--house", "Norte")


def test_a_zip_that_writes_outside_is_refused(refused, tmp_path):
    path = tmp_path / "farm.zip"
    with zipfile.ZipFile(path, "w") as package:
        package.writestr("../walks.csv", "walk\n")
    assert "leads out of the package" in refused("book", "import", path)
    assert not (tmp_path.parent / "walks.csv").exists()


TYPED = {
    "a name that runs": (
        ("house", "=cmd", "--crop", "tomato", "--area", "20", "--plants", "10"),
        ("`=cmd`", "as a formula does"),
    ),
    "a name that climbs": (
        ("house", "../x", "--crop", "tomato", "--area", "20", "--plants", "10"),
        ("`../x`", "nor hold ../"),
    ),
    "a house of no area": (
        ("house", "Este", "--crop", "tomato", "--area", "0", "--plants", "10"),
        ("`--area`", "must be above 0"),
    ),
    "a walk of no house": (("walk", "Este: 20 looked at, none"), ("'Este'", "known: Norte, Sur")),
    "a walk of a near house": (("ahead", "Nrte"), ("'Nrte'", "known: Norte, Sur")),
    "a negative count": (("walk", "Norte: 20 looked at, -4 with greenfly"), ("-4", "cannot be negative")),
    "more finds than looks": (("walk", "Norte: 20 looked at, 24 with greenfly"), ("24", "20 looked at")),
    "an aphid misspelt": (
        ("walk", "Norte: 20 looked at, 2 with green peech aphid"),
        ("'green peech aphid'", "near: Myzus persicae"),
    ),
    "a walk in the future": (
        ("walk", "Norte: 20 looked at, none", "--on", "2099-01-01"),
        ("2099-01-01", "lies in the future"),
    ),
    "a day that is not": (
        ("walk", "Norte: 20 looked at, none", "--on", "2026-02-30"),
        ("'2026-02-30'", "no date"),
    ),
    "a typed heat of 400": (
        ("climate", "typed", "Norte", "--min", "10", "--max", "400", "--on", "2026-11-22"),
        ("400 °C", "to 60 °C"),
    ),
    "an --as-of that is no day": (
        ("week", "--as-of", "2026-13-18"),
        ("`--as-of`", "'2026-13-18'", "2026-04-20"),
    ),
    "an --as-of in words": (("plan", "--as-of", "gestern"), ("`--as-of`", "'gestern'")),
    "an --as-of ahead": (("order", "--as-of", "2099-01-01"), ("`--as-of`", "lies in the future")),
    "an hour that is not": (("ahead", "Norte", "--as-of", "2026-11-01T25:00"), ("`--as-of`", "T25:00")),
    "no house": (("ahead",), ("'HOUSE'", "outpace ahead --help")),
    "an option misspelt": (("week", "--asof", "2026-11-18"), ("--asof",)),
}


@pytest.mark.parametrize("name", TYPED)
def test_a_bad_command_is_refused_with_what_it_got_and_what_is_allowed(refused, name):
    words, told = TYPED[name]
    said = refused(*words)
    assert [part for part in told if part not in said] == []


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--enemy", "aphidius colemanni", "--pest", "MYZUPE"), "near: Aphidius colemani"),
        (("--enemy", "Aphidius ervi", "--pest", "gren peach aphid"), "near: Myzus persicae"),
        (("--enemy", "Aphidius ervi", "--pest", "Aphidius colemani"), "Aphidius colemani"),
    ],
)
def test_lag_names_the_near_species(refused, words, told):
    assert told in refused("lag", *words, "--release", "2026-11-26", "--temperature", "18")


def test_what_follows_a_refusal_is_taken_as_ever(filled):
    copy = filled.book.with_name("copy.book")
    assert filled.run("backup", copy).code == 0
    assert CommandLine(copy).run("walk", "Norte: 20 looked at, 2 with potato aphid, about 5").code == 0
