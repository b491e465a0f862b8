"""What to do, as pages ask it: plan, order, which enemy, courses, edges of the season, points, bankers, parcels."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from outpace.language import say
from outpace.surfaces.web.asking import Answer, Asked, Progress
from outpace.surfaces.web.recording import Recording

if TYPE_CHECKING:
    from outpace.season.open_book import Snapshot


class Deciding(Recording):
    """The questions that end in something to do."""

    async def plan(self, asked: Asked, budget: float | None = None) -> Answer:
        """Return the answer of ``outpace plan``; ``budget`` is the most that the whole farm may spend."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.plan import plan

            return plan(snapshot, farm=asked.farm, budget=budget, progress=progress)

        return await self._ask(("plan", budget), asked, work)

    async def order(self, asked: Asked, budget: float | None = None) -> Answer:
        """Return the answer of ``outpace order``, made from the plan."""
        planned = await self.plan(asked, budget) if budget is not None else await self.plan(asked)

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.order import order

            return order(snapshot, farm=asked.farm, plan=planned)

        return await self._ask(("order", budget), asked, work)

    async def enemies(self, asked: Asked, house: str) -> Answer:
        """Return the answer of ``outpace enemies HOUSE``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.enemies import enemies

            progress(say("{house}: weighing every enemy that is known", house=house))
            return enemies(snapshot, house, farm=asked.farm)

        return await self._ask(("enemies", house), asked, work)

    async def edges(
        self, asked: Asked, house: str, planting: str | None = None, end: str | None = None
    ) -> Answer:
        """Return the answer of ``outpace edges HOUSE``; days as people write them."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.edges import edges
            from outpace.season.moments import day

            progress(say("{house}: looking for the signs to stop", house=house))
            return edges(
                snapshot,
                house,
                farm=asked.farm,
                planting=None if planting is None else day(planting, where=say("Day of planting")),
                end=None if end is None else day(end, where=say("Day the crop goes out")),
            )

        return await self._ask(("edges", house, planting, end), asked, work)

    async def points(
        self,
        asked: Asked,
        house: str,
        lot: str,
        number: int | None = None,
        carrier: float | None = None,
    ) -> Answer:
        """Return the answer of ``outpace points HOUSE LOT``."""

        def work(snapshot: Snapshot, _: Progress) -> Answer:
            from outpace.season.release_map import release_map

            return release_map(snapshot, house, lot, farm=asked.farm, number=number, carrier=carrier)

        return await self._ask(("points", house, lot, number, carrier), asked, work, pool=self._quick)

    async def share(self, asked: Asked, lot: str, number: int | None = None) -> Answer:
        """Return the answer of ``outpace arrival share LOT``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.parcel_share import parcel_share

            progress(say("lot {lot}: trying it in each house", lot=lot))
            return parcel_share(snapshot, lot, farm=asked.farm, number=number)

        return await self._ask(("share", lot, number), asked, work)

    async def banker_plan(
        self, asked: Asked, house: str | None = None, expected: str | None = None
    ) -> Answer:
        """Return the answer of ``outpace banker plan``, of one house or of all."""

        def work(snapshot: Snapshot, _: Progress) -> Answer:
            from outpace.season.banker_plan import banker_plan

            return banker_plan(snapshot, house, farm=asked.farm, aphids_from=expected)

        return await self._ask(("banker plan", house, expected), asked, work)

    async def course(self, asked: Asked, house: str, told: Mapping[str, float | None]) -> Answer:
        """Return the answer of ``outpace course``; ``told`` are the grower's figures by the names of the form."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.considered import Figures
            from outpace.season.course import course

            def figures(kind: str) -> Figures:
                names = (
                    "kill_aphids",
                    "kill_enemies",
                    "residue",
                    "residue_days",
                    "reentry_h",
                    "harvest_days",
                    "cost",
                )
                return Figures(*(told.get(f"{kind}_{name}") for name in names))

            progress(say("{house}: weighing the courses", house=house))
            plants = told.get("plants")
            return course(
                snapshot,
                house,
                farm=asked.farm,
                spray=figures("spray"),
                spots=figures("spots"),
                plants=None if plants is None else max(1, round(plants)),
                clearing=told.get("clearing"),
                value=told.get("value"),
                loss=told.get("loss"),
            )

        return await self._ask(("course", house, *sorted(told.items())), asked, work)

    async def open_orders(self, asked: Asked) -> Answer:
        """Return the answer of ``outpace order open``."""

        def work(snapshot: Snapshot, progress: Progress) -> Answer:
            from outpace.season.orders_open import open_orders

            progress(say("trying what is on order, with and without"))
            return open_orders(snapshot, farm=asked.farm)

        return await self._ask(("open orders",), asked, work)

    async def lots(self, asked: Asked) -> list[Answer]:
        """Return the lots that came lately, to choose from: name, words, and how many are left."""
        found: list[Answer] = list((await self.choices(asked))["lots"])
        return found

    async def printed(self, sheet: Callable[..., bytes], answer: Answer) -> bytes:
        """Return a sheet that another thread sets, with the head of the book in its foot."""
        head = await self.head()
        return await self._told_by(self._heavy, lambda: sheet(answer, head=head))
