"""Parcels and lots, as text."""

from __future__ import annotations

from typing import Any

from outpace.language import say, to_say
from outpace.surfaces.text import page
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
            "; {mean_degc} °C in the mean ({source})",
            mean_degc=page.figure(check["temperature"]["mean_degc"]),
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
                    check=_range(check),
                    day=day,
                    early=early,
                ),
            )
        )
    return rows


def _range(of: Any, low: str = "low", high: str = "high") -> str:
    return say("{of} to {of2}", of=page.chance(of[low]), of2=page.chance(of[high]))


def _worth(lot: Answer) -> list[tuple[str, str]]:
    worth = lot["worth"]
    before, after = worth["before"], worth["after"]
    told = f"{page.chance(after['q50'])} ({_range(after, 'q05', 'q95')})"
    if worth["looked_at"]:
        told += say(
            "; before the check {q50} ({before})",
            q50=page.chance(before["q50"]),
            before=_range(before, "q05", "q95"),
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


def _criteria(lot: Answer) -> list[str]:
    criteria = lot["criteria"]
    if not criteria["rows"]:
        return page.fold(say("No quality guideline for this enemy was seen."), first="  ")
    lines = page.heading(say("What the quality guideline asks"))
    for row in criteria["rows"]:
        a_share = row["value"] < 1
        value = page.chance(row["value"]) if a_share else page.figure(row["value"])
        of = say(" of {n}", n=page.figure(row["n"])) if a_share and row["n"] else ""
        whose = "" if row["for_users"] else say("; the producer's work")
        lines += page.fold(
            f"{_named(row['what'])}: {row['side']} {value}{of} "
            f"({_degrees(row['conditions']) or say('no conditions told')}{whose}; {row['evidence']}, {row['source']})",
            first="  ",
            rest="    ",
        )
    if criteria["passing"]:
        lines += page.fold(
            say("With {looked_at} looked at it is reached by", looked_at=criteria["looked_at"]), first="  "
        )
        lines += page.columns(
            [
                (
                    row["lot"],
                    page.chance(row["true_share"]),
                    say("in {chance} of such checks", chance=page.chance(row["chance"])),
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
    return (
        say("{what} on {species}", what=what, species=page.name(species)) if on and "_" in species else words
    )


def _sampling(lot: Answer) -> list[str]:
    sampling = lot["sampling"]
    lines = page.heading(say("How many into the pot: {asks}", asks=sampling["asks"]))
    take = sampling["take"]
    lines += page.fold(
        say("Set {take} aside. {words}", take=page.figure(take), words=sampling["words"])
        if take
        else say(
            "No pot of this lot answers that question: it is too small for it, or no guideline is known. "
            "Pool it with other lots."
        ),
        first="  ",
        rest="  ",
    )
    rows = []
    for row in sampling["rows"]:
        labour = "" if row["labour"] is None else f", {page.money(row['labour'], sampling['currency'])}"
        rows.append(
            (
                page.figure(row["size"]),
                say(
                    "if {expected} come out it says {row}; {minutes} min{labour}",
                    expected=page.chance(sampling["expected"]),
                    row=_range(row),
                    minutes=page.figure(row["minutes"]),
                    labour=labour,
                ),
            )
        )
    return lines + page.columns(rows, indent="    ", right=(0,))


def _letters(lot: Answer) -> list[str]:
    letters = lot["letters"]
    if letters is None:
        return []
    sizes = "; ".join(
        say(
            "level {level} letter {letter}: {sample}",
            level=row["level"],
            letter=row["letter"],
            sample=row["sample"],
        )
        for row in letters["levels"]
    )
    lines = page.fold(f"{letters['standard']}: {sizes} ({letters['evidence']}).", first="  ", rest="    ")
    plan = letters["plan"]
    if plan:
        curve = "; ".join(
            say(
                "{bad_share} bad {accepted}",
                bad_share=page.share(row["bad_share"]),
                accepted=page.chance(row["accepted"]),
            )
            for row in plan["curve"]
        )
        lines += page.fold(
            say(
                "At a limit of {quality_limit_pct} % look at {sample}, accept up to {accept} bad, reject "
                "from {reject}. It accepts: {curve}.",
                quality_limit_pct=page.figure(plan["quality_limit_pct"]),
                sample=plan["sample"],
                accept=plan["accept"],
                reject=plan["reject"],
                curve=curve,
            ),
            first="  ",
            rest="    ",
        )
        lines += page.fold(letters["words"], first="  ", rest="    ")
    return lines


def _storage(answer: Answer, enemy: str) -> list[str]:
    views: list[Any] = next((row["views"] for row in answer["storage"] if row["enemy"] == enemy), [])
    if not views:
        return []
    lines = page.heading(say("How long it keeps: the views differ"))
    for row in views:
        if row["quantity"] == "storage_coldest":
            value = say("not below {value} °C", value=page.figure(row["value"]))
        else:
            span = (
                say("{low} to {high}", low=page.figure(row["low"]), high=page.figure(row["high"]))
                if row["low"] is not None
                else None
            )
            value = say("{span} days", span=span or page.figure(row["value"]))
            value += (
                say(" at {at_degc} °C", at_degc=page.figure(row["at_degc"]))
                if row["at_degc"] is not None
                else ""
            )
        lines += page.fold(
            f"{_degrees(row['view'])}: {value}; {_degrees(row['note']) or say('no more told')} "
            f"({say(row['evidence'])}, {row['source']})",
            first="  ",
            rest="    ",
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
        lines += _criteria(lot) + _sampling(lot) + _letters(lot) + _storage(answer, lot["enemy"])
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
            worth=_range(worth),
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
