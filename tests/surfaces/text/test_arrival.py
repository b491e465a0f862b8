"""The page of parcels: nothing is called good or bad before it can be known."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest

from outpace.surfaces.text.arrival import render

ANSWER = json.loads((Path(__file__).parents[1] / "answers" / "arrival.json").read_text(encoding="utf-8"))


def page(answer=ANSWER, **how):
    return " ".join(render(answer, **how).split())


def test_an_early_look_is_called_one():
    told = page()
    assert "neither pass nor reject" in told
    assert "an early look that decides nothing" in told


def test_exact_ranges_stand_beside_every_count():
    # Source: Clopper-Pearson ends of 38 of 100: 28 to 48 %, of 30 of 50: 45 to 74 % (computed).
    assert "38 of 100 emerged: 38 % (exact 28 % to 48 %)" in page()
    assert "30 of 50 females: 60 % (exact 45 % to 74 %)" in page()


def test_a_short_page_leaves_out_guideline_sizes_storage_and_claim():
    for part in ("quality guideline asks", "into the pot", "the views differ", "step 2 of 2"):
        assert part in page(whole=True)
        assert part not in page()


def test_the_signs_of_the_guideline_and_its_source_are_told():
    told = page(whole=True)
    assert "emergence: at least 45 % of 500" in told
    assert "read, vanLenteren2003" in told
    assert "mummies of a female on Aphis gossypii: at least 60" in told


def test_every_view_on_storage_is_told_with_who_holds_it():
    told = page(whole=True)
    for part in ("(seller, SupplierLeaflets", "(practice, common practice", "not below 10 °C"):
        assert part in told


def test_what_was_let_go_and_counted_takes_one_line():
    answer = copy.deepcopy(ANSWER)
    answer["lots"] = [copy.deepcopy(answer["lots"][1])]
    answer["lots"][0]["balance"]["left"] = 0
    answer["lots"][0]["warnings"] = []
    told = page(answer)
    assert "Let go and counted, or past counting" in told
    assert "38 of 100" in told
    assert "share that comes out" not in told


@pytest.mark.parametrize("left", [-50, 0, 100])
def test_a_balance_is_never_shown_below_zero(left):
    answer = copy.deepcopy(ANSWER)
    answer["lots"][1]["balance"]["left"] = left
    told = page(answer)
    assert "-50" not in told
    if left < 0:
        assert "50 more than came" in told


def test_an_empty_page_is_one_sentence():
    answer = {**ANSWER, "lots": [], "expected": [], "facts": [], "cautions": [], "storage": []}
    assert render(answer) == ANSWER["sentence"]
