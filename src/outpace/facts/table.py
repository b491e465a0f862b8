"""What is known: one number a row, with its unit, range, source and evidence class.

The tables beside this module are read once and kept. A lookup takes the row of the species itself, else
the row of its group (``any_wasp``, ``any_enemy``), else the row of no species; so a number that holds for
many stands once. Rows of one named study carry its name in ``strain`` and never answer a lookup of a default.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from pathlib import Path

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.reading import HERE, read_rows
from outpace.language import say, to_say

EVIDENCE = ("read", "own", "derived", "recalled", "seller", "practice")
"""Evidence classes, strongest first. ``own`` counts as ``read``."""

_NO_SPECIES = to_say("no species called {name!r}")
_NO_SUCH = {
    "pest": to_say("no pest called {name!r}"),
    "enemy": to_say("no enemy called {name!r}"),
    "hyperparasitoid": to_say("no hyperparasitoid called {name!r}"),
}

_RANK = {"read": 0, "own": 0, "derived": 1, "recalled": 2, "seller": 3, "practice": 4}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One number that is known about a species, a crop or the trade, and where it comes from."""

    species: str
    other_species: str
    crop: str
    stage: str
    quantity: str
    temperature_degc: float | None
    value: float
    unit: str
    low: float | None
    high: float | None
    spread: str
    n: int | None
    conditions: str
    strain: str
    source: str
    locator: str
    evidence: str
    note: str

    @property
    def key(self) -> str:
        """Return a readable name of the row, unique among all rows."""
        parts = [self.species or "general", self.quantity, self.stage]
        parts += [f"on {self.other_species}"] if self.other_species else []
        parts += [f"in {self.crop}"] if self.crop else []
        parts += [f"at {self.temperature_degc:g} °C"] if self.temperature_degc is not None else []
        parts += [f"({self.strain})"] if self.strain else []
        return " ".join(part for part in parts if part)

    @property
    def cited(self) -> str:
        """Return the source with its locator, or the words for a row without one."""
        if not self.source:
            return say("common practice, no source") if self.evidence == "practice" else say(self.evidence)
        return f"{self.source}, {self.locator}" if self.locator else self.source


