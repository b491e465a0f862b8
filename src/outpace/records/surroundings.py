"""What the rows of a package are read against: farms, clocks, names, the present."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from outpace.errors import ManyErrors, OutpaceError
from outpace.records.cells import LocalClock, Resolvers, local_clock

#: Reading a hopeless file stops after so many errors.
MOST_ERRORS = 200


@dataclass(slots=True)
class Surroundings:
    """What the rows of a package are read against.

    ``zones`` maps each farm, of the package or the book, to its time zone; ``recorded_of`` looks up when a
    row of the book became known.
    """

    resolve: Resolvers
    now: datetime
    zones: dict[str, str]
    recorded_of: Callable[[str, str], str | None]
    package_farms: list[str] = field(default_factory=list)
    recorded: dict[str, dict[str, str]] = field(default_factory=dict)
    errors: list[OutpaceError] = field(default_factory=list)

    def only_farm(self) -> str | None:
        """Return the farm that rows mean which name none."""
        farms = self.package_farms or list(self.zones)
        return farms[0] if len(farms) == 1 else None

    def clock(self, farm: str | None) -> LocalClock | None:
        """Return the local clock of a farm; of all farms where they share one."""
        if farm is not None and farm in self.zones:
            return local_clock(self.zones[farm])
        shared = {self.zones[name] for name in (self.package_farms or self.zones) if name in self.zones}
        return local_clock(shared.pop()) if len(shared) == 1 else None

    def add(self, error: OutpaceError) -> None:
        self.errors.append(error)
        if len(self.errors) >= MOST_ERRORS:
            self.stop()

    def stop(self) -> None:
        """Refuse the package if anything was wrong with it."""
        if self.errors:
            raise self.errors[0] if len(self.errors) == 1 else ManyErrors(self.errors)
