"""What a parcel is worth, from its label and its check."""

from datetime import UTC, datetime

import numpy as np
import pytest
from scipy.stats import beta

from outpace.estimation.lot_quality import lot_quality
from outpace.facts.table import load
from outpace.terms.enemies import Check, Lot


def lot(label_counts="units_in_pack"):
    return Lot(
        lot="L1",
        enemy="aphidius_colemani",
        form="mummies",
        label_counts=label_counts,
        labelled_number=500,
    )


def check(looked_at, positive, kind="emergence", lot="L1"):
    return Check(
        lot=lot,
        time=datetime(2026, 11, 1, tzinfo=UTC),
        kind=kind,
        looked_at=looked_at,
        positive=positive,
    )


def test_a_large_check_outweighs_the_books():
    quality = lot_quality(load(), lot(), [check(500, 225)], members=4000, seed=3)
    # Source: exact binomial, 225 of 500 (Clopper-Pearson .4058 to .4948), evidence class derived.
    low, high = beta.ppf([0.025, 0.975], [225, 226], [276, 275])
    assert low < np.mean(quality.emergence) < high


def test_a_check_of_another_lot_changes_nothing():
    alone = lot_quality(load(), lot(), [], members=64, seed=3)
    other = lot_quality(load(), lot(), [check(500, 5, lot="L2")], members=64, seed=3)
    assert np.array_equal(alone.emergence, other.emergence)


@pytest.mark.parametrize("label_counts", ["units_in_pack", "adults_expected", "unknown"])
def test_adults_to_come_follow_what_the_label_counts(label_counts):
    quality = lot_quality(load(), lot(label_counts), [], members=8000, seed=3)
    per_label = quality.units_per_label * quality.emergence
    promised = load().one("aphidius_colemani", "emergence").value
    expected = {"units_in_pack": promised, "adults_expected": 1.0, "unknown": (1.0 + promised) / 2}
    # exchange format: units × emergence, or number × (observed ÷ promised emergence); unknown draws both
    assert per_label.mean() == pytest.approx(expected[label_counts], rel=0.03)
    assert quality.emergence.max() <= 1.0


def test_an_unknown_label_is_wider_than_either_reading():
    spread = {
        name: np.std(q.units_per_label * q.emergence)
        for name in ("units_in_pack", "unknown")
        for q in [lot_quality(load(), lot(name), [], members=8000, seed=3)]
    }
    assert spread["unknown"] > spread["units_in_pack"]


def test_a_sex_check_moves_the_share_of_females_only():
    plain = lot_quality(load(), lot(), [], members=2000, seed=3)
    sexed = lot_quality(load(), lot(), [check(200, 60, kind="sex")], members=2000, seed=3)
    assert sexed.share_female.mean() < plain.share_female.mean() - 0.1
    assert sexed.emergence.mean() == pytest.approx(plain.emergence.mean(), abs=0.02)
