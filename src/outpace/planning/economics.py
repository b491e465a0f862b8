"""When acting pays: the economic injury level, and the level at which to act because help takes days."""

from __future__ import annotations

import math


def injury_level(cost: float, value: float, loss_per_pest: float, share_removed: float = 1.0) -> float:
    """Return the number of pests whose damage is worth what acting costs.

    ``EIL = C / (V · I·D · K)``, all per the same area; damage is taken to rise in a straight line with the pests.

    Parameters
    ----------
    cost : float
        Of acting once; *C*. [money]
    value : float
        Of the crop; *V*. [money]
    loss_per_pest : float
        Share of the crop that one pest costs; *I·D*.
    share_removed : float, default 1
        Share of that damage which acting prevents; *K*.

    Raises
    ------
    ValueError
        If a figure is not above zero, or a share is above one.

    Examples
    --------
    >>> round(injury_level(20, 500, 0.1 / 800))
    320
    >>> round(injury_level(20, 500, 0.1 / 800, share_removed=0.8))
    400
    """
    figures = {"cost": cost, "value": value, "loss_per_pest": loss_per_pest, "share_removed": share_removed}
    for name, figure in figures.items():
        if not (math.isfinite(figure) and figure > 0):
            raise ValueError(f"{name} is {figure}, must be above 0")
    if share_removed > 1 or loss_per_pest > 1:
        raise ValueError("a share is at most 1")
    return cost / (value * loss_per_pest * share_removed)


def acting_level(level: float, growth_per_d: float, delay_d: float) -> float:
    """Return the number at which to act, so that the injury level is reached when the help works.

    Examples
    --------
    >>> round(acting_level(320, 0.1, 7), 1)
    158.9
    """
    return level * math.exp(-growth_per_d * delay_d)
