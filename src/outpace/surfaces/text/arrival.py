"""Parcels and lots, as text."""

from __future__ import annotations

from outpace.language import say, to_say
from outpace.measures import temperature
from outpace.surfaces.text import page
from outpace.surfaces.text.arrival_guideline import criteria, letters, range_of, sampling, storage
from outpace.surfaces.text.page import Answer

LABELS = {
    "units_in_pack": to_say("units in the pack"),
    "adults_expected": to_say("adults expected"),
    "unknown": to_say("not told whether units or adults"),
}
KINDS = {
    "emergence": to_say("emerged"),
    "jar": to_say("came out of the jar"),
    "live count": to_say("alive"),
    "sex": to_say("females"),
}


def _expected(answer: Answer) -> list[str]:
    if not answer["expected"]:
        return []
    lines = page.heading(say("Expected"))
    for row in answer["expected"]:
        late = (
            say(", {late_d} {late_d2} late", late_d=row["late_d"], late_d2=_days(row["late_d"]))
            if row["late_d"]
            else ""
        )
        lines += page.fold(
            say(
                "{delivery_date}{late}: {packs} x {pack_size} {enemy}, {form}, from {supplier}",
                delivery_date=page.day(row["delivery_date"]),
                late=late,
                packs=page.figure(row["packs"]),
                pack_size=page.figure(row["pack_size"]),
                enemy=page.name(row["enemy"]),
                form=say(row["form"]),
                supplier=row["supplier"],
            ),
            first="  ",
            rest="    ",
        )
        for part in row["houses"]:
            lines += page.fold(
                say(
                    "{house}: {number}, release on {release_date}",
                    house=part["house"],
                    number=page.figure(part["number"]),
                    release_date=page.day(part["release_date"]),
                ),
                first="      ",
                rest="        ",
            )
        if row["words"]:
            lines += page.fold(row["words"], first="    ", rest="    ")
    lines += page.fold(say("Write down at the door:"), first="  ", rest="    ")
    return lines + page.bullets(answer["card"], mark="[ ]")


def _days(number: float) -> str:
    return say("day") if abs(number) == 1 else say("days")


def _age(lot: Answer) -> str:
    age = lot["age"]
    if age["age_d"] is None:
        return say("not known: neither packing nor arrival is told")
    source = f"({age['evidence']}: {age['source']})"
    if lot["balance"]["left"] <= 0 and age["let_go_at_d"] is not None:
        return say(
            "let go {let_go_at_d} {let_go_at_d2} after {counted_from}; keeps {life_d} {life_d2} {source}",
            let_go_at_d=age["let_go_at_d"],
            let_go_at_d2=_days(age["let_go_at_d"]),
            counted_from=age["counted_from"],
            life_d=page.figure(age["life_d"]),
            life_d2=_days(age["life_d"]),
            source=source,
        )
    left = age["left_d"]
    over = (
        say("{left} {left2} left", left=page.figure(left), left2=_days(left))
        if left >= 0
        else say("{left} {left2} past it", left=page.figure(-left), left2=_days(left))
    )
    return say(
        "{age_d} {age_d2} since {counted_from}; keeps {life_d} {life_d2}, {over} {source}",
        age_d=age["age_d"],
        age_d2=_days(age["age_d"]),
        counted_from=age["counted_from"],
        life_d=page.figure(age["life_d"]),
        life_d2=_days(age["life_d"]),
        over=over,
        source=source,
    )


def _balance(lot: Answer) -> str:
    balance = lot["balance"]
    places = [
        say(
            "{number} in {house} on {date}",
            number=page.figure(row["number"]),
            house=row["house"],
            date=page.day(row["date"]),
        )
        for row in balance["releases"]
    ]
    told = "; ".join(places) or say("none let go yet")
    left = balance["left"]
    rest = (
        say("{left} left", left=page.figure(left))
        if left >= 0
        else say("{left} more than came", left=page.figure(-left))
    )
    return f"{told}; {rest}"


def _check(lot: Answer) -> str:
    check = lot["check"]
    told = str(check["words"])
    due = check["due"]
    if due and check["status"] in ("running", "due") and due["likely"]:
        span = ""
        if due["earliest"] and due["latest"] and due["earliest"] != due["latest"]:
            span = say(
                " ({earliest} to {latest})",
                earliest=page.day(due["earliest"]),
                latest=page.day(due["latest"]),
            )
        told += say("; last day {likely}{span}", likely=page.day(due["likely"]), span=span)
    if check["temperature"]:
        told += say(
            "; {mean} in the mean ({source})",
            mean=temperature(check["temperature"]["mean_degc"]),
            source=check["temperature"]["source"],
        )
    if check["status"] == "running" and check["share_due_now"] is not None:
        told += say(
            "; of all that will come out about {share_due_now} should be out today",
            share_due_now=page.chance(check["share_due_now"]),
        )
    return told


