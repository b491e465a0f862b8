"""What `outpace facts fit` answers: curves, the line as a pair, and what may stand among own facts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from outpace.biology.curve_shapes import CURVES
from outpace.errors import OutpaceError
from outpace.intake.trial_columns import TrialTold
from outpace.season.facts_fit import fit_answer, own_facts_csv, parameters_csv

NO_WORDS = TrialTold(columns={})
# Source: days of the pea aphid at 10 to 28 °C as a published Lactin-2 curve gives them (Lactin et al. 1995: rho
# .158712, Tmax 31.60617, Delta 6.278001, lambda -.003533; read), so the curve that made them is known.
PEA_DEGREES = (8.0, 10.0, 12.5, 15.0, 17.5, 20.0, 22.5, 25.0, 26.5, 28.0, 29.5)


@pytest.fixture(scope="module")
def pea(tmp_path_factory):
    path = tmp_path_factory.mktemp("trials") / "pea.csv"
    rates = CURVES["lactin2"].function(np.array(PEA_DEGREES), 0.158712, 31.60617, 6.278001, -0.003533)
    rows = "\n".join(f"{t:g},{1 / r:.4f}" for t, r in zip(PEA_DEGREES, rates, strict=True))
    path.write_text(f"temperature (°C),days\n{rows}\n", encoding="utf-8")
    return fit_answer(path, TrialTold(columns={}, decimal="point"), species="M. persicae")


def test_the_curve_that_made_the_rates_stands_first_with_its_parameters(pea):
    best = pea["fits"][0]
    assert best["curve"] == "lactin2"
    values = [each["value"] for each in best["parameters"]]
    assert values == pytest.approx([0.158712, 31.60617, 6.278001, -0.003533], rel=0.03)
    assert best["delta"] == 0
    assert all(each["low"] <= each["value"] <= each["high"] for each in best["parameters"])


def test_the_domain_is_that_of_the_trial_and_every_curve_is_named(pea):
    assert pea["domain"] == {"low": 8.0, "high": 29.5, "unit": "degC"}
    assert {fit["curve"] for fit in pea["fits"]} | {no["curve"] for no in pea["not_fitted"]} == set(CURVES)


def test_the_line_is_told_as_a_pair_with_its_correlation(tmp_path):
    path = tmp_path / "line.csv"
    path.write_text(
        "temp C,rate\n10,0.047\n12.5,0.064\n15,0.093\n17.5,0.112\n20,0.143\n22.5,0.163\n25,0.187\n"
    )
    line = fit_answer(path, NO_WORDS)["line"]
    # Source: numpy's straight line and its covariance, carried to -a/b and 1/b by the usual linear approximation.
    degrees = np.array([10, 12.5, 15, 17.5, 20, 22.5, 25])
    rates = np.array([0.047, 0.064, 0.093, 0.112, 0.143, 0.163, 0.187])
    (slope, start), spread = np.polyfit(degrees, rates, 1, cov=True)
    lean = np.array([[start / slope**2, -1 / slope], [-1 / slope**2, 0.0]])
    both = lean @ spread @ lean.T
    assert line["lower_threshold"] == pytest.approx(-start / slope, rel=1e-4)
    assert line["thermal_constant"] == pytest.approx(1 / slope, rel=1e-4)
    assert line["lower_threshold_error"] == pytest.approx(math.sqrt(both[0, 0]), rel=1e-3)
    assert line["correlation"] == pytest.approx(both[0, 1] / math.sqrt(both[0, 0] * both[1, 1]), abs=2e-3)
    assert line["correlation"] < -0.8


def test_what_lies_beyond_the_fastest_is_kept_out_of_the_line_and_said(pea):
    assert pea["line"]["highest_degc"] == 25.0
    assert pea["line"]["n"] == 8
    assert any("beyond, it is no line" in line for line in pea["cautions"])


def test_curves_with_too_many_parameters_say_how_many_rows_they_want(tmp_path):
    path = tmp_path / "few.csv"
    path.write_text("temp C,days\n15,13.4\n20,8.5\n25,6.0\n")
    answer = fit_answer(path, NO_WORDS)
    assert [fit["curve"] for fit in answer["fits"]] == ["linear"]
    assert answer["fits"][0]["aicc"] is None
    why = {no["curve"]: no["why"] for no in answer["not_fitted"]}
    assert why["briere1"].startswith(
        "3 parameters: it needs 4 rows at 3 temperatures or more; here are 3 at 3"
    )
    assert any("still faster at the highest temperature" in line for line in answer["cautions"])


@pytest.mark.parametrize(
    ("rows", "words"),
    [("20,8\n20,8.2\n20,7.9\n", "1 temperature"), ("10,none\n20,none\n30,none\n", "no curve fits")],
)
def test_a_trial_that_tells_nothing_is_refused_with_what_it_needs(tmp_path, rows, words):
    path = tmp_path / "bad.csv"
    path.write_text(f"temp C,days\n{rows}")
    with pytest.raises(OutpaceError, match=words) as error:
        fit_answer(path, NO_WORDS)
    assert error.value.allowed
    assert error.value.hint


def test_own_facts_are_rows_that_the_book_takes(pea):
    rows = {row["quantity"]: row for row in pea["own_facts"]}
    assert {"lower_threshold", "thermal_constant", "threshold_constant_correlation"} <= set(rows)
    assert {row["species"] for row in rows.values()} == {"myzus_persicae"}
    head, *lines = own_facts_csv(pea).splitlines()
    assert head == "species,other_species,crop,quantity,value,sd,unit,seasons"
    assert len(lines) == len(rows)
    assert len(parameters_csv(pea).splitlines()) == 1 + sum(len(fit["parameters"]) for fit in pea["fits"])


FOUR = "temp C,days\n15,13.4\n18,10.1\n20,8.5\n25,6.0\n"


def test_own_facts_want_a_species(tmp_path):
    path = tmp_path / "four.csv"
    path.write_text(FOUR)
    with pytest.raises(OutpaceError, match="no species told"):
        own_facts_csv(fit_answer(path, NO_WORDS))


def test_own_facts_are_as_wide_as_so_few_rows_leave_them(tmp_path):
    path = tmp_path / "four.csv"
    path.write_text(FOUR)
    answer = fit_answer(path, NO_WORDS, species="MYZUPE")
    constant = next(row for row in answer["own_facts"] if row["quantity"] == "thermal_constant")
    # Source: Student's t at .95 with 2 degrees of freedom is 2.920 (table, recalled), against 1.645 of the normal.
    assert constant["sd"] == pytest.approx(answer["line"]["thermal_constant_error"] * 2.920 / 1.645, rel=1e-3)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("temp C,days\n15,13.4\n20,8.5\n25,6.0\n", NO_WORDS),
        (FOUR.replace("days\n", "days,stage\n", 1), TrialTold(columns={}, only={"stage": "N1"})),
    ],
)
def test_few_rows_or_one_stage_may_not_stand_among_own_facts(tmp_path, text, told):
    path = tmp_path / "part.csv"
    lines = text.splitlines()
    if "stage" in lines[0]:
        lines = [lines[0], *(f"{','.join(line.split(',')[:2])},N1" for line in lines[1:])]
    path.write_text("\n".join(lines) + "\n")
    answer = fit_answer(path, told, species="MYZUPE")
    assert answer["own_facts"] == []
    with pytest.raises(OutpaceError, match="nothing of this trial can stand among own facts"):
        own_facts_csv(answer)


def test_a_feeding_trial_gives_attack_rate_and_handling_time(tmp_path):
    # Source: Vonesh and Bolker 2005, tadpoles offered and killed (read); fit printed as .526 and .0166 (recalled).
    offered = [5, 5, 10, 10, 15, 15, 20, 20, 30, 30, 50, 50, 75, 75, 100, 100]
    killed = [1, 2, 5, 6, 10, 9, 7, 10, 11, 15, 5, 21, 32, 18, 25, 35]
    path = tmp_path / "eaten.csv"
    rows = "\n".join(f"{a},{b}" for a, b in zip(offered, killed, strict=True))
    path.write_text(f"prey offered,killed\n{rows}\n")
    told = TrialTold(columns={}, days=1.0)
    put_back = fit_answer(path, told, replaced=True)
    assert put_back["fits"][0]["curve"] == "disc"
    assert [each["value"] for each in put_back["fits"][0]["parameters"]] == pytest.approx(
        [0.526, 0.0166], rel=1e-3
    )
    assert [row["quantity"] for row in put_back["own_facts"]] == ["handling_time"]
    gone = fit_answer(path, told)
    assert any("taken as not put back" in line for line in gone["cautions"])
    assert gone["own_facts"][0]["value"] == pytest.approx(0.019257, rel=1e-3)
