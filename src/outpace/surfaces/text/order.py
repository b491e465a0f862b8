"""The orders to send, one message a supplier, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def packs_text(line: Answer) -> str:
    """Return one order line: packs, enemy, size and form."""
    packs = line["packs"]
    noun = "pack" if packs == 1 else "packs"
    return (
        f"{page.figure(packs)} {noun} of {page.name(line['enemy'])}, "
        f"{page.figure(line['pack_size'])} {line['form']} each"
    )


def sentence(answer: Answer) -> str:
    """Return the one sentence: a verb, a day, a number."""
    if answer.get("sentence"):
        return str(answer["sentence"])
    firm = [order for order in answer["orders"] if not order["provisional"]]
    if not firm:
        return f"Order nothing on {page.day(answer['as_of'])}: 0 packs are due before the next cut-off."
    first = min(firm, key=lambda order: str(order["cutoff"]))
    packs = sum(line["packs"] for line in first["lines"])
    noun = "pack" if packs == 1 else "packs"
    return f"Order by {page.moment(first['cutoff'])}: {packs} {noun} from {first['supplier']}."


def _order_lines(order: Answer) -> list[str]:
    currency = order["currency"]
    later = " (provisional: decide after the next walk)" if order["provisional"] else ""
    lines = page.heading(
        f"{order['supplier']}: order by {page.moment(order['cutoff'], year=True)}, "
        f"delivery {page.day(order['delivery_date'])}{later}"
    )
    for line in order["lines"]:
        price = f", {page.money(line['price'], currency)}" if line.get("price") is not None else ""
        lines += page.fold(f"{packs_text(line)}{price}", first="  ", rest="    ")
        for place in line["houses"]:
            lines += page.fold(
                f"{place['house']}: {page.figure(place['number'])}, "
                f"release on {page.day(place['release_date'])}",
                first="      ",
                rest="        ",
            )
    if order.get("freight") is not None:
        lines.append(f"  freight {page.money(order['freight'], currency)}")
    if order.get("total") is not None:
        lines.append(f"  total {page.money(order['total'], currency)}")
    return lines


def render(answer: Answer) -> str:
    """Return the answer of ``outpace order`` in lines of at most 80 columns."""
    lines = page.fold(sentence(answer))
    for order in answer["orders"]:
        lines += _order_lines(order)
        if order.get("text") and not order["provisional"]:
            lines += ["", "  Message to send:"]
            for part in str(order["text"]).splitlines():
                lines += page.fold(part, first="  | ", rest="  | ")
    if answer.get("waiting"):
        lines += page.heading("Nothing ordered for")
        lines += page.bullets(waiting_text(item) for item in answer["waiting"])
    if answer.get("cautions"):
        lines += page.heading("Before you send it")
        lines += page.bullets(answer["cautions"])
    return "\n".join(lines)


def messages(answer: Answer) -> str:
    """Return the messages to send and nothing else, an empty line between two."""
    return "\n\n".join(str(order["text"]) for order in answer["orders"] if not order["provisional"])


def waiting_text(item: object) -> str:
    """Return a house that waits, why, and when to look again."""
    if not isinstance(item, dict):
        return str(item)
    why = item.get("why") or item.get("reason") or item.get("text") or ""
    again = f"; look again on {page.day(item['look_again'])}" if item.get("look_again") else ""
    return f"{item.get('house', '')}: {why}{again}"
