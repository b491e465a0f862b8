"""Parcels and lots, as text."""

from __future__ import annotations

from typing import Any

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

LABELS = {
    "units_in_pack": "units in the pack",
    "adults_expected": "adults expected",
    "unknown": "not told whether units or adults",
}
KINDS = {"emergence": "emerged", "jar": "came out of the jar", "live count": "alive", "sex": "females"}


def _expected(answer: Answer) -> list[str]:
    if not answer["expected"]:
        return []
    lines = page.heading("Expected")
    for row in answer["expected"]:
        late = f", {row['late_d']} {_days(row['late_d'])} late" if row["late_d"] else ""
        lines += page.fold(
            f"{page.day(row['delivery_date'])}{late}: {page.figure(row['packs'])} x "
            f"{page.figure(row['pack_size'])} {page.name(row['enemy'])}, {row['form']}, from {row['supplier']}",
            first="  ",
            rest="    ",
        )
        for part in row["houses"]:
            lines += page.fold(
                f"{part['house']}: {page.figure(part['number'])}, release on {page.day(part['release_date'])}",
                first="      ",
                rest="        ",
            )
        if row["words"]:
            lines += page.fold(row["words"], first="    ", rest="    ")
    lines += page.fold("Write down at the door:", first="  ", rest="    ")
    return lines + page.bullets(answer["card"], mark="[ ]")


def _days(number: float) -> str:
    return "day" if abs(number) == 1 else "days"


def _age(lot: Answer) -> str:
    age = lot["age"]
    if age["age_d"] is None:
        return "not known: neither packing nor arrival is told"
    source = f"({age['evidence']}: {age['source']})"
    if lot["balance"]["left"] <= 0 and age["let_go_at_d"] is not None:
        return (
            f"let go {age['let_go_at_d']} {_days(age['let_go_at_d'])} after {age['counted_from']}; keeps "
            f"{page.figure(age['life_d'])} {_days(age['life_d'])} {source}"
        )
    left = age["left_d"]
    over = (
        f"{page.figure(left)} {_days(left)} left"
        if left >= 0
        else f"{page.figure(-left)} {_days(left)} past it"
    )
    return (
        f"{age['age_d']} {_days(age['age_d'])} since {age['counted_from']}; keeps {page.figure(age['life_d'])} "
        f"{_days(age['life_d'])}, {over} {source}"
    )


def _balance(lot: Answer) -> str:
    balance = lot["balance"]
    places = [
        f"{page.figure(row['number'])} in {row['house']} on {page.day(row['date'])}"
        for row in balance["releases"]
    ]
    told = "; ".join(places) or "none let go yet"
    left = balance["left"]
    rest = f"{page.figure(left)} left" if left >= 0 else f"{page.figure(-left)} more than came"
    return f"{told}; {rest}"


def _check(lot: Answer) -> str:
    check = lot["check"]
    told = str(check["words"])
    due = check["due"]
    if due and check["status"] in ("running", "due") and due["likely"]:
        span = ""
        if due["earliest"] and due["latest"] and due["earliest"] != due["latest"]:
            span = f" ({page.day(due['earliest'])} to {page.day(due['latest'])})"
        told += f"; last day {page.day(due['likely'])}{span}"
    if check["temperature"]:
        told += f"; {page.figure(check['temperature']['mean_degc'])} °C in the mean ({check['temperature']['source']})"
    if check["status"] == "running" and check["share_due_now"] is not None:
        told += f"; of all that will come out about {page.chance(check['share_due_now'])} should be out today"
    return told


def _counts(lot: Answer) -> list[tuple[str, str]]:
    rows = []
    for check in lot["checks"]:
        early = ", an early look that decides nothing" if check["early"] else ""
        share = "" if check["share"] is None else f": {page.chance(check['share'])}"
        day = f", day {page.figure(check['days'])}" if check["days"] is not None else ""
        rows.append(
            (
                f"counted {page.day(check['date'])}",
                f"{page.figure(check['positive'])} of {page.figure(check['looked_at'])} {KINDS[check['kind']]}{share} "
                f"(exact {_range(check)}){day}{early}",
            )
        )
    return rows


