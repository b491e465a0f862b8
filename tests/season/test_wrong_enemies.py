"""An enemy is called wrong only of an aphid that has a name."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from outpace.facts.table import load
from outpace.season.wrong_enemies import refused, wrong_enemies

RELEASED = {"enemy": "aphidius_colemani", "date": "2026-04-07"}


# Source: facts/host_match.csv: A. colemani accepts Myzus persicae and refuses Macrosiphum euphorbiae.
@pytest.mark.parametrize(
    ("pests", "lines"),
    [
        (("macrosiphum_euphorbiae",), 1),
        (("myzus_persicae",), 0),
        (("unknown_aphid",), 0),
        (("macrosiphum_euphorbiae", "unknown_aphid"), 0),
    ],
)
def test_of_an_aphid_without_a_name_nothing_is_refused(pests, lines):
    case = SimpleNamespace(
        let_go=SimpleNamespace(told=[RELEASED]), facts=load(), model=SimpleNamespace(pests=pests), found=True
    )
    told = wrong_enemies(case)
    assert len(told) == lines
    assert all("does not accept Macrosiphum euphorbiae;" in line for line in told)
    assert len(refused([RELEASED], pests[-1])) == (lines if len(pests) == 1 else 0)
