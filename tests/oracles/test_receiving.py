"""Outside figures for receiving a parcel. Evidence of each: read, recalled, computed (by us, from the law)."""

from __future__ import annotations

import pytest
from scipy.stats import beta, binom

from outpace.estimation.acceptance import (
    SAMPLE_SIZE,
    AcceptancePlan,
    chance_of_at_least,
    code_letter,
    passing_number,
    plan_by_letter,
)
from outpace.estimation.intervals import clopper_pearson
from outpace.facts.table import load

FACTS = load()

# Source: ISO 2859-1 (the same in ANSI/ASQ Z1.4), table 1, general levels I, II, III (read).
TABLE_1 = """
2 8 A A B
9 15 A B C
16 25 B C D
26 50 C D E
51 90 C E F
91 150 D F G
151 280 E G H
281 500 F H J
501 1200 G J K
1201 3200 H K L
3201 10000 J L M
10001 35000 K M N
35001 150000 L N P
150001 500000 M P Q
500001 9000000 N Q R
"""


@pytest.mark.parametrize("row", TABLE_1.split("\n")[1:-1])
def test_the_code_letters_are_those_of_the_table_at_both_ends_of_a_row(row):
    low, high, *letters = row.split()
    for size in (int(low), int(high)):
        assert [code_letter(size, level) for level in ("I", "II", "III")] == letters


def test_the_sample_sizes_are_those_of_the_letters():
    # Source: ISO 2859-1 (read).
    told = "A2 B3 C5 D8 E13 F20 G32 H50 J80 K125 L200 M315 N500 P800 Q1250 R2000"
    assert [f"{letter}{size}" for letter, size in SAMPLE_SIZE.items()] == told.split()


@pytest.mark.parametrize(
    ("letter", "limit", "sample", "accept"),
    [
        # Source: ISO 2859-1, single normal plans (recalled, sure).
        ("H", 1.0, 50, 1),
        ("H", 2.5, 50, 3),
        ("J", 1.0, 80, 2),
        ("K", 1.0, 125, 3),
        ("L", 1.0, 200, 5),
        # Source: French order of 15 January 2009, annex III: 315 units, limit 4 %, rejected at 22 (read).
        ("M", 4.0, 315, 21),
    ],
)
def test_the_single_plans_are_those_of_the_standard(letter, limit, sample, accept):
    plan = plan_by_letter(letter, limit)
    assert (plan.sample, plan.accept, plan.reject) == (sample, accept, accept + 1)


def test_acceptance_numbers_follow_the_sequence_along_a_row():
    # Source: ISO 2859-1, the sequence of Ac on single normal plans (read); row H of the master table (recalled).
    limits = (0.25, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0)
    assert [plan_by_letter("H", limit).accept for limit in limits] == [0, 1, 2, 3, 5, 7, 10]


@pytest.mark.parametrize(
    ("sample", "accept", "chances"),
    [
        # Source: binomial sums at 1, 2.5, 5 and 10 % (computed in another program).
        (50, 1, (0.9106, 0.6435, 0.2794, 0.0338)),
        (125, 3, (0.9626, 0.6189, 0.1238, 0.0010)),
        (13, 0, (0.8775, 0.7195, 0.5133, 0.2542)),
    ],
)
def test_the_operating_characteristics_are_the_binomial_sums(sample, accept, chances):
    found = AcceptancePlan(sample, accept).chance_accepted([0.01, 0.025, 0.05, 0.10])
    assert found == pytest.approx(chances, abs=5.1e-5)


@pytest.mark.parametrize(
    ("share", "chance"),
    # Source: chance to see at least 45 % of 500 by the true share (computed in another program).
    [(0.48, 0.9175), (0.45, 0.5173), (0.42, 0.0947), (0.40, 0.0130)],
)
def test_the_guideline_of_colemani_is_as_noisy_as_computed(share, chance):
    assert passing_number(0.45, 500) == 225
    assert float(chance_of_at_least(225, 500, share)) == pytest.approx(chance, abs=5.1e-5)
    assert float(chance_of_at_least(225, 500, share)) == pytest.approx(
        sum(binom.pmf(k, 500, share) for k in range(225, 501)), abs=1e-9
    )


