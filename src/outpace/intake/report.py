"""What was found in a logger's file, counted while it was read and told in words."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime

from outpace.intake.readings import Gap
from outpace.language import say


@dataclass(slots=True)
class Report:
    """What was found in a file, beside its rows."""

    rows: int = 0
    kept: int = 0
    first: datetime | None = None
    last: datetime | None = None
    step_s: float | None = None
    repeated: int = 0
    differing: int = 0
    out_of_order: int = 0
    empty: int = 0
    error_marks: int = 0
    unread: dict[int, str] = field(default_factory=dict)
    flags: Counter[str] = field(default_factory=Counter)
    gaps: list[Gap] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def lines(self) -> list[str]:
        """Return the report in words, a line each, what is worth minding only."""
        told = list(self.notes)
        for count, words in (
            (self.repeated, say("rows stood twice and were dropped")),
            (self.differing, say("times had different readings")),
            (self.out_of_order, say("rows were out of order and were sorted")),
            (self.empty, say("rows had no temperature")),
            (self.error_marks, say("readings were the logger's mark for a sensor that did not answer")),
            (len(self.unread), say("rows could not be read")),
            *(
                (count, say("readings are flagged {flag}", flag=flag))
                for flag, count in sorted(self.flags.items())
            ),
        ):
            if count:
                told.append(f"{count} {words}")
        if self.unread:
            row, text = next(iter(self.unread.items()))
            told.append(say("the first of them is row {row}: {text_told!r}", row=row, text_told=text[:60]))
        if self.gaps:
            longest = max(self.gaps, key=lambda gap: gap.hours)
            hours = sum(gap.hours for gap in self.gaps)
            told.append(
                say(
                    "{gaps} gaps, {hours:.0f} h in all; the longest {text_told}",
                    gaps=len(self.gaps),
                    hours=hours,
                    text_told=longest.text(),
                )
            )
        return told