def _counts(lot: Answer) -> list[tuple[str, str]]:
    rows = []
    for check in lot["checks"]:
        early = say(", an early look that decides nothing") if check["early"] else ""
        share = "" if check["share"] is None else f": {page.chance(check['share'])}"
        day = say(", day {days}", days=page.figure(check["days"])) if check["days"] is not None else ""
        rows.append(
            (
                say("counted {date}", date=page.day(check["date"])),
                say(
                    "{positive} of {looked_at} {kinds}{share} (exact {check}){day}{early}",
                    positive=page.figure(check["positive"]),
                    looked_at=page.figure(check["looked_at"]),
                    kinds=say(KINDS[check["kind"]]),
                    share=share,
                    check=range_of(check),
                    day=day,
                    early=early,
                ),
            )
        )
    return rows


def _worth(lot: Answer) -> list[tuple[str, str]]:
    worth = lot["worth"]
    before, after = worth["before"], worth["after"]
    told = f"{page.chance(after['q50'])} ({range_of(after, 'q05', 'q95')})"
    if worth["looked_at"]:
        told += say(
            "; before the check {q50} ({before})",
            q50=page.chance(before["q50"]),
            before=range_of(before, "q05", "q95"),
        )
    told += say("; books: {before_from}", before_from=worth["before_from"])
    return [
        (say("share that comes out"), told),
        (say("living females to come"), page.between(worth["females"], say("from the whole lot"))),
    ]


def _chances(lot: Answer) -> list[str]:
    chances = lot["worth"]["chances"]
    lines: list[str] = []
    if chances:
        lines += page.bullets(
            (
                say(
                    "chance that the lot is below the guideline: {below_guideline}",
                    below_guideline=page.chance(chances["below_guideline"]),
                ),
                say(
                    "a good lot looks this bad in {good_looks_this_bad} of such checks",
                    good_looks_this_bad=page.chance(chances["good_looks_this_bad"]),
                ),
                say(
                    "a lot just at the guideline looks this good in {just_at_guideline_looks_this_good} of "
                    "them",
                    just_at_guideline_looks_this_good=page.chance(
                        chances["just_at_guideline_looks_this_good"]
                    ),
                ),
            )
        )
    return lines


def _lot(answer: Answer, lot: Answer, whole: bool) -> list[str]:
    came = (
        say(", arrived {arrived}", arrived=page.moment(lot["arrived"]))
        if lot["arrived"]
        else say(", arrival not told")
    )
    lines = page.heading(
        say(
            "Lot {lot}: {labelled_number} {enemy} as {form} ({labels}){came}",
            lot=lot["lot"],
            labelled_number=page.figure(lot["labelled_number"]),
            enemy=page.name(lot["enemy"]),
            form=say(lot["form"]),
            labels=say(LABELS[lot["label_counts"]]),
            came=came,
        )
    )
    rows = [
        (say("age"), _age(lot)),
        (say("let go"), _balance(lot)),
        (say("check"), _check(lot)),
        *_counts(lot),
        *_worth(lot),
    ]
    lines += page.columns(rows)
    lines += _chances(lot)
    lines += page.bullets(lot["warnings"], mark="!")
    if whole:
        lines += criteria(lot) + sampling(lot) + letters(lot) + storage(answer, lot["enemy"])
        lines += page.heading(
            say(
                "For the supplier, step {step} of 2: {words}",
                step=lot["claim"]["step"],
                words=lot["claim"]["words"],
            )
        )
        lines += page.fold(lot["claim"]["text"], first="  ", rest="  ")
    return lines


def _closed(lot: Answer) -> bool:
    return (
        lot["balance"]["left"] <= 0 and lot["check"]["status"] in ("done", "missed") and not lot["warnings"]
    )


def _one_line(lot: Answer) -> tuple[str, str]:
    worth = lot["worth"]
    seen = (
        say(
            "{positive} of {looked_at} ({worth})",
            positive=page.figure(worth["positive"]),
            looked_at=page.figure(worth["looked_at"]),
            worth=range_of(worth),
        )
        if worth["looked_at"]
        else say("not counted")
    )
    return (
        lot["lot"],
        say(
            "{labelled_number} {enemy}, {seen}; females {females}",
            labelled_number=page.figure(lot["labelled_number"]),
            enemy=page.name(lot["enemy"]),
            seen=seen,
            females=page.between(worth["females"]),
        ),
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
        lines += page.heading(say("Let go and counted, or past counting"))
        lines += page.columns([_one_line(lot) for lot in closed])
    if answer["lots"] and not whole:
        lines += [
            "",
            *page.fold(say("`outpace arrival show LOT` adds guideline, sample sizes, storage and claim.")),
        ]
    if answer["cautions"]:
        lines += [""]
        lines += page.bullets(answer["cautions"])
        lines += [say("  Ranges without a name hold nine cases in ten, exact ones 95 of 100.")]
    if sources:
        lines += page.fact_lines(answer["facts"])
    if answer["facts"]:
        lines += ["", *page.evidence_line(answer["evidence_weakest"])]
        if not sources:
            lines += page.fact_count(answer["facts"])
    return "\n".join(lines)
