"""A model as SBML, solved by COPASI: an engine by other authors, with its own parser and its own solver."""

from __future__ import annotations

import locale
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager


@contextmanager
def own_locale() -> Iterator[None]:
    """Put the locale back: the engine sets it to C for the whole process, and text files would then be ASCII."""
    before = locale.setlocale(locale.LC_ALL)
    try:
        yield
    finally:
        locale.setlocale(locale.LC_ALL, before)


with own_locale():
    import basico

Terms = Sequence[tuple[float, tuple[str, ...]]]
"""Summands of a rate of change: a coefficient and the quantities it multiplies."""

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<sbml xmlns="http://www.sbml.org/sbml/level2/version4" '
    'level="2" version="4"><model id="house"><listOfCompartments><compartment id="floor" size="1"/>'
    "</listOfCompartments>"
)
MATH = '<math xmlns="http://www.w3.org/1998/Math/MathML">'


def sbml(rates: Mapping[str, Terms], begin: Mapping[str, float]) -> str:
    """Return the SBML of dx/dt = sum of coefficient times product of quantities."""
    values = "".join(
        f'<parameter id="{name}" constant="false" value="{begin.get(name, 0.0)!r}"/>' for name in rates
    )
    rules = "".join(
        f'<rateRule variable="{name}">{MATH}<apply><plus/>{"".join(map(_term, terms))}<cn>0</cn></apply></math>'
        "</rateRule>"
        for name, terms in rates.items()
    )
    return f"{HEAD}<listOfParameters>{values}</listOfParameters><listOfRules>{rules}</listOfRules></model></sbml>"


def _term(term: tuple[float, tuple[str, ...]]) -> str:
    mantissa, _, exponent = f"{term[0]:.17e}".partition("e")
    number = f'<cn type="e-notation">{mantissa}<sep/>{int(exponent)}</cn>'
    return f"<apply><times/>{number}{''.join(f'<ci>{name}</ci>' for name in term[1])}</apply>"


def solved(rates: Mapping[str, Terms], begin: Mapping[str, float], days: float) -> dict[str, float]:
    """Return every quantity at the end of so many days, by COPASI's deterministic solver."""
    with own_locale():
        model = basico.load_model_from_string(sbml(rates, begin))
        try:
            course = basico.run_time_course(
                model=model, duration=days, intervals=1, method="deterministic", r_tol=1e-11, a_tol=1e-13
            )
            last = course.iloc[-1]
            return {name: float(last[f"Values[{name}]"]) for name in rates}
        finally:
            basico.remove_datamodel(model)
