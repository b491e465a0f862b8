"""The key leaves what the books say, names nobody it cannot, and offers only enemies that accept all that are left."""

from __future__ import annotations

import pytest

from outpace.errors import OutpaceError
from outpace.facts.table import load
from outpace.season.species_key import enemies_for, features, look_next, species_key, states_of


def fitting(**seen: str) -> set[str]:
    return {row["species"] for row in species_key(seen)["species"] if row["fits"]}


# Source: the field key of the trade reference, after extension pages (Cornell 2019, New England, Maine): what each
# aphid looks like at 10 to 15 times. Each line is one animal as those pages describe it.
DESCRIBED = [
    (
        "myzus_persicae",
        {"brow": "inward", "tubes": "tip", "shape": "small", "colour": "green", "place": "tips"},
    ),
    (
        "aphis_gossypii",
        {"brow": "flat", "tubes": "dark", "tail": "pale", "shape": "small", "back": "plain", "plant": "crop"},
    ),
    ("aulacorthum_solani", {"back": "green_feet", "feelers": "ringed", "shape": "large", "place": "low"}),
    ("macrosiphum_euphorbiae", {"brow": "outward", "shape": "large", "colour": "pink", "back": "stripe"}),
]


@pytest.mark.parametrize(("species", "seen"), DESCRIBED)
def test_an_aphid_as_the_pages_describe_it_is_named(species, seen):
    assert fitting(**seen) == {species}


def test_unsure_at_every_step_leaves_all_and_asks_for_what_parts_most():
    answer = species_key(dict.fromkeys(features(), ""))
    assert all(row["fits"] for row in answer["species"])
    assert answer["look_next"] == "brow"


def test_colour_and_place_order_but_exclude_nobody():
    answer = species_key({"colour": "black", "place": "low"})
    assert all(row["fits"] for row in answer["species"])
    assert {row["species"] for row in answer["species"][:2]} == {"aphis_fabae", "aulacorthum_solani"}


def test_what_fits_none_names_none_and_offers_no_enemy():
    answer = species_key({"brow": "inward", "feelers": "ringed"})
    assert not any(row["fits"] for row in answer["species"])
    assert answer["enemies"] == []
    assert answer["look_next"] is None


def test_colemani_is_never_offered_where_potato_or_foxglove_aphid_may_be_meant():
    # Source: host-match table (Carver 1993 through ACIAR; cage trials): no mummies on these two.
    for left in (["macrosiphum_euphorbiae"], ["myzus_persicae", "aulacorthum_solani"]):
        offered = {row["enemy"] for row in enemies_for(left, load())}
        assert not offered & {"aphidius_colemani", "aphidius_matricariae"}
        assert "chrysoperla_carnea" in offered


def test_an_aphid_in_its_usual_looks_comes_first_and_hardly_any_other_is_left():
    for one in [row["species"] for row in species_key({})["species"]]:
        own = {
            f: next(s for s, fit in known.items() if fit == "usual") for f, known in states_of(one).items()
        }
        answer = species_key(own)
        assert answer["species"][0]["species"] == one
        # A dark melon aphid passes for a bean aphid without its wax: the key says so and names both.
        left = {one, "aphis_gossypii"} if one == "aphis_fabae" else {one}
        assert fitting(**own) == left


def test_nothing_is_asked_for_that_parts_nobody():
    assert look_next({}, ["myzus_persicae"]) is None


def test_an_answer_that_is_not_on_the_page_is_refused_with_those_that_are():
    with pytest.raises(OutpaceError, match="tubes") as told:
        species_key({"tubes": "blue"})
    assert "pale" in told.value.allowed
