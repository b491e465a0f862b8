"""The audit pack: what was written down, what was corrected, what a rule misses."""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
import zipfile
from dataclasses import replace

import pytest
from pypdf import PdfReader
from tests.season.kept_farm import FARM, LOT, NOW, SPRAY, keep

from outpace.errors import OutpaceError
from outpace.records.book import Book
from outpace.season.audit import audit
from outpace.surfaces.audit_files import audit_tables
from outpace.surfaces.sheets import audit_pack, paper
from outpace.surfaces.tables import csv_bytes, xlsx_bytes
from outpace.terms.place import PlantsIn

FORMULA = "=HYPERLINK(1)"
MARKUP = "#strong[x] *bold* $x$"


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    place = tmp_path_factory.mktemp("audit") / "kept.book"
    with Book.open(place, create=True, device="here", clock=lambda: NOW) as opened:
        keep(opened)
        odd = replace(SPRAY, spray="s3", product=FORMULA, reason=MARKUP)
        opened.record([odd], by="Ida", recorded=NOW)
        yield opened


@pytest.fixture(scope="module")
def pack(book):
    return audit(book, "2026-01-01", "2026-05-31")


def rows(answer, name):
    section = next(section for section in answer["sections"] if section["name"] == name)
    names = [column["name"] for column in section["columns"]]
    return [dict(zip(names, row, strict=True)) for row in section["rows"]]


def test_every_kind_of_record_is_in_the_pack(pack):
    told = {section["name"]: len(section["rows"]) for section in pack["sections"]}
    assert told == {
        "scouting": 3,
        "cards": 0,
        "decisions": 1,
        "plants": 1,
        "arrivals": 1,
        "releases": 2,
        "bankers": 0,
        "sprays": 3,
        "harvests": 1,
        "permits": 1,
    }


def test_a_walk_keeps_its_zeros_and_what_nobody_wrote_stays_empty(pack):
    clean = next(row for row in rows(pack, "scouting") if row["key"] == "w2")
    assert (clean["looked_at"], clean["infested"], clean["aphids"]) == (4, 0, "0")
    assert clean["bbch"] is None


def test_the_span_holds_its_first_and_last_day_and_no_other(book):
    assert [row["key"] for row in rows(audit(book, "2026-03-30", "2026-04-20"), "scouting")] == ["w1", "w2"]
    assert [row["key"] for row in rows(audit(book, "2026-03-31", "2026-04-19"), "scouting")] == []


def test_a_permit_that_was_seen_before_the_span_is_in_it(book):
    assert len(rows(audit(book, "2026-05-01", "2026-05-31"), "permits")) == 1


# Source: records asked for by region, trade reference, section 3: read for the United Kingdom that food producers
# record treatments (852/2004 as retained); recalled for the fields of worker protection in the United States.
@pytest.mark.parametrize(
    ("country", "column", "value", "field"),
    [
        ("GB", "product", None, "product"),
        ("FR", "dose", None, "rate"),
        ("FR", "registration_no", None, "registration no."),
        ("US", "active", None, "active"),
        ("US", "operator_licence", None, "licence"),
    ],
)
def test_a_field_that_a_law_asks_for_and_nobody_entered_is_listed(tmp_path, country, column, value, field):
    with Book.open(tmp_path / "one.book", create=True, device="here", clock=lambda: NOW) as book:
        keep(book)
        changed = [replace(FARM, country=country), replace(SPRAY, **{column: value})]
        book.record(changed, by="Ida", correct=True, recorded=NOW)
        lacks = audit(book, "2026-01-01", "2026-05-31")["lacks"]
        assert [
            lack["key"] for lack in lacks if lack["law"] and field in lack["fields"] and lack["key"] == "s1"
        ]


def test_a_rule_that_was_not_in_force_yet_asks_for_nothing(book):
    # Source: Implementing Regulation (EU) 2023/564 holds from 2026 on (read in a listing).
    rule = next(rule for rule in audit(book, "2026-01-01", "2026-05-31")["rules"] if rule["keep_y"] == 3)
    assert rule["check"] == "check with your authority"
    from outpace.facts.record_rules import rules_for

    (dated,) = [rule for rule in rules_for("ES") if rule.since]
    assert dated.holds_on(NOW.date())
    assert not dated.holds_on(NOW.date().replace(year=2025))


def test_a_farm_without_a_country_is_told_so(tmp_path):
    with Book.open(tmp_path / "bare.book", create=True, device="here", clock=lambda: NOW) as book:
        book.record([replace(FARM, country=None)], by="Ida")
        assert any(
            "No rules are kept" in line for line in audit(book, "2026-01-01", "2026-05-31")["cautions"]
        )