def _range(of: Any, low: str = "low", high: str = "high") -> str:
    return f"{page.chance(of[low])} to {page.chance(of[high])}"


def _worth(lot: Answer) -> list[tuple[str, str]]:
    worth = lot["worth"]
    before, after = worth["before"], worth["after"]
    told = f"{page.chance(after['q50'])} ({_range(after, 'q05', 'q95')})"
    if worth["looked_at"]:
        told += f"; before the check {page.chance(before['q50'])} ({_range(before, 'q05', 'q95')})"
    told += f"; books: {worth['before_from']}"
    return [
        ("share that comes out", told),
        ("living females to come", page.between(worth["females"], "from the whole lot")),
    ]


def _chances(lot: Answer) -> list[str]:
    chances = lot["worth"]["chances"]
    lines: list[str] = []
    if chances:
        lines += page.bullets(
            (
                f"chance that the lot is below the guideline: {page.chance(chances['below_guideline'])}",
                f"a good lot looks this bad in {page.chance(chances['good_looks_this_bad'])} of such checks",
                "a lot just at the guideline looks this good in "
                f"{page.chance(chances['just_at_guideline_looks_this_good'])} of them",
            )
        )
    return lines


def _criteria(lot: Answer) -> list[str]:
    criteria = lot["criteria"]
    if not criteria["rows"]:
        return page.fold("No quality guideline for this enemy was seen.", first="  ")
    lines = page.heading("What the quality guideline asks")
    for row in criteria["rows"]:
        a_share = row["value"] < 1
        value = page.chance(row["value"]) if a_share else page.figure(row["value"])
        of = f" of {page.figure(row['n'])}" if a_share and row["n"] else ""
        whose = "" if row["for_users"] else "; the producer's work"
        lines += page.fold(
            f"{_named(row['what'])}: {row['side']} {value}{of} "
            f"({_degrees(row['conditions']) or 'no conditions told'}{whose}; {row['evidence']}, {row['source']})",
            first="  ",
            rest="    ",
        )
    if criteria["passing"]:
        lines += page.fold(f"With {criteria['looked_at']} looked at it is reached by", first="  ")
        lines += page.columns(
            [
                (
                    row["lot"],
                    page.chance(row["true_share"]),
                    f"in {page.chance(row['chance'])} of such checks",
                )
                for row in criteria["passing"]
            ],
            indent="    ",
            right=(1,),
        )
    return lines


def _degrees(text: str) -> str:
    return text.replace("degC", "°C")


def _named(words: str) -> str:
    what, on, species = words.partition(" on ")
    return f"{what} on {page.name(species)}" if on and "_" in species else words


def _sampling(lot: Answer) -> list[str]:
    sampling = lot["sampling"]
    lines = page.heading(f"How many into the pot: {sampling['asks']}")
    take = sampling["take"]
    lines += page.fold(
        f"Set {page.figure(take)} aside. {sampling['words']}"
        if take
        else "No pot of this lot answers that question: it is too small for it, or no guideline is known. "
        "Pool it with other lots.",
        first="  ",
        rest="  ",
    )
    rows = []
    for row in sampling["rows"]:
        labour = "" if row["labour"] is None else f", {page.money(row['labour'], sampling['currency'])}"
        rows.append(
            (
                page.figure(row["size"]),
                f"if {page.chance(sampling['expected'])} come out it says {_range(row)}; "
                f"{page.figure(row['minutes'])} min{labour}",
            )
        )
    return lines + page.columns(rows, indent="    ", right=(0,))


def _letters(lot: Answer) -> list[str]:
    letters = lot["letters"]
    if letters is None:
        return []
    sizes = "; ".join(
        f"level {row['level']} letter {row['letter']}: {row['sample']}" for row in letters["levels"]
    )
    lines = page.fold(f"{letters['standard']}: {sizes} ({letters['evidence']}).", first="  ", rest="    ")
    plan = letters["plan"]
    if plan:
        curve = "; ".join(
            f"{page.share(row['bad_share'])} bad {page.chance(row['accepted'])}" for row in plan["curve"]
        )
        lines += page.fold(
            f"At a limit of {page.figure(plan['quality_limit_pct'])} % look at {plan['sample']}, accept up to "
            f"{plan['accept']} bad, reject from {plan['reject']}. It accepts: {curve}.",
            first="  ",
            rest="    ",
        )
        lines += page.fold(letters["words"], first="  ", rest="    ")
    return lines


