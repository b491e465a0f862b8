"""Every rate range that was gathered from the trade stands in the tables, with its source and evidence."""

from __future__ import annotations

import pytest

from outpace.facts.table import load

FACTS = load()
SELLER, READ, PRACTICE = "seller", "read", "practice"

# Source: the gathered table of release rates, row by row, as it was written there; rates per m² and release,
# "at least" as the low end. 1 per 100 ft² is 0.108 /m², 500 an acre 0.124, 1 a square yard 1.196.
PLANNED = [
    ("aphidius_colemani", "preventive", 0.15, None, SELLER),
    ("aphidius_colemani", "curative", 0.5, 1.0, SELLER),
    ("aphidius_ervi", "preventive", 0.108, 0.538, SELLER),
    ("aphidius_ervi", "curative", 0.5, 1.0, SELLER),
    ("aphidius_matricariae", "preventive", 1.196, 2.392, SELLER),
    ("aphidius_matricariae", "preventive", 0.124, 0.494, SELLER),
    ("aphidius_matricariae", "curative", 3.588, None, SELLER),
    ("aphelinus_abdominalis", "light", 0.5, 2.0, SELLER),
    ("aphelinus_abdominalis", "curative", 4.0, 4.0, SELLER),
    ("aphidoletes_aphidimyza", "light", 2.0, 2.0, READ),
    ("aphidoletes_aphidimyza", "curative", 10.0, 10.0, READ),
    ("chrysoperla_carnea", "light", 10.0, 10.0, READ),
    ("chrysoperla_carnea", "curative", 20.0, 20.0, READ),
]
OTHERS = [
    ("Hippodamia", "m2", 25, 50, READ),
    ("Hippodamia", "m2", 97, 97, READ),
    ("Encarsia formosa", "m2", 1, 1, READ),
    ("Encarsia formosa", "plant", 0.25, 1, READ),
    ("Encarsia formosa", "m2", 9, 9, READ),
    ("Eretmocerus", "m2", 1.5, 1.5, READ),
    ("Eretmocerus", "plant", 0.5, 0.5, READ),
    ("Eretmocerus", "m2", 9, 9, READ),
    ("Phytoseiulus persimilis", "m2", 2, 6, PRACTICE),
    ("Phytoseiulus persimilis", "m2", 20, 50, PRACTICE),
    ("Neoseiulus cucumeris", "m2", 50, 100, PRACTICE),
]


@pytest.mark.parametrize("told", PLANNED)
def test_a_gathered_rate_of_an_aphids_enemy_stands_in_the_table(told):
    enemy, use, low, high, evidence = told
    found = [
        row
        for row in FACTS.release_rates
        if (row.enemy, row.use, row.evidence) == (enemy, use, evidence)
        and row.low == pytest.approx(low, rel=0.04)
        and (high is None or row.high == pytest.approx(high, rel=0.04))
    ]
    assert len(found) == 1


@pytest.mark.parametrize("told", OTHERS)
def test_a_gathered_rate_of_another_enemy_stands_beside_them(told):
    enemy, per, low, high, evidence = told
    found = [(row.enemy, row.per, row.low, row.high, row.evidence) for row in FACTS.other_rates]
    assert found.count((enemy, per, low, high, evidence)) == 1


def test_no_rate_stands_without_source_unless_it_says_that_it_has_none():
    for row in (*FACTS.release_rates, *FACTS.other_rates):
        assert bool(row.source) == bool(row.locator) == (row.evidence != "practice")
        assert 0 < row.low <= row.high