def test_a_parcel_that_was_never_ordered_or_released_is_in_the_pack_of_its_farm(tmp_path):
    with Book.open(tmp_path / "parcel.book", create=True, device="here", clock=lambda: NOW) as book:
        keep(book)
        gift = replace(LOT, lot="gift", order=None, line=None)
        book.record([gift], by="Ida", recorded=NOW)
        assert "gift" in [row["lot"] for row in rows(audit(book, "2026-01-01", "2026-05-31"), "arrivals")]
        book.record([replace(FARM, farm="other cove")], by="Ida", recorded=NOW)
        others = rows(audit(book, "2026-01-01", "2026-05-31", farm="other cove"), "arrivals")
        assert [row["lot"] for row in others] == ["gift"]


def test_what_a_raiser_could_not_tell_reads_unknown_and_stays_asked_for(tmp_path):
    with Book.open(tmp_path / "raiser.book", create=True, device="here", clock=lambda: NOW) as book:
        keep(book)
        (batch,) = book.snapshot().table(PlantsIn)
        book.record(
            [replace(batch, sprays_told="unknown", sprays=None)], by="Ida", correct=True, recorded=NOW
        )
        pack = audit(book, "2026-01-01", "2026-05-31")
        assert [row["sprays_told"] for row in rows(pack, "plants")] == ["unknown"]
        assert [lack["fields"] for lack in pack["lacks"] if lack["section"] == "plants"] == [
            ["sprayed (told)"]
        ]


# Source: trade reference, section 3, import and release: in England and Wales a licence is asked for under cover too.
def test_an_enemy_that_came_without_a_permit_noted_is_listed_where_a_rule_asks(tmp_path):
    with Book.open(tmp_path / "permit.book", create=True, device="here", clock=lambda: NOW) as book:
        keep(book)
        book.record(
            [replace(LOT, lot="new", enemy="aphidius_ervi", order=None, line=None)], by="Ida", recorded=NOW
        )
        lacks = [
            row for row in audit(book, "2026-01-01", "2026-05-31")["lacks"] if row["section"] == "permits"
        ]
        assert [(row["key"], row["law"]) for row in lacks] == [("Aphidius ervi", True)]


def test_a_long_key_breaks_inside_its_column():
    told = paper.table(("key",), [("big-glasshouse-20261121",)], longest=audit_pack.LONGEST_WORD)
    assert max(map(len, told["rows"][0][0].split("\u200b"))) <= audit_pack.LONGEST_WORD


def test_the_printed_pack_names_columns_and_records_by_their_headings(pack):
    read = PdfReader(io.BytesIO(audit_pack.render(pack)))
    told = " ".join(" ".join(page.extract_text() for page in read.pages).split())
    assert "keep out h" in told
    assert "reentry h" not in told
    assert "Permits and list entries seen" in told


def test_days_the_wrong_way_round_are_refused(book):
    with pytest.raises(OutpaceError, match="lies before"):
        audit(book, "2026-05-31", "2026-01-01")


def test_corrections_stand_in_the_pack_with_the_old_value(pack):
    changed = next(row for row in pack["corrections"] if row["columns"])
    assert changed["columns"] == [{"column": "number", "old": 400, "new": 350}]
    assert {row["key"] for row in pack["corrections"] if row["withdrawn"]} == {"release r3"}


def test_no_cell_of_a_file_runs_as_a_formula(pack):
    tables = audit_tables(pack)
    told = csv_bytes(tables["sprays"]).decode("utf-8-sig")
    cells = [cell for row in csv.reader(io.StringIO(told)) for cell in row]
    assert f"'{FORMULA}" in cells
    assert not [cell for cell in cells if cell.startswith("=")]
    with zipfile.ZipFile(io.BytesIO(xlsx_bytes(tables))) as book:
        sheets = [book.read(name).decode() for name in book.namelist() if "worksheets/sheet" in name]
        assert len(sheets) == len(tables)
        assert not [sheet for sheet in sheets if "<f>" in sheet]
        assert FORMULA in book.read("xl/sharedStrings.xml").decode()


@pytest.mark.pdf
def test_the_printed_pack_holds_each_field_and_markup_stays_text(pack, tmp_path):
    (tmp_path / "pack.pdf").write_bytes(audit_pack.render(pack))
    assert shutil.which("pdftotext")
    told = subprocess.run(
        ["pdftotext", "-layout", str(tmp_path / "pack.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    plain = told.replace("\u200b", "")
    for wanted in (
        "registration",
        "harvest interval",
        "keep out",
        "EPPO",
        "operator",
        "number on label",
        "looked",
        "with",
        "What is missing",
        "Corrections: 2",
        "check with your authority",
        pack["head"],
        "K-20",
        "L-2201",
        "inv-7",
    ):
        assert wanted in plain, wanted
    assert "#strong[x]" in plain
