"""Plants that came in: what their raiser said of sprays is kept as said."""

from __future__ import annotations

import pytest
from tests.season.kept_farm import FARM, HOUSE, NOW

from outpace.season.upkeep import plants_in
from outpace.terms.tables import Snapshot

KNOWN = Snapshot(as_of=NOW, head="", rows={"farm": (FARM,), "houses": (HOUSE,)})


@pytest.mark.parametrize(
    ("said", "told", "sprays"),
    [
        ({"sprays": "Unknown"}, "unknown", None),
        ({"sprays": "no"}, "no", None),
        ({"sprays": "soap, in May"}, "yes", "soap, in May"),
        ({"sprays": "unknown", "sprays_told": "yes"}, "yes", "unknown"),
        ({}, None, None),
    ],
)
def test_an_answer_written_where_the_product_belongs_is_no_product(said, told, sprays):
    (row,) = plants_in(KNOWN, "sweet pepper", said, house="south", on="2026-05-30").rows
    assert (row.sprays_told, row.sprays) == (told, sprays)