def _storage(answer: Answer, enemy: str) -> list[str]:
    views: list[Any] = next((row["views"] for row in answer["storage"] if row["enemy"] == enemy), [])
    if not views:
        return []
    lines = page.heading("How long it keeps: the views differ")
    for row in views:
        if row["quantity"] == "storage_coldest":
            value = f"not below {page.figure(row['value'])} °C"
        else:
            span = (
                f"{page.figure(row['low'])} to {page.figure(row['high'])}" if row["low"] is not None else None
            )
            value = f"{span or page.figure(row['value'])} days"
            value += f" at {page.figure(row['at_degc'])} °C" if row["at_degc"] is not None else ""
        lines += page.fold(
            f"{_degrees(row['view'])}: {value}; {_degrees(row['note']) or 'no more told'} "
            f"({row['evidence']}, {row['source']})",
            first="  ",
            rest="    ",
        )
    return lines


def _lot(answer: Answer, lot: Answer, whole: bool) -> list[str]:
    came = f", arrived {page.moment(lot['arrived'])}" if lot["arrived"] else ", arrival not told"
    lines = page.heading(
        f"Lot {lot['lot']}: {page.figure(lot['labelled_number'])} {page.name(lot['enemy'])} as {lot['form']}"
        f" ({LABELS[lot['label_counts']]}){came}"
    )
    rows = [
        ("age", _age(lot)),
        ("let go", _balance(lot)),
        ("check", _check(lot)),
        *_counts(lot),
        *_worth(lot),
    ]
    lines += page.columns(rows)
    lines += _chances(lot)
    lines += page.bullets(lot["warnings"], mark="!")
    if whole:
        lines += _criteria(lot) + _sampling(lot) + _letters(lot) + _storage(answer, lot["enemy"])
        lines += page.heading(f"For the supplier, step {lot['claim']['step']} of 2: {lot['claim']['words']}")
        lines += page.fold(lot["claim"]["text"], first="  ", rest="  ")
    return lines


def _closed(lot: Answer) -> bool:
    return (
        lot["balance"]["left"] <= 0 and lot["check"]["status"] in ("done", "missed") and not lot["warnings"]
    )


def _one_line(lot: Answer) -> tuple[str, str]:
    worth = lot["worth"]
    seen = (
        f"{page.figure(worth['positive'])} of {page.figure(worth['looked_at'])} ({_range(worth)})"
        if worth["looked_at"]
        else "not counted"
    )
    return (
        lot["lot"],
        f"{page.figure(lot['labelled_number'])} {page.name(lot['enemy'])}, {seen}; females "
        f"{page.between(worth['females'])}",
    )


def render(answer: Answer, *, whole: bool = False, sources: bool = False) -> str:
    """Return the answer of ``outpace arrival show`` in lines of at most 80 columns.

    Parameters
    ----------
    whole : bool
        Whether guideline, sample sizes, storage and claim of each lot are told too.
    """
    lines = page.fold(answer["sentence"])
    lines += _expected(answer)
    closed = [] if whole else [lot for lot in answer["lots"] if _closed(lot)]
    for lot in answer["lots"]:
        if lot not in closed:
            lines += _lot(answer, lot, whole)
    if closed:
        lines += page.heading("Let go and counted, or past counting")
        lines += page.columns([_one_line(lot) for lot in closed])
    if answer["lots"] and not whole:
        lines += [
            "",
            *page.fold("`outpace arrival show LOT` adds guideline, sample sizes, storage and claim."),
        ]
    if answer["cautions"]:
        lines += [""]
        lines += page.bullets(answer["cautions"])
        lines += ["  Ranges without a name hold nine cases in ten, exact ones 95 of 100."]
    if sources:
        lines += page.fact_lines(answer["facts"])
    if answer["facts"]:
        lines += ["", *page.evidence_line(answer["evidence_weakest"])]
        if not sources:
            lines += page.fact_count(answer["facts"])
    return "\n".join(lines)
