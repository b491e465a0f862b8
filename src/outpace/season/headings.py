"""What a column of the book is called where people read it: as the audit pack heads it, else its name in words."""

from __future__ import annotations

from outpace.language import say
from outpace.season.audit_tables import SECTIONS
from outpace.season.book_words import column_words

PACKED = {section.table: dict(section.columns) for section in SECTIONS}
#: The pack tells a walk in one row; what stands under its headings comes out of these columns.
WALKED = {"aphids_about": "aphids", "mummies_about": "mummies", "pest": "pests"}


def heading_of(table: str, column: str) -> str:
    """Return the heading of a column of the book, in the reader's language.

    Examples
    --------
    >>> heading_of("walk_lines", "aphids_about"), heading_of("walk_lines", "infested")
    ('live aphids', 'with aphids')
    >>> heading_of("sprays", "reentry_h"), heading_of("houses", "area_m2")
    ('keep out h', 'area m²')
    """
    heads = PACKED["walks"] if table in ("walk_lines", "counts") else PACKED.get(table, {})
    title = heads.get(WALKED.get(column, column))
    return say(title) if title else column_words(column)
