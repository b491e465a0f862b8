"""An early look decides nothing, a recount is not a second pot, and own lots move what is expected of the next."""

from __future__ import annotations

import doctest
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

import outpace.estimation.lot_checks as lot_checks
import outpace.estimation.lot_quality as quality
from outpace.estimation.lot_checks import Counted, counted, finished, heat_needed, is_early, share_due
from outpace.estimation.lot_quality import emergence_of, lot_quality, prior_of
from outpace.facts.table import load
from outpace.terms.enemies import Check, Lot

FACTS = load()
MUMMIES = Lot(
    lot="L1", enemy="aphidius_colemani", form="mummies", label_counts="units_in_pack", labelled_number=500
)
SET_UP = datetime(2026, 11, 1, 9, tzinfo=UTC)


def look(days, positive, looked_at=100, degc=None, lot="L1", kind="emergence"):
    return Check(
        lot=lot,
        time=SET_UP + timedelta(days=days or 0),
        kind=kind,
        looked_at=looked_at,
        positive=positive,
        days=days,
        degc=degc,
    )


@pytest.mark.parametrize("module", [lot_checks, quality])
def test_the_examples_of_the_modules_give_what_they_show(module):
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize(
    ("days", "degc", "early"),
    [
        (3, 23.0, True),
        (6.9, 30.0, True),  # a hot house does not end a check before the days of the guideline
        (7, 23.0, False),
        (7, 21.0, False),
        (7, 16.0, True),  # 7 d × (16 - 2.8) = 92 of 127 degree-days
        (10, 16.0, False),  # 132 of 127
        (7, None, False),
        (None, None, False),
    ],
)
def test_a_check_ends_by_heat_and_never_before_the_days_of_the_guideline(days, degc, early):
    assert is_early(FACTS, MUMMIES, look(days, 40, degc=degc)) is early


def test_a_pot_that_is_all_out_needs_no_more_days():
    assert not is_early(FACTS, MUMMIES, look(2, 100))


def test_day_three_of_seven_moves_nothing():
    alone = lot_quality(FACTS, MUMMIES, [], members=64, seed=1)
    early = lot_quality(FACTS, MUMMIES, [look(3, 22, degc=22.0)], members=64, seed=1)
    assert early.emergence.tolist() == alone.emergence.tolist()
    assert early.checked == 0


def test_the_same_pot_counted_again_is_not_two_pots():
    assert counted(finished(FACTS, MUMMIES, [look(3, 22), look(7, 70), look(9, 74)])) == Counted(74, 100)


def test_two_pots_read_on_one_day_and_pots_of_two_sizes_are_added():
    first, second = look(7, 70), look(7, 64)
    later = Check(**{name: getattr(second, name) for name in second.__slots__} | {"time": SET_UP})
    assert counted(finished(FACTS, MUMMIES, [first, later])) == Counted(134, 200)
    assert counted(finished(FACTS, MUMMIES, [look(7, 70), look(8, 30, looked_at=50)])) == Counted(100, 150)


@given(some.lists(some.floats(0, 400), min_size=2, max_size=6))
def test_more_heat_never_means_fewer_are_out(heats):
    shares = [share_due(FACTS, "aphidius_colemani", heat) for heat in sorted(heats)]
    assert shares == sorted(shares)
    assert all(0 <= share <= 1 for share in shares)


def test_nearly_all_are_out_when_the_check_ends():
    assert share_due(FACTS, "aphidius_colemani", heat_needed(FACTS, "aphidius_colemani")) > 0.99


FACT = FACTS.one("aphidius_colemani", "emergence")


@given(some.integers(1, 400), some.data())
def test_the_posterior_lies_between_the_books_and_the_count(looked_at, data):
    seen = Counted(data.draw(some.integers(0, looked_at)), looked_at)
    prior = prior_of(FACT, (), 0.5)
    after = prior.after(seen).mean
    low, high = sorted((prior.mean, seen.positive / looked_at))
    assert low - 1e-12 <= after <= high + 1e-12


@given(some.integers(1, 60))
def test_the_posterior_narrows_as_the_same_share_is_seen_in_more(times):
    prior = prior_of(FACT, (), 0.5)
    few, more = prior.after(Counted(3 * times, 5 * times)), prior.after(Counted(3 * times + 3, 5 * times + 5))
    assert more.quantile(0.95) - more.quantile(0.05) < few.quantile(0.95) - few.quantile(0.05)


def test_with_no_own_lot_the_prior_is_the_books():
    low, high = prior_of(FACT, (), 0.5), FACT
    assert low.mean == pytest.approx(high.value)


@settings(max_examples=40)
@given(some.floats(0.1, 0.9), some.integers(1, 12))
def test_own_lots_move_the_prior_towards_themselves_and_leave_room_between_lots(share, lots):
    told = [Counted(round(share * 200), 200)] * lots
    prior, moved = prior_of(FACT, (), 0.5), prior_of(FACT, told, 0.5)
    low, high = sorted((prior.mean, round(share * 200) / 200))
    assert low - 1e-9 <= moved.mean <= high + 1e-9
    # Source: law of total variance: what lies between lots stays, however many were checked.
    between = 0.5 / (prior.a + prior.b + 0.5)
    assert moved.a + moved.b + 1 <= 1 / between + 1e-9


def test_one_huge_check_of_one_lot_teaches_no_more_than_one_lot():
    some_units, many = (prior_of(FACT, [Counted(n // 5, n)], 0.5).mean for n in (200, 20_000))
    assert many == pytest.approx(some_units, abs=0.02)


def test_only_lots_of_the_same_enemy_and_form_move_the_prior():
    other = Lot(
        lot="L0", enemy="aphidius_colemani", form="mummies", label_counts="unknown", labelled_number=500
    )
    strange = Lot(
        lot="L9", enemy="aphidius_ervi", form="mummies", label_counts="unknown", labelled_number=500
    )
    checks = [look(7, 20, lot="L0"), look(7, 0, lot="L9")]
    _, books, _ = emergence_of(FACTS, MUMMIES, checks)
    _, moved, _ = emergence_of(FACTS, MUMMIES, checks, [MUMMIES, other])
    _, same, _ = emergence_of(FACTS, MUMMIES, checks, [MUMMIES, other, strange])
    assert moved.mean < books.mean
    assert same == moved
