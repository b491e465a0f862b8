"""Templates, and the words and numbers they are filled with."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from jinja2 import Environment, FileSystemLoader, select_autoescape
from markupsafe import Markup, escape

from outpace import measures
from outpace.currency import money_rate
from outpace.language import NAMES, direction, is_reviewed, languages, say, say_many, spoken_language, to_say
from outpace.surfaces import marks, wording
from outpace.surfaces.text import page, vocabulary
from outpace.surfaces.web.demo_page import in_demo
from outpace.surfaces.web.entry.fields import in_page_words

HERE = Path(__file__).parent
STATIC = HERE / "static"

SENTENCES = (
    to_say("must "),
    to_say("known: "),
    to_say("near: "),
    to_say("lies "),
    to_say("above "),
    to_say("below "),
)
"""So begin the limits in messages that need no word before them."""


@lru_cache(maxsize=1)
def static_version() -> str:
    """Return a digest of all our files: scripts name each other, so they change their addresses together."""
    digest = hashlib.sha256()
    for path in sorted(STATIC.rglob("*")):
        if path.is_file():
            digest.update(path.relative_to(STATIC).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:10]


def static(name: str) -> str:
    """Return the address of a file of ours; it changes when any of them does, so that a browser may keep it."""
    if not (STATIC / name).is_file():
        raise ValueError(f"no static file {name!r}")
    return f"/static/{static_version()}/{name}"


def all_static(starts: Sequence[str]) -> list[str]:
    """Return the addresses of the files whose names begin so."""
    names = (path.relative_to(STATIC).as_posix() for path in sorted(STATIC.rglob("*")) if path.is_file())
    return [
        static(name)
        for name in names
        if name.startswith(tuple(starts)) and not name.endswith((".txt", ".md"))
    ]


def house_path(house: str, tail: str = "", *, page: str = "house") -> str:
    """Return the address of a page about a house.

    Examples
    --------
    >>> house_path("bay 2/3", "/sheet.pdf"), house_path("south", page="nofinds")
    ('/house/bay%202%2F3/sheet.pdf', '/nofinds/south')
    """
    return f"/{page}/{quote(house, safe='')}{tail}"


def query(kept: Mapping[str, Any], **more: Any) -> str:
    """Return the end of an address that keeps farm and day.

    Examples
    --------
    >>> query({"farm": None, "as_of": "2026-04-20"})
    '?as_of=2026-04-20'
    """
    told = {key: value for key, value in {**kept, **more}.items() if value not in (None, "")}
    return f"?{urlencode(told)}" if told else ""


_here: ContextVar[str] = ContextVar("address of the page", default="/")


@contextmanager
def standing_at(address: str) -> Iterator[None]:
    """Let pages know their own address until the block ends, to come back to."""
    token = _here.set(address)
    try:
        yield
    finally:
        _here.reset(token)


def latin(key: str | None) -> Markup:
    """Return the name of a species, in italics where it is Latin."""
    said = page.name(key)
    return Markup("<i>{}</i>").format(said) if said[:1].isupper() else Markup("{}").format(said)


def quantity(name: object) -> str:
    """Return the name of a quantity as words."""
    return say(page.plain(name).replace("_", " "))


def ticked(text: object) -> Markup:
    """Return a message with what stands between ticks set as code.

    Examples
    --------
    >>> str(ticked("`a<b.csv` row 2"))
    '<code>a&lt;b.csv</code> row 2'
    """
    pieces = str(text).split("`")
    if len(pieces) % 2 == 0:
        return Markup("{}").format(text)
    return Markup("").join(
        Markup("<code>{}</code>").format(piece) if number % 2 else piece
        for number, piece in enumerate(pieces)
    )


def paged(text: object) -> Markup:
    """Return a message in which commands are named as the pages that do their work.

    Examples
    --------
    >>> str(paged("run `outpace plan` again"))
    'run the page “Plan and order” again'
    """
    return ticked(in_page_words(str(text)))


def unbroken(text: str) -> str:
    """Return a sentence whose figures keep their unit on the same line.

    Examples
    --------
    >>> unbroken("below 6.9 % of plants")
    'below 6.9\\xa0% of plants'
    """
    return text.replace(" %", "\u00a0%").replace(" °", "\u00a0°")


def rule(allowed: str) -> str:
    """Return what is allowed as a line of its own; some messages make a sentence by themselves.

    Examples
    --------
    >>> rule("a text table (CSV)"), rule("must be a number")
    ('Allowed: a text table (CSV)', 'must be a number')
    """
    return (
        allowed
        if allowed.startswith(tuple(say(begin) for begin in SENTENCES))
        else say("Allowed: {allowed}", allowed=allowed)
    )


def told(text: str, **values: object) -> str:
    """Return a text in the reader's language; what is drawn or set already keeps its marks of HTML.

    Examples
    --------
    >>> str(told("{enemy} in <{house}>", enemy=Markup("<i>A. ervi</i>"), house="b"))
    '<i>A. ervi</i> in &lt;b&gt;'
    """
    if any(hasattr(value, "__html__") for value in values.values()):
        return escape(say(text)).format(**values)
    return say(text, **values)


def told_many(one: str, many: str, n: float, **values: object) -> str:
    """Return the text for one or for many; what is drawn or set already keeps its marks of HTML."""
    if not any(hasattr(value, "__html__") for value in values.values()):
        return say_many(one, many, n, **values)
    held = {name: f"{{{name}}}" for name in values}
    return escape(say_many(one, many, n, **held)).format(**values)


def say_marked(text: str, **values: object) -> Markup:
    """Return a text that holds marks of HTML, what fills its braces escaped.

    Examples
    --------
    >>> str(say_marked("<b>{house}</b> first", house="<bay>"))
    '<b>&lt;bay&gt;</b> first'
    """
    return Markup(say(text)).format(**values) if values else Markup(say(text))


@lru_cache(maxsize=1)
def environment() -> Environment:
    """Return the templates, with every text escaped."""
    made = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(
        day=page.day,
        moment=page.moment,
        figure=page.figure,
        days_ago=page.days_ago,
        chance=page.chance,
        share=page.share,
        between=page.between,
        name=page.name,
        latin=latin,
        unit=page.unit_text,
        likely=wording.likely,
        words=quantity,
        rule=rule,
        unbroken=unbroken,
        ticked=ticked,
        said=vocabulary.said,
        paged=paged,
        capitalize_first=lambda text: text[:1].upper() + text[1:],
    )
    made.globals.update(
        _=told,
        say=say,
        in_demo=in_demo,
        say_many=say_many,
        told_many=told_many,
        many_units=vocabulary.many_units,
        say_marked=say_marked,
        spoken_language=spoken_language,
        direction=direction,
        is_reviewed=is_reviewed,
        languages=languages,
        language_names=NAMES,
        here_path=_here.get,
        static=static,
        house_path=house_path,
        query=query,
        money=page.money,
        money_rate=money_rate,
        temperature=measures.temperature,
        degrees=measures.degrees,
        degree_sign=measures.degree_sign,
        area=measures.area,
        per_area=measures.per_area,
        rate_figure=measures.rate_figure,
        of_unit=measures.of_unit,
        units_sent=measures.units_sent,
        sparse_figure=measures.sparse_figure,
        per_wide_area=measures.per_wide_area,
        area_sign=measures.area_sign,
        week_of=page.week_of,
        such_houses=page.such_houses,
        evidence_words=page.EVIDENCE_WORDS,
        verdict_line=wording.verdict_line,
        verdict_mark=marks.verdict_mark,
    )
    return made


def render(template: str, **values: Any) -> str:
    """Return a page."""
    return environment().get_template(template).render(**values)
