"""The orders to send, one message a supplier, as text."""

from __future__ import annotations

from outpace.language import say, say_many
from outpace.surfaces import wording
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def packs_text(line: Answer) -> str:
    """Return one order line: packs, enemy, size and form."""
    packs = line["packs"]
    return say_many(
        "{n} pack of {enemy}, {pack_size} {form} each",
        "{n} packs of {enemy}, {pack_size} {form} each",
        packs,
        enemy=page.name(line["enemy"]),
        pack_size=page.figure(line["pack_size"]),
        form=say(line["form"]),
    )


def sentence(answer: Answer) -> str:
    """Return the one sentence: a verb, a day, a number."""
    if answer.get("sentence"):
        return str(answer["sentence"])
    firm = [order for order in answer["orders"] if not order["provisional"]]
    if not firm:
        return say(
            "Order nothing on {as_of}: 0 packs are due before the next cut-off.",
            as_of=page.day(answer["as_of"]),
        )
    first = min(firm, key=lambda order: str(order["cutoff"]))
    packs = sum(line["packs"] for line in first["lines"])
    return say_many(
        "Order by {cutoff}: {n} pack from {supplier}.",
        "Order by {cutoff}: {n} packs from {supplier}.",
        packs,
        cutoff=page.moment(first["cutoff"]),
        supplier=first["supplier"],
    )


def _order_lines(order: Answer) -> list[str]:
    currency = order["currency"]
    later = say(" (provisional: decide after the next walk)") if order["provisional"] else ""
    lines = page.heading(
        say(
            "{supplier}: order by {cutoff}, delivery {delivery_date}{later}",
            supplier=order["supplier"],
            cutoff=page.moment(order["cutoff"], year=True),
            delivery_date=page.day(order["delivery_date"]),
            later=later,
        )
    )
    for line in order["lines"]:
        price = f", {page.money(line['price'], currency)}" if line.get("price") is not None else ""
        lines += page.fold(f"{packs_text(line)}{price}", first="  ", rest="    ")
        for place in line["houses"]:
            lines += page.fold(
                say(
                    "{house}: {number}, release on {release_date}",
                    house=place["house"],
                    number=page.figure(place["number"]),
                    release_date=page.day(place["release_date"]),
                ),
                first="      ",
                rest="        ",
            )
    if order.get("freight") is not None:
        lines.append(say("  freight {freight}", freight=page.money(order["freight"], currency)))
    if order.get("total") is not None:
        lines.append(say("  total {total}", total=page.money(order["total"], currency)))
    return lines


def render(answer: Answer) -> str:
    """Return the answer of ``outpace order`` in lines of at most 80 columns."""
    lines = page.fold(sentence(answer))
    for order in answer["orders"]:
        lines += _order_lines(order)
        if order.get("text") and not order["provisional"]:
            lines += ["", say("  Message to send:")]
            for part in str(order["text"]).splitlines():
                lines += page.fold(part, first="  | ", rest="  | ")
    if answer.get("waiting"):
        lines += page.heading(say("Nothing ordered for"))
        lines += page.bullets(waiting_text(item) for item in answer["waiting"])
    mind = wording.minded(answer)
    if mind:
        lines += page.heading(say("Before you send it"))
        lines += page.bullets(mind)
    return "\n".join(lines)


def messages(answer: Answer) -> str:
    """Return the messages to send and nothing else, an empty line between two."""
    return "\n\n".join(str(order["text"]) for order in answer["orders"] if not order["provisional"])


def waiting_text(item: object) -> str:
    """Return a house that waits, why, and when to look again."""
    if not isinstance(item, dict):
        return str(item)
    why = item.get("why") or item.get("reason") or item.get("text") or ""
    again = (
        say("; look again on {look_again}", look_again=page.day(item["look_again"]))
        if item.get("look_again")
        else ""
    )
    return f"{item.get('house', '')}: {why}{again}"
