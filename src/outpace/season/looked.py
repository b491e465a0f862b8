"""What one walk found, in whole numbers and one sentence, as it was written down."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from outpace.facts.table import load
from outpace.language import say, to_say
from outpace.terms.scouting import COUNT_CLASSES, PESTS_UNNAMED, Count, Mummies, Seen, Walk, WalkLine
from outpace.terms.tables import Snapshot

OfWalk = TypeVar("OfWalk", Count, Mummies, WalkLine, Seen)

HOLES = {
    "empty_smooth": to_say("empty with a smooth hole"),
    "empty_ragged": to_say("empty with a ragged hole"),
    "empty_unread": to_say("empty, hole not read"),
}

Span = tuple[int, int | None]
"""Least and most of a number that was counted in classes; None where the last class is open."""


@dataclass(frozen=True, slots=True)
class Looked:
    """What a walk saw of aphids, mummies and others; None where nobody wrote it down.

    ``pests`` maps each aphid that was found to the units it was on and how many were counted; ``mummies`` maps
    a colour and a state to their number.
    """

    walk: Walk
    looked_at: int | None
    infested: int | None
    aphids: Span | None
    pests: Mapping[str, tuple[int, Span | None]] = field(default_factory=dict)
    mummies: Mapping[tuple[str, str], int] = field(default_factory=dict)
    others: Mapping[str, int | None] = field(default_factory=dict)
    unsure: tuple[str, ...] = ()

    @property
    def closed(self) -> int | None:
        """Return how many closed mummies were written down, of all colours."""
        found = [number for (_, state), number in self.mummies.items() if state == "closed"]
        return sum(found) if found else None

    def aphids_text(self) -> str:
        """Return the number of live aphids as it was counted."""
        return span_text(self.aphids)

    def words(self) -> str:
        """Return what the walk found in one sentence."""
        if self.looked_at is None:
            return say("nothing written down of what was looked at")
        unit = (
            self.walk.unit
            if self.looked_at == 1
            else say({"leaf": "leaves"}.get(self.walk.unit, f"{self.walk.unit}s"))
        )
        parts = [
            say(
                "{looked_at} {unit} looked at ({chosen})",
                looked_at=self.looked_at,
                unit=unit,
                chosen=self.walk.chosen,
            )
        ]
        if self.infested == 0:
            parts.append(say("no live aphid found"))
        elif self.infested is not None:
            told = [
                say("{pest} on {units}", pest=pest_name(pest), units=units)
                + (say(", {span} counted", span=span_text(span)) if span else "")
                for pest, (units, span) in self.pests.items()
            ]
            parts.append(
                say("{infested} with live aphids: {told}", infested=self.infested, told="; ".join(told))
            )
        for colour in dict.fromkeys(colour for colour, _ in self.mummies):
            shells = [f"{number} {state}" for (of, state), number in self.mummies.items() if of == colour]
            parts.append(say("mummies ({colour}): {shells}", colour=colour, shells=", ".join(shells)))
        parts += [f"{name}{'' if number is None else f' {number}'}" for name, number in self.others.items()]
        return "; ".join(parts)


def span_text(span: Span | None) -> str:
    """Return a number that was counted, maybe in classes.

    Examples
    --------
    >>> [span_text(span) for span in (None, (0, 0), (7, 22), (101, None))]
    ['', '0', '7 to 22', '101 or more']
    """
    if span is None:
        return ""
    least, most = span
    if most is None:
        return say("{least} or more", least=least)
    return str(least) if least == most else say("{least} to {most}", least=least, most=most)


def pest_name(pest: str) -> str:
    """Return an aphid as people write it."""
    known = load().species.get(pest)
    if known is not None and known.latin:
        return known.latin
    return say("aphids, kind not told") if pest in PESTS_UNNAMED else pest.replace("_", " ")


def looked_by_walk(snapshot: Snapshot, walks: Iterable[Walk]) -> dict[str, Looked]:
    """Return what each of the walks found, by its key."""
    wanted = {walk.walk: walk for walk in walks}
    counts = _by_walk(snapshot.table(Count), wanted)
    lines = _by_walk(snapshot.table(WalkLine), wanted)
    mummies = _by_walk(snapshot.table(Mummies), wanted)
    seen = _by_walk(snapshot.table(Seen), wanted)
    return {
        key: _looked(walk, counts.get(key, []), lines.get(key, []), mummies.get(key, []), seen.get(key, []))
        for key, walk in wanted.items()
    }


def _by_walk(rows: Sequence[OfWalk], wanted: Mapping[str, Walk]) -> dict[str, list[OfWalk]]:
    found: dict[str, list[OfWalk]] = defaultdict(list)
    for row in rows:
        if row.walk in wanted:
            found[row.walk].append(row)
    return found


def _looked(
    walk: Walk, counts: list[Count], lines: list[WalkLine], mummies: list[Mummies], seen: list[Seen]
) -> Looked:
    pests: dict[str, tuple[int, Span | None]] = {}
    infested: set[int] = set()
    for row in counts:
        span = _span(row.aphids)
        if span != (0, 0):
            infested.add(row.unit_no)
            units, before = pests.get(row.pest, (0, (0, 0)))
            pests[row.pest] = (units + 1, _added(before, span))
    units_counted = len({row.unit_no for row in counts})
    looked_at = max((walk.looked_at or 0, units_counted, *(line.looked_at for line in lines)))
    with_aphids = len(infested)
    shells: dict[tuple[str, str], int] = {}
    for mummy in mummies:
        for state in ("closed", "empty_smooth", "empty_ragged", "empty_unread"):
            number = getattr(mummy, state)
            if number is not None:
                at = (mummy.colour, say(HOLES.get(state, state)))
                shells[at] = shells.get(at, 0) + number
    for line in lines:
        if line.infested:
            units, held = pests.get(line.pest, (0, (0, 0)))
            about: Span | None = None if line.aphids_about is None else (line.aphids_about, line.aphids_about)
            pests[line.pest] = (units + line.infested, _added(held, about) if about else None)
            with_aphids = max(with_aphids, line.infested)
        if line.mummies_about is not None:
            at = (say("colour not told"), "closed")
            shells[at] = shells.get(at, 0) + line.mummies_about
    others: dict[str, int | None] = {}
    for other in seen:
        name = f"{other.organism} {other.stage}" if other.stage else other.organism
        number_before = others.get(name)
        others[name] = number_before if other.number is None else (number_before or 0) + other.number
    told = bool(counts or lines)
    spans = [span for _, span in pests.values()]
    total: Span | None = (0, 0) if told else None
    for one in spans:
        total = _added(total, one)
    return Looked(
        walk=walk,
        looked_at=looked_at or None,
        infested=with_aphids if told else None,
        aphids=total,
        pests=pests,
        mummies=shells,
        others=others,
        unsure=tuple(sorted({row.confidence for row in counts if row.confidence in ("fairly", "unsure")})),
    )


def _span(aphids: str) -> Span:
    return COUNT_CLASSES[aphids] if aphids in COUNT_CLASSES else (int(aphids), int(aphids))


def _added(first: Span | None, second: Span | None) -> Span | None:
    if first is None or second is None:
        return None
    most = None if first[1] is None or second[1] is None else first[1] + second[1]
    return first[0] + second[0], most