@dataclass(frozen=True, slots=True, kw_only=True)
class Species:
    """A pest, an enemy or a hyperparasitoid, and the names it goes by."""

    key: str
    latin: str
    english: str
    spanish: str
    eppo: str
    eppo_evidence: str
    kind: str
    guild: str
    mummy_colour: str
    forms: tuple[str, ...]
    reference_crop: str
    aliases: tuple[str, ...]
    size: str
    response_curve: str

    @property
    def groups(self) -> tuple[str, ...]:
        """Return the groups whose rows stand in where the species has none of its own."""
        if self.kind == "pest":
            return ("any_aphid",)
        if self.kind == "hyperparasitoid":
            return ("any_hyperparasitoid",)
        return ("any_wasp" if self.guild == "wasp" else "any_predator", "any_enemy")

    @property
    def names(self) -> tuple[str, ...]:
        """Return every name that finds this species."""
        genus, _, epithet = self.latin.partition(" ")
        short = f"{genus[0]}. {epithet}" if epithet else ""
        plain = (self.key, self.latin, short, self.english, self.spanish, self.eppo, *self.aliases)
        return tuple(name for name in plain if name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crop:
    """A crop, or a cereal for banker plants, and the names it goes by."""

    key: str
    latin: str
    english: str
    spanish: str
    eppo: str
    eppo_evidence: str
    role: str
    aliases: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Return every name that finds this crop."""
        plain = (self.key, self.latin, self.english, self.spanish, self.eppo, *self.aliases)
        return tuple(name for name in plain if name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where numbers were read, and how much of it was seen."""

    key: str
    authors: str
    year: str
    title: str
    where: str
    doi: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """What a quantity means, and the one unit it is stored in."""

    quantity: str
    unit: str
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseRate:
    """A release rate that is published, sold with or practised. [m⁻² per release]"""

    enemy: str
    use: str
    low: float
    high: float
    interval_d: int
    releases: int | None
    source: str
    locator: str
    evidence: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseRhythm:
    """How often and how many times one releases by rule of thumb."""

    use: str
    interval_d: int
    releases: int
    source: str
    locator: str
    evidence: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherRate:
    """A release rate of an enemy that no plan is made with: shown, never reckoned with. [per m² or plant]"""

    enemy: str
    against: str
    use: str
    low: float
    high: float
    per: str
    every_d_low: int | None
    every_d_high: int | None
    source: str
    locator: str
    evidence: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BankerDensity:
    """How many banker plants someone advises per 1,000 m²."""

    case: str
    low_per_1000_m2: float
    high_per_1000_m2: float
    source: str
    locator: str
    evidence: str
    note: str


class Facts:
    """All rows, with the lookups that the model, the plan and the pages use."""

    def __init__(self, rows: Iterable[Fact], *, own: Iterable[Fact] = ()) -> None:
        self.species: dict[str, Species] = {item.key: item for item in read_rows("species.csv", Species)}
        self.crops: dict[str, Crop] = {item.key: item for item in read_rows("crops.csv", Crop)}
        self.sources: dict[str, Source] = {item.key: item for item in read_rows("sources.csv", Source)}
        self.quantities: dict[str, Quantity] = {
            item.quantity: item for item in read_rows("quantities.csv", Quantity)
        }
        self.release_rates: tuple[ReleaseRate, ...] = tuple(read_rows("release_rates.csv", ReleaseRate))
        self.release_rhythms: tuple[ReleaseRhythm, ...] = tuple(
            read_rows("release_rhythm.csv", ReleaseRhythm)
        )
        self.other_rates: tuple[OtherRate, ...] = tuple(read_rows("release_rates_others.csv", OtherRate))
        self.bankers: tuple[BankerDensity, ...] = tuple(read_rows("bankers.csv", BankerDensity))
        self._rows = tuple(rows)
        self._index: dict[tuple[str, str, str, str, str, str], dict[float | None, Fact]] = {}
        for row in (*self._rows, *own):
            place = (row.species, row.quantity, row.other_species, row.crop, row.stage, row.strain)
            self._index.setdefault(place, {})[row.temperature_degc] = row

    def rows(self, species: str | None = None) -> tuple[Fact, ...]:
        """Return the rows of one species as they stand in the tables, or all rows."""
        return tuple(row for row in self._rows if species is None or row.species == species)

    def with_own(self, own: Iterable[Fact]) -> Facts:
        """Return the same facts with rows of this grower's own standing before the books'."""
        return Facts(self._rows, own=tuple(replace(row, evidence="own") for row in own))

    def find(
        self,
        species: str,
        quantity: str,
        *,
        other_species: str = "",
        crop: str = "",
        stage: str = "",
        strain: str = "",
    ) -> Fact | None:
        """Return the one row of a quantity that does not depend on temperature, or None."""
        found = self._at(species, quantity, other_species, crop, stage, strain)
        if None in found:
            return found[None]
        return next(iter(found.values())) if len(found) == 1 else None

    def one(
        self,
        species: str,
        quantity: str,
        *,
        other_species: str = "",
        crop: str = "",
        stage: str = "",
        strain: str = "",
    ) -> Fact:
        """Return the one row of a quantity; the nearest that holds for the pair, crop and group.

        Raises
        ------
        OutpaceError
            If no row holds, or if the quantity depends on temperature here.

        Examples
        --------
        >>> load().one("myzus_persicae", "thermal_constant").value
        129.0
        >>> load().one("aphidius_ervi", "thermal_constant", other_species="myzus_persicae").value
        334.0
        """
        fact = self.find(
            species, quantity, other_species=other_species, crop=crop, stage=stage, strain=strain
        )
        if fact is not None:
            return fact
        told = ", ".join(part for part in (other_species, crop, stage, strain) if part)
        depends = bool(self._at(species, quantity, other_species, crop, stage, strain))
        raise OutpaceError(
            say(
                "no single {quantity} for {species}{where}",
                quantity=quantity,
                species=species or say("any species"),
                where=f" ({told})" if told else "",
            ),
            where=say("facts"),
            hint=say("it depends on temperature: look it up by temperature") if depends else "",
        )

    def by_temperature(
        self,
        species: str,
        quantity: str,
        *,
        other_species: str = "",
        crop: str = "",
        stage: str = "",
        strain: str = "",
    ) -> tuple[Fact, ...]:
        """Return the rows of a quantity in the order of temperature, for straight lines between.

        Where the quantity has one row without a temperature, that row alone. Empty if there is none.
        """
        found = self._at(species, quantity, other_species, crop, stage, strain)
        warm = {degc: row for degc, row in found.items() if degc is not None}
        if not warm:
            return tuple(found.values())
        return tuple(warm[degc] for degc in sorted(warm))

    def resolve(self, name: str, kind: str | None = None) -> str:
        """Return the key of a species told by key, Latin, EPPO code or English name, in any case.

        Raises
        ------
        OutpaceError
            If no species of that kind has the name; names that are near stand in the message.

        Examples
        --------
        >>> load().resolve("MYZUPE"), load().resolve("a. colemani", kind="enemy")
        ('myzus_persicae', 'aphidius_colemani')
        """
        known = {
            _plain(each): item.key
            for item in self.species.values()
            for each in item.names
            if kind is None or item.kind == kind
        }
        if _plain(name) in known:
            return known[_plain(name)]
        near = difflib.get_close_matches(_plain(name), list(known), n=4, cutoff=0.6)
        keys = list(dict.fromkeys(known[each] for each in near)) or list(dict.fromkeys(known.values()))
        shown = ", ".join(self.species[key].latin or self.species[key].english for key in keys)
        raise OutpaceError(
            say(_NO_SUCH.get(kind or "", _NO_SPECIES), name=name),
            allowed=say("near: {names}", names=shown) if near else say("known: {names}", names=shown),
            hint=say("`outpace facts` lists all names; an aphid that is not there is `unknown`"),
            code=ExitCode.USAGE,
        )

    def resolve_crop(self, name: str) -> str | None:
        """Return the key of a crop told by key, Latin, EPPO code, English or Spanish name, or None."""
        wanted = _plain(name)
        for crop in self.crops.values():
            if wanted in {_plain(each) for each in crop.names}:
                return crop.key
        return None

    def _at(
        self, species: str, quantity: str, other_species: str, crop: str, stage: str, strain: str
    ) -> dict[float | None, Fact]:
        known = self.species.get(species)
        chain = (species, *(known.groups if known else ()), "")
        for each_crop in dict.fromkeys((crop, "")):
            for each in dict.fromkeys(chain):
                for other in dict.fromkeys((other_species, "")):
                    found = self._index.get((each, quantity, other, each_crop, stage, strain))
                    if found:
                        return found
        return {}


def weakest(facts: Iterable[Fact]) -> str:
    """Return the weakest evidence class among some rows; ``read`` if there are none."""
    return max((fact.evidence for fact in facts), key=_RANK.__getitem__, default="read")


@lru_cache(maxsize=1)
def load() -> Facts:
    """Return all facts; read once in the life of the process."""
    return Facts(fact for path in fact_files() for fact in read_rows(path.name, Fact))


def fact_files() -> tuple[Path, ...]:
    """Return the tables that carry the header of :class:`Fact`, by name."""
    header = ",".join(field.name for field in fields(Fact))
    found = []
    for path in sorted(HERE.glob("*.csv")):
        with path.open(encoding="utf-8") as file:
            if file.readline().strip() == header:
                found.append(path)
    return tuple(found)


def _plain(name: str) -> str:
    return " ".join(name.replace("_", " ").casefold().split())
