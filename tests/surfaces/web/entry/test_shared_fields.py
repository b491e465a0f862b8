"""Questions that several forms ask, and how their answers are handed on."""

from __future__ import annotations

import doctest

import pytest

from outpace.surfaces.web.entry import shared_fields
from outpace.surfaces.web.entry.shared_fields import house_choice, order_and_line, order_choice


def test_the_examples_print_what_they_say():
    told = doctest.testmod(shared_fields)
    assert (told.failed, told.attempted > 0) == (0, True)


@pytest.mark.parametrize("houses", [2, 4, 5, 9])
def test_a_list_of_houses_begins_with_choose_once_where_it_is_one_to_open(houses):
    names = [f"house {number}" for number in range(houses)]
    field = house_choice({"houses": [{"house": name, "zones": []} for name in names]})
    first = [""] if field.in_list else []
    assert [key for key, _ in field.choices] == [*first, *names]
    assert field.in_list == (houses >= 5)


def test_the_only_house_stands_chosen():
    assert house_choice({"houses": [{"house": "north", "zones": []}]}).value == "north"


def test_an_answer_names_the_order_and_the_line_whatever_the_order_is_called():
    rows = [{"order": order, "line": line, "said": ""} for order, line in (("A|7", 1), ("B", 12))]
    answers = [key for key, _ in order_choice("order", "Delivery", rows).choices if key]
    assert [order_and_line(answer) for answer in answers] == [("A|7", 1), ("B", 12)]
