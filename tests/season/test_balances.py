"""Whatever is let go, corrected, withdrawn and merged, the balance of a lot is what came less what was let go."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.season.kept_farm import FARM, HOUSE, LINE, LOT, NOW, OTHER, SOUTH

from outpace.records.book import Book
from outpace.records.exchange import export_package, import_package
from outpace.season.arrival import arrival
from outpace.season.open_book import resolvers
from outpace.season.trace import trace

DEEDS = st.lists(
    st.tuples(
        st.sampled_from(["let go", "withdraw", "carry"]),
        st.sampled_from(["laptop", "phone"]),
        st.integers(1, 3),
        st.integers(0, 600),
    ),
    max_size=6,
)


@settings(max_examples=4)
@given(DEEDS)
def test_a_balance_is_what_came_less_what_stands_of_its_releases(deeds):
    with tempfile.TemporaryDirectory() as place:
        books = {
            name: Book.open(Path(place) / f"{name}.book", create=True, device=name, clock=lambda: NOW)
            for name in ("laptop", "phone")
        }
        packages = iter(range(100))

        def carry(source: str, target: str) -> None:
            folder = export_package(books[source], Path(place) / f"{next(packages)}")
            import_package(books[target], folder, by="Ida", resolve=resolvers())

        books["laptop"].record([FARM, HOUSE, OTHER, LINE, LOT], by="Ida")
        carry("laptop", "phone")
        # The model beside it: each device keeps its own releases, so that no two speak of one row.
        stands: dict[str, int] = {}
        for deed, device, number, animals in deeds:
            key = f"{device} {number}"
            if deed == "carry":
                carry(device, "phone" if device == "laptop" else "laptop")
            elif deed == "let go":
                books[device].record([replace(SOUTH, release=key, number=animals)], by="Ida", correct=True)
                stands[key] = animals
            elif key in stands:
                books[device].withdraw("releases", key, by="Ida", why="never let go")
                del stands[key]
        carry("phone", "laptop")
        carry("laptop", "phone")
        for book in books.values():
            (lot,) = arrival(book.snapshot(), "L-2201")["lots"]
            assert lot["balance"]["left"] == LOT.labelled_number - sum(stands.values())
            assert trace(book, "L-2201")["lots"][0]["released"] == sum(stands.values())
            assert book.verify() == []
            book.close()
