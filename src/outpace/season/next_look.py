"""The look that would change a verdict most, as it stands in an answer: one verb, one day, one number."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np

from outpace.estimation.hyperparasitoids import drawn_share
from outpace.estimation.lot_quality import lot_quality
from outpace.estimation.next_look import Jar, next_looks
from outpace.language import say, say_many
from outpace.season.judged import Judged
from outpace.season.outlook import Outlook
from outpace.season.tasks import open_jars
from outpace.season.words import weekday
from outpace.terms.enemies import Check, Lot

AT_MOST_D = 10
"""Days ahead within which a look is worth naming."""
WORTH_TELLING = 0.01
"""Below this no look would move the chance to speak of."""


def next_look(found: Outlook, judged: Judged, looks: dict[str, Any] | None) -> dict[str, Any]:
    """Return the look that moves the chance to end well of the binding verdict most.

    Parameters
    ----------
    looks : dict, optional
        Earliest and latest day on which mummies of the last release can show.
    """
    case, posterior = found.case, found.posterior
    mummies_from = None
    if looks is not None:
        day = int(case.day_of(date.fromisoformat(looks["earliest"])))
        mummies_from = day if day <= case.today + AT_MOST_D else None
    jars = []
    lots, checks = case.snapshot.table(Lot), case.snapshot.table(Check)
    for lot, due in open_jars(case):
        if (due - case.day).days > AT_MOST_D or lot.enemy not in case.model.enemies:
            continue
        quality = lot_quality(case.facts, lot, checks, posterior.members, case.seed, lots=lots)
        emergence = np.broadcast_to(quality.emergence, (posterior.members,))[posterior.lineage]
        jars.append(Jar(lot.lot, emergence, max(int(case.day_of(due)), case.today)))
    share = case.hyper_share
    taken = None if share is None else drawn_share(share, posterior.seed, posterior.members)
    best = next_looks(
        posterior,
        judged.ahead,
        judged.bound,
        mummies_from=mummies_from,
        taken=taken,
        jars=jars,
        seed=case.seed,
    )[0]
    on = str(case.date_of(best.day))
    points = round(100 * best.moves)
    if best.moves < WORTH_TELLING:
        sentence = say("No look would move the chance by a point now: walk again when it is due")
    else:
        sentence = say_many(
            "{what} on {on}: it would move the chance to end well by {n} point on average",
            "{what} on {on}: it would move the chance to end well by {n} points on average",
            points,
            what=best.what,
            on=weekday(on),
        )
    return {
        "kind": best.kind if best.moves >= WORTH_TELLING else "none",
        "what": best.what,
        "day": on,
        "moves": round(best.moves, 3),
        "turns_verdict": round(best.turns, 3),
        "sentence": sentence,
    }
