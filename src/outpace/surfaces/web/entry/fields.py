"""What a page asks for, how it is read, and which field a mistake belongs to."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, Any, Literal

from outpace import measures
from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.language import say
from outpace.units import number

if TYPE_CHECKING:
    from outpace.season.enter import Entered
    from outpace.season.open_book import Snapshot

Kind = Literal["text", "number", "whole", "day", "moment", "choice", "several", "long", "tick", "file"]
Measure = Literal["temperature", "difference", "area", "small area", "rate"]
Told = Mapping[str, Any]
Make = Callable[["Snapshot", dict[str, Any]], "Entered"]

LONGEST = 2000
MANY_CHOICES = 5
"""From so many choices on they stand in a list to open, else one under the other."""


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that is asked.

    Parameters
    ----------
    name : str
        Under which it is sent, and handed on.
    option : str
        The option of the command line that asks the same; messages name it so.
    need : bool
        Whether the form cannot be read without it.
    more : bool
        Whether it stands behind "More": what most people need not tell.
    measure : str, optional
        What a number is: typed in the reader's unit, which stands beside the field, and handed on in °C or m².
    """

    name: str
    label: str
    kind: Kind = "text"
    option: str = ""
    note: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    near: tuple[str, ...] = ()
    value: str = ""
    need: bool = False
    more: bool = False
    measure: Measure | None = None

    @property
    def in_list(self) -> bool:
        """Return whether its choices stand in a list to open."""
        return self.kind == "choice" and len(self.choices) >= MANY_CHOICES


@dataclass(frozen=True, slots=True)
class Form:
    """A page that takes one entry: its question, what it asks, and how rows are made of it."""

    key: str
    title: str
    question: str
    button: str
    fields: tuple[Field, ...]
    make: Make | None = None
    changes: bool = False
    care: tuple[str, ...] = ()
    onward: tuple[tuple[str, str], ...] = ()
    here: str = "enter"

    def filled(self, told: Mapping[str, str]) -> Form:
        """Return the form with what was told standing in its fields."""
        return replace(
            self, fields=tuple(replace(each, value=told.get(each.name, each.value)) for each in self.fields)
        )

    def without(self, *names: str) -> Form:
        """Return the form without some of its fields."""
        return replace(self, fields=tuple(each for each in self.fields if each.name not in names))


@dataclass(slots=True)
class Mistakes:
    """What is wrong with an entry: beside which field, or with the whole."""

    by_field: dict[str, OutpaceError] = field(default_factory=dict)
    whole: list[OutpaceError] = field(default_factory=list)
    hint: str = ""

    def __bool__(self) -> bool:
        return bool(self.by_field or self.whole)


class NotRead(Exception):
    """A form that could not be read; ``mistakes`` says where."""

    def __init__(self, mistakes: Mistakes) -> None:
        self.mistakes = mistakes
        super().__init__("form")


def read(form: Form, told: Mapping[str, str]) -> dict[str, Any]:
    """Return the values of a form: None where nothing was told, numbers as numbers.

    Raises
    ------
    NotRead
        If a field that is needed is empty, or holds what it cannot hold. Every such field is told.
    """
    values: dict[str, Any] = {}
    mistakes = Mistakes()
    for each in form.fields:
        text = told.get(each.name, "").strip()
        try:
            values[each.name] = _value(each, text)
        except OutpaceError as error:
            mistakes.by_field[each.name] = error
    if mistakes:
        raise NotRead(mistakes)
    return values


def _value(each: Field, text: str) -> Any:
    if each.kind == "tick":
        return bool(text)
    if not text:
        if each.need:
            raise OutpaceError(
                say("nothing is entered here"), allowed=say("this is needed"), code=ExitCode.USAGE
            )
        return None
    if len(text) > LONGEST:
        raise OutpaceError(
            say("{n} signs", n=len(text)), allowed=say("at most {n}", n=LONGEST), code=ExitCode.USAGE
        )
    if each.measure is not None:
        return _bare(lambda: READERS[each.measure](text))
    if each.kind == "number":
        return _number(text)
    if each.kind == "whole":
        found = _number(text)
        if not found.is_integer():
            raise OutpaceError(
                f"{text!r}", allowed=say("must be a whole number"), hint=say("count it"), code=ExitCode.USAGE
            )
        return int(found)
    told = text.split() if each.kind == "several" else [text]
    if each.kind in ("choice", "several") and any(one not in dict(each.choices) for one in told):
        raise OutpaceError(
            f"{text!r}",
            allowed=say("one of {choices}", choices=", ".join(said for _, said in each.choices)),
            code=ExitCode.USAGE,
        )
    return text


READERS: dict[Measure | None, Callable[[str], float]] = {
    "temperature": lambda text: measures.read_temperature(text, where=""),
    "difference": lambda text: measures.read_difference(text, where=""),
    "area": lambda text: measures.read_area(text, where=""),
    "small area": lambda text: measures.read_area(text, small=True, where=""),
    "rate": lambda text: measures.read_rate(text, where=""),
}


