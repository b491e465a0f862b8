"""Development by the facts against published durations; ±15 % where no spread was printed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from outpace.biology import temperature_curves
from outpace.facts.table import load
from outpace.season.lag import mean_days

FACTS = load()


def days(species: str, temperature: float, *, stage: str = "", strain: str = "", other: str = "") -> float:
    threshold = FACTS.one(species, "lower_threshold", stage=stage, strain=strain, other_species=other).value
    constant = FACTS.one(species, "thermal_constant", stage=stage, strain=strain, other_species=other).value
    return constant / (temperature - threshold)


@pytest.mark.parametrize(
    ("pest", "expected", "spread"), [("aphis_gossypii", 10.0, 1.1), ("myzus_persicae", 9.8, 1.1)]
)
def test_aphidius_colemani_develops_in_ten_days_at_25(pest, expected, spread):
    # Source: Zamani et al. 2007, abstract (read), mean and printed spread.
    assert mean_days("aphidius_colemani", pest, 25.0) == pytest.approx(expected, abs=spread)


@pytest.mark.parametrize(
    ("pest", "expected", "spread"), [("aphis_gossypii", 11.9, 0.9), ("myzus_persicae", 11.5, 1.1)]
)
def test_aphidius_matricariae_develops_in_twelve_days_at_25(pest, expected, spread):
    # Source: Zamani et al. 2007, abstract (read), mean and printed spread.
    assert mean_days("aphidius_matricariae", pest, 25.0) == pytest.approx(expected, abs=spread)


@pytest.mark.parametrize(("temperature", "expected"), [(15, 19.9), (21, 15.6), (24, 12.4)])
def test_the_platensis_strain_meets_its_own_times_and_the_default_is_faster(temperature, expected):
    # Source: Hågvar and Hofsvang, Aphidius platensis on paprika, abstract (read); no spread printed, ±15 %.
    assert days("aphidius_colemani", temperature, strain="platensis, paprika") == pytest.approx(
        expected, rel=0.15
    )
    assert 0.75 < mean_days("aphidius_colemani", "myzus_persicae", temperature) / expected < 0.95


@pytest.mark.parametrize(("temperature", "expected"), [(15, 27.3), (21, 19.9)])
def test_aphidius_ervi_is_slow_on_the_green_peach_aphid_only_with_its_own_constant(temperature, expected):
    # Source: Hofsvang and Hågvar 1975, abstract (read); no spread printed, ±15 %.
    assert mean_days("aphidius_ervi", "myzus_persicae", temperature) == pytest.approx(expected, rel=0.15)
    assert mean_days("aphidius_ervi", "macrosiphum_euphorbiae", temperature) < 0.85 * expected


@pytest.mark.parametrize(("temperature", "expected"), [(15, 12.0), (30, 4.5)])
def test_melon_aphid_nymphs_on_cotton_meet_the_published_times(temperature, expected):
    # Source: Kersting et al. 1999, abstract (read); ±10 %.
    assert days("aphis_gossypii", temperature, strain="Kersting1999, cotton") == pytest.approx(
        expected, rel=0.10
    )


def test_35_degrees_kill_the_melon_aphid():
    # Source: Kersting et al. 1999, abstract (read).
    assert FACTS.one("aphis_gossypii", "upper_temperature").value == 35
    assert FACTS.by_temperature("aphis_gossypii", "nymph_survival_multiplier")[-1].value == 0


@pytest.mark.parametrize(("stage", "expected"), [("N1", 2.05), ("N2", 1.97), ("N3", 1.80), ("N4", 1.85)])
def test_melon_aphid_instars_at_20_follow_from_their_degree_days(stage, expected):
    # Source: Xia et al. 1999, abstract (read): thresholds and constants; days derived exactly.
    assert days("aphis_gossypii", 20, stage=stage, strain="Xia1999, cotton") == pytest.approx(
        expected, abs=0.006
    )


def test_green_peach_aphid_on_pepper_at_25_is_near_the_published_time():
    # Source: Özgökçe 2018, abstract (read), 6.66 d on the best of five cultivars; no spread printed, ±15 %.
    assert days("myzus_persicae", 25) == pytest.approx(6.66, rel=0.15)


@pytest.mark.parametrize(("temperature", "stages", "whole"), [(20, 20.4, 20.3), (25, 15.0, 14.9)])
def test_midge_stages_add_up_to_the_whole_cycle(temperature, stages, whole):
    # Source: Havelka 1980, abstract (read): equations by stage and of the whole cycle; days derived.
    by_stage = sum(
        days("aphidoletes_aphidimyza", temperature, stage=stage, strain="Havelka1980, by stage")
        for stage in ("egg", "larva", "pupa")
    )
    assert by_stage == pytest.approx(stages, abs=0.05)
    assert days("aphidoletes_aphidimyza", temperature) == pytest.approx(whole, abs=0.05)


def test_foxglove_aphid_meets_the_soybean_study_and_bears_no_young_at_30():
    # Source: Seo et al. 2020, abstract (read): 131.2 degree-days above 5.02; no young above 27.5; ±15 %.
    assert days("aulacorthum_solani", 20) == pytest.approx(131.2 / (20 - 5.02), rel=0.15)
    assert FACTS.by_temperature("aulacorthum_solani", "lifetime_fecundity")[-1].value == 0
    assert FACTS.by_temperature("aulacorthum_solani", "lifetime_fecundity")[-1].temperature_degc <= 30


def test_bird_cherry_oat_aphid_at_20_is_near_the_published_time():
    # Source: Sengonca 1994, abstract (read), 6.8 d; no spread printed, ±15 %.
    assert days("rhopalosiphum_padi", 20) == pytest.approx(6.8, rel=0.15)


def test_the_torres_life_table_agrees_with_itself():
    # Source: Torres et al. 2007, abstract (read): R0 194.81, T 13.74, r 0.384; identity r = ln R0 / T.
    rows = {
        name: FACTS.one("aphidius_colemani", name, strain="Torres2007").value
        for name in ("net_reproduction", "generation_time", "intrinsic_rate")
    }
    assert math.log(rows["net_reproduction"]) / rows["generation_time"] == pytest.approx(0.3837, abs=5e-5)
    assert rows["intrinsic_rate"] == pytest.approx(0.384)


@pytest.mark.parametrize(
    ("species", "threshold", "constant"),
    [
        ("myzus_persicae", (2.2, 5.6), (103.7, 165.6)),
        ("aphis_gossypii", (2.28, 12.6), (64.6, 144.3)),
        ("macrosiphum_euphorbiae", (3.27, 4.67), (142.7, 149.1)),
        ("aulacorthum_solani", (2.7, 5.02), (131.2, 150.0)),
        ("aphidius_colemani", (1.5, 4.3), (201.6, 238.1)),
        ("aphidius_ervi", (3.2, 6.2), (197, 334)),
        ("aphidius_matricariae", (1.4, 7.9), (162, 317)),
        ("aphidoletes_aphidimyza", (6.0, 12.0), (193.8, 285.3)),
        ("chrysoperla_carnea", (10.0, 10.2), (339, 342)),
        ("adalia_bipunctata", (8.4, 10.5), (246, 314)),
    ],
)
def test_thresholds_and_constants_lie_in_the_range_of_studies(species, threshold, constant):
    # Source: Jarošík et al. 2011, species rows of the compilation (read); Seo 2020 and Jalali 2010 added
    # for the foxglove aphid and the ladybird.
    assert threshold[0] <= FACTS.one(species, "lower_threshold").value <= threshold[1]
    assert constant[0] <= FACTS.one(species, "thermal_constant").value <= constant[1]


@pytest.mark.parametrize(
    ("species", "expected"),
    [
        ("myzus_persicae", 7.7),
        ("aphis_gossypii", 7.4),
        ("macrosiphum_euphorbiae", 9.1),
        ("aulacorthum_solani", 8.9),
        ("aphidius_colemani", 13.4),
        ("aphelinus_abdominalis", 21.4),
        ("aphidius_ervi", 14.1),
    ],
)
def test_days_at_20_are_near_the_median_of_the_compilation(species, expected):
    # Source: Jarošík et al. 2011, species rows of the compilation (read), medians computed; ±15 %.
    assert days(species, 20) == pytest.approx(expected, rel=0.15)


def curve(species: str, strain: str, *names: str, crop: str = "") -> list[float]:
    return [FACTS.one(species, name, strain=strain, crop=crop).value for name in names]


def test_the_published_curve_of_the_melon_aphid_gives_its_days():
    # Source: Zamani et al. 2006, published fit (read); days computed from it by hand, 10 to 30 °C.
    names = ("lactin2_rho", "lactin2_upper", "lactin2_delta", "lactin2_lambda")
    put = curve("aphis_gossypii", "Zamani2006, cucumber", *names, crop="cucumber")
    rates = temperature_curves.lactin2(np.array([10.0, 15.0, 20.0, 25.0, 30.0]), *put)
    assert 1 / rates == pytest.approx([22.1, 10.5, 6.75, 4.92, 3.83], rel=0.01)


@pytest.mark.parametrize(
    ("species", "strain", "expected"),
    [
        ("myzus_persicae", "Taylor1981, first fit", [22.0, 11.6, 7.8, 6.5, 6.9]),
        ("macrosiphum_euphorbiae", "Taylor1981", [19.3, 12.6, 9.3, 7.7, 7.1]),
    ],
)
def test_the_published_bell_curves_give_their_days(species, strain, expected):
    # Source: Taylor 1981, published fits (read via another source); days computed by hand, 10 to 30 °C.
    put = curve(species, strain, "gaussian_peak", "gaussian_middle", "gaussian_width")
    rates = temperature_curves.gaussian(np.array([10.0, 15.0, 20.0, 25.0, 30.0]), *put)
    assert 1 / rates == pytest.approx(expected, abs=0.06)


@pytest.mark.parametrize(
    "species",
    sorted({row.species for row in FACTS.rows() if row.quantity == "briere1_scale"}),
)
def test_the_fitted_briere_curve_follows_the_straight_line_in_a_mild_house(species):
    # Derived: the curve was fitted to the straight line; a law of the fit, ±10 % from 18 to 24 °C.
    put = curve(species, "fitted to the straight line", "briere1_scale", "briere1_lower", "briere1_upper")
    for temperature in (18.0, 21.0, 24.0):
        bent = float(temperature_curves.briere1(temperature, *put))
        assert 1 / bent == pytest.approx(days(species, temperature), rel=0.10)
