"""What a spray did: efficacy against an untreated part, and the classes of side effects on enemies.

All shares run from 0 to 1. An efficacy below 0 means that the treated part did worse than the untreated one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, isfinite, sqrt

from outpace.facts.table import Fact, Facts

LABORATORY, FIELD, PERSISTENCE = "laboratory", "field", "persistence"
SCALES = (LABORATORY, FIELD)
NINETY = 1.645  # half of a 90 % range of a normal, in standard deviations


def _amount(**values: float) -> None:
    for name, value in values.items():
        if not isfinite(value) or value < 0:
            raise ValueError(f"{name} is {value}, and must be a number of at least 0")


def _share(**values: float) -> None:
    for name, value in values.items():
        if not 0 <= value <= 1:
            raise ValueError(f"{name} is {value}, and must lie between 0 and 1")


def abbott(treated_after: float, control_after: float) -> float:
    """Return the efficacy from the living after treatment, where both parts began alike [1]_.

    Parameters
    ----------
    treated_after, control_after : float
        Living aphids per unit after the treatment, in the treated and the untreated part.

    Raises
    ------
    ValueError
        If a number is negative, or if none live in the untreated part: nothing to compare with.

    References
    ----------
    .. [1] Abbott1925

    Examples
    --------
    >>> round(abbott(2, 50), 4)
    0.96
    """
    _amount(treated_after=treated_after, control_after=control_after)
    if control_after == 0:
        raise ValueError("no aphid lives in the untreated part, so there is nothing to compare with")
    return 1 - treated_after / control_after


def henderson_tilton(
    *, treated_before: float, treated_after: float, control_before: float, control_after: float
) -> float:
    """Return the efficacy from the living before and after, where the parts began unlike [1]_.

    Raises
    ------
    ValueError
        If a number is negative, or if the treated part before or the untreated part was empty.

    References
    ----------
    .. [1] HendersonTilton1955

    Examples
    --------
    >>> round(henderson_tilton(treated_before=200, treated_after=20, control_before=180, control_after=240), 4)
    0.925
    """
    _amount(
        treated_before=treated_before,
        treated_after=treated_after,
        control_before=control_before,
        control_after=control_after,
    )
    if treated_before == 0 or control_before == 0 or control_after == 0:
        raise ValueError("a part that is compared with held no aphid, so there is nothing to compare with")
    return 1 - (treated_after * control_before) / (control_after * treated_before)


def schneider_orelli(dead_treated: float, dead_control: float) -> float:
    """Return the efficacy from the shares found dead in the treated and the untreated part [1]_.

    Raises
    ------
    ValueError
        If a share is not between 0 and 1, or if all are dead in the untreated part.

    References
    ----------
    .. [1] SchneiderOrelli1947

    Examples
    --------
    >>> round(schneider_orelli(0.80, 0.20), 4)
    0.75
    """
    _share(dead_treated=dead_treated, dead_control=dead_control)
    if dead_control == 1:
        raise ValueError("all are dead in the untreated part, so there is nothing to compare with")
    return (dead_treated - dead_control) / (1 - dead_control)


def sun_shepard(fall_treated: float, change_control: float) -> float:
    """Return the efficacy from the fall of the treated part and the change of the untreated one [1]_.

    Parameters
    ----------
    fall_treated : float
        Share by which the treated part fell; negative where it grew.
    change_control : float
        Share by which the untreated part grew; negative where it fell.

    Raises
    ------
    ValueError
        If a part fell by more than all it had, or if the untreated part fell to nothing.

    References
    ----------
    .. [1] SunShepard1947

    Examples
    --------
    >>> round(sun_shepard(0.90, 1 / 3), 4)
    0.925
    """
    if not fall_treated <= 1 or not isfinite(fall_treated):
        raise ValueError(f"fall_treated is {fall_treated}, and must be at most 1")
    if not isfinite(change_control) or change_control <= -1:
        raise ValueError(f"change_control is {change_control}, and must be above -1")
    return (fall_treated + change_control) / (1 + change_control)


def total_effect(dead_corrected: float, reproduction: float) -> float:
    """Return the loss of enemies by death and by fewer young together [1]_.

    Parameters
    ----------
    dead_corrected : float
        Share killed, the deaths in the untreated part taken off.
    reproduction : float
        Young of a treated survivor for each young of an untreated one; above 1 where it had more.

    References
    ----------
    .. [1] IobcSideEffects

    Examples
    --------
    >>> round(total_effect(0.40, 0.50), 4)
    0.7
    """
    _share(dead_corrected=dead_corrected)
    _amount(reproduction=reproduction)
    return 1 - (1 - dead_corrected) * reproduction


def efficacy_range(
    *,
    treated_before: float,
    treated_after: float,
    control_before: float,
    control_after: float,
    looked_at: tuple[int, int, int, int],
    taylor_a: float,
    taylor_b: float,
) -> tuple[float, float]:
    """Return the 90 % range of the efficacy by `henderson_tilton` from four counted means.

    The logarithm of each mean has about the variance ``a m**(b - 2) / n``, with Taylor's power law for the spread
    between units [1]_. A mean of 0 counts as half an aphid on all that was looked at, so that nothing found is
    never taken for nothing left.

    Parameters
    ----------
    treated_before, treated_after, control_before, control_after : float
        Mean living aphids per unit.
    looked_at : tuple of int, shape (4,)
        Units looked at for each mean, in the same order.
    taylor_a, taylor_b : float
        Variance between units is ``a m**b``.

    Raises
    ------
    ValueError
        If a mean is negative or if nothing was looked at.

    References
    ----------
    .. [1] Taylor1961

    Examples
    --------
    >>> low, high = efficacy_range(treated_before=10, treated_after=1, control_before=10, control_after=12,
    ...                            looked_at=(50, 50, 50, 50), taylor_a=5, taylor_b=1.5)
    >>> round(low, 2), round(high, 2)
    (0.83, 0.96)
    """
    means = (treated_before, treated_after, control_before, control_after)
    _amount(
        **dict(
            zip(("treated_before", "treated_after", "control_before", "control_after"), means, strict=True)
        )
    )
    if any(number < 1 for number in looked_at):
        raise ValueError("each mean needs at least one unit that was looked at")
    at_least = [max(mean, 0.5 / number) for mean, number in zip(means, looked_at, strict=True)]
    spread = sqrt(
        sum(taylor_a * mean ** (taylor_b - 2) / n for mean, n in zip(at_least, looked_at, strict=True))
    )
    ratio = (at_least[1] * at_least[2]) / (at_least[3] * at_least[0])
    return 1 - ratio * exp(NINETY * spread), 1 - ratio * exp(-NINETY * spread)


@dataclass(frozen=True, slots=True)
class SideEffectClass:
    """A class on a named scale with the range it stands for, and the rows it rests on.

    ``low`` and ``high`` are shares, or days for a class of persistence; ``high`` is None where the class is open.
    """

    scale: str
    word: str
    low: float
    high: float | None
    facts: tuple[Fact, ...]


def side_effect_class(facts: Facts, loss: float, scale: str) -> SideEffectClass:
    """Return the class 1 to 4 of a loss of enemies on the scale for the laboratory or for the field.

    The published classes leave gaps (79 to 80 %, 50 to 51 %). The rule here: class 1 lies below its limit, classes 2
    and 3 reach up to and with theirs, and whatever lies in a gap belongs to the worse class.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> [side_effect_class(load(), loss, "laboratory").word for loss in (0.299, 0.30, 0.79, 0.795, 0.991)]
    ['1', '2', '2', '3', '4']
    """
    _share(loss=loss)
    if scale not in SCALES:
        raise ValueError(f"scale is {scale!r}, and must be one of {', '.join(SCALES)}")
    rows = tuple(facts.one("", "side_effect_class_limit", stage=f"{scale} {part}") for part in (1, 2, 3))
    return _class_of(loss, scale, ("1", "2", "3", "4"), rows)


def persistence_class(facts: Facts, days: float) -> SideEffectClass:
    """Return the class A to D of the days on which a residue harms; a gap belongs to the longer class.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> [persistence_class(load(), days).word for days in (4.9, 5, 15, 15.5, 30, 31)]
    ['A', 'B', 'B', 'C', 'C', 'D']
    """
    _amount(days=days)
    rows = tuple(facts.one("", "persistence_class_limit", stage=part) for part in ("A", "B", "C"))
    return _class_of(days, PERSISTENCE, ("A", "B", "C", "D"), rows)


def _class_of(value: float, scale: str, words: Sequence[str], rows: tuple[Fact, ...]) -> SideEffectClass:
    limits = [row.value for row in rows]
    place = 0 if value < limits[0] else 1 + sum(value > limit for limit in limits[1:])
    low = 0.0 if place == 0 else limits[place - 1]
    return SideEffectClass(scale, words[place], low, limits[place] if place < 3 else None, rows)