def measured(name: str, label: str, measure: Measure, **more: Any) -> Field:
    """Return a field for a number with its unit beside it, as the reader of now measures.

    Examples
    --------
    >>> measured("canopy", "Among the leaves", "temperature").label
    'Among the leaves, °C'
    """
    units: dict[Measure, Callable[[], str]] = {
        "temperature": measures.degree_sign,
        "difference": measures.degree_sign,
        "area": measures.area_sign,
        "small area": partial(measures.area_sign, small=True),
        "rate": measures.per_area,
    }
    said = say("{what}, {unit}", what=label, unit=units[measure]())
    return Field(name, said, "number", measure=measure, **more)


def _number(text: str) -> float:
    return _bare(lambda: number(text, where=""))


def _bare(reader: Callable[[], float]) -> float:
    """Return a number read, or what is wrong with it without a place: the field is the place."""
    try:
        return reader()
    except OutpaceError as error:
        raise OutpaceError(error.what, allowed=error.allowed, hint=error.hint, code=error.code) from None


def placed(error: OutpaceError, form: Form) -> Mistakes:
    """Return a mistake beside the field it belongs to, in the words of the page.

    A message names the option of the command line, or the column of the book; both lead to a field.
    """
    mistakes = Mistakes()
    each_of = error.errors if isinstance(error, ManyErrors) else [error]
    for one in each_of:
        told = OutpaceError(
            in_page_words(one.what, form),
            where=in_page_words(one.where, form),
            allowed=in_page_words(one.allowed, form),
            hint=in_page_words(one.hint, form),
            code=one.code,
        )
        name = _field_of(one, form)
        if name is not None and name not in mistakes.by_field:
            told.where = ""
            mistakes.by_field[name] = told
        else:
            mistakes.whole.append(told)
    return mistakes


def _field_of(error: OutpaceError, form: Form) -> str | None:
    where = error.where.strip("`")
    for each in form.fields:
        if where and where in (each.name, each.option):
            return each.name
    for each in form.fields:
        if each.option and f"`{each.option}`" in error.what:
            return each.name
    # The book names the column first: "labelled number -3", "pack size 0".
    said = error.what.casefold()
    for each in sorted(form.fields, key=lambda one: -len(one.name)):
        plain = re.sub(r"_(m2|m|degc|pct|d|h|per_h)$", "", each.name).replace("_", " ")
        if said.startswith((f"{plain} ", f"{each.name} ")):
            return each.name
    named = re.match(r"no (house|lot|zone|farm|banker|spray|order|enemy) called", error.what)
    return named[1] if named and any(each.name == named[1] for each in form.fields) else None


PAGES: dict[str, tuple[str, str]] = {
    "farm": ("Farm", "/enter/farm"),
    "farm permit": ("Permit", "/enter/permit"),
    "house": ("House", "/enter/house"),
    "climate": ("Temperatures", "/climate"),
    "climate import": ("Temperatures", "/climate"),
    "plan": ("Plan and order", "/plan"),
    "order": ("Plan and order", "/plan"),
    "arrival": ("Arrivals", "/arrivals"),
    "arrival show": ("Arrivals", "/arrivals"),
    "arrival check": ("Check of a lot", "/enter/check"),
    "spray": ("Sprays", "/sprays"),
    "spray add": ("Sprays", "/sprays"),
    "spray show": ("Sprays", "/sprays"),
    "walk": ("Walk", "/walk"),
    "week": ("This week", "/"),
    "banker": ("Bankers", "/enter/banker"),
    "book": ("Book", "/book"),
}
"""Which page does the work of a command."""


def in_page_words(text: str, form: Form | None = None) -> str:
    """Return a message with the command line's options and commands as fields and pages.

    Examples
    --------
    >>> in_page_words("day of packing is not told: add `--packed DATE`, or see `outpace arrival show 'L 1'`",
    ...               Form("a", "", "", "", (Field("packed", "Packed on", option="--packed"),)))
    'day of packing is not told: add “Packed on”, or see the page “Arrivals”'
    """
    labels = {each.option: each.label for each in form.fields if each.option} if form else {}

    def option(found: re.Match[str]) -> str:
        label = labels.get(found[1])
        return f"“{label}”" if label else found[0]

    def command(found: re.Match[str]) -> str:
        words = found[1].split()
        for length in (2, 1):
            page = PAGES.get(" ".join(words[:length]))
            if page is not None:
                return say("the page “{title}”", title=say(page[0]))
        return found[0]

    text = re.sub(r"`outpace ([^`]+)`", command, text)
    return re.sub(r"`(--[a-z0-9-]+)[^`]*`", option, text)


def choice(name: str, label: str, choices: Sequence[tuple[str, str]], **more: Any) -> Field:
    """Return a field with a few answers to choose from; where it is not needed, "not told" is the first."""
    first: tuple[tuple[str, str], ...] = () if more.get("need") else (("", say("not told")),)
    if more.get("need") and not more.get("value") and len(choices) >= MANY_CHOICES:
        # A list to open shows its first answer: nobody shall have said that without choosing it.
        first = (("", say("choose")),)
    return Field(name, label, "choice", choices=(*first, *choices), **more)