def test_225_of_500_has_the_exact_ends():
    # Source: Clopper-Pearson, computed in two programs; here against the beta quantiles of the definition.
    assert clopper_pearson(225, 500) == pytest.approx((0.4058, 0.4948), abs=5.1e-5)
    assert clopper_pearson(225, 500) == pytest.approx(
        (beta.ppf(0.025, 225, 276), beta.ppf(0.975, 226, 275)), abs=1e-12
    )


@pytest.mark.parametrize(
    ("emerged", "looked_at", "ends"),
    # Source: exact ends at 60 % seen (computed): 36 to 81 %, 45 to 74 %, 50 to 70 %.
    [(12, 20, (0.36, 0.81)), (30, 50, (0.45, 0.74)), (60, 100, (0.50, 0.70))],
)
def test_a_small_check_finds_disasters_and_no_mediocre_lots(emerged, looked_at, ends):
    assert clopper_pearson(emerged, looked_at) == pytest.approx(ends, abs=5.1e-3)


# Source: van Lenteren et al. 2003, ch. 19, pp. 267-289 (read; signs lost in the scan, restored by sense).
GUIDELINES = [
    ("aphidius_colemani", "guideline_emergence", "", 0.45, 500, 25),
    ("aphidius_colemani", "guideline_share_female", "", 0.45, 150, 25),
    ("aphidius_colemani", "guideline_mummies_per_female", "aphis_gossypii", 60, 30, 25),
    ("aphidius_colemani", "guideline_mummies_per_female", "myzus_persicae", 35, 30, 25),
    ("aphidius_ervi", "guideline_adult_mortality", "", 0.08, None, 22),
    ("aphelinus_abdominalis", "guideline_adult_mortality", "", 0.10, 300, 22),
    ("aphelinus_abdominalis", "guideline_emergence", "", 0.75, 300, 22),
    ("aphelinus_abdominalis", "guideline_share_female", "", 0.40, 300, 22),
    ("aphelinus_abdominalis", "guideline_eggs_per_female", "", 10, 30, 22),
    ("aphelinus_abdominalis", "guideline_check_days", "", 12, None, 22),
    ("aphidoletes_aphidimyza", "guideline_emergence", "", 0.70, 150, 22),
    ("aphidoletes_aphidimyza", "guideline_share_female", "", 0.45, 150, 22),
    ("aphidoletes_aphidimyza", "guideline_eggs_per_female", "", 40, 25, 22),
    ("aphidoletes_aphidimyza", "guideline_check_days", "", 7, None, 22),
]


@pytest.mark.parametrize(("species", "quantity", "other", "value", "n", "degc"), GUIDELINES)
def test_the_guideline_criteria_stand_as_they_were_read(species, quantity, other, value, n, degc):
    fact = FACTS.one(species, quantity, other_species=other)
    assert (fact.value, fact.n, fact.temperature_degc) == (value, n, degc)
    assert (fact.source, fact.evidence) == ("vanLenteren2003", "read")


@pytest.mark.parametrize(
    ("quantity", "other", "value", "n"),
    # Source: the same, p. 281; the heading of the species was not visible, hence derived and not read.
    [
        ("guideline_prey_per_larva", "macrosiphum_euphorbiae", 25, 10),
        ("guideline_prey_per_larva", "myzus_persicae", 50, 10),
        ("guideline_larval_survival", "", 0.65, 30),
    ],
)
def test_the_criteria_of_the_lacewing_are_not_called_read(quantity, other, value, n):
    fact = FACTS.one("chrysoperla_carnea", quantity, other_species=other)
    assert (fact.value, fact.n, fact.evidence) == (value, n, "derived")
