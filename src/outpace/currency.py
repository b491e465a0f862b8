"""Money as its reader sees it: with the decimals its currency has, per area as the reader measures areas."""

from __future__ import annotations

from outpace.language import written
from outpace.measures import rate_value

WITHOUT_DECIMALS = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
WITH_THREE = "BHD IQD JOD KWD LYD OMR TND"
WITH_FOUR = "CLF UYW"
MINOR_UNITS = {
    code: digits
    for digits, codes in ((0, WITHOUT_DECIMALS), (3, WITH_THREE), (4, WITH_FOUR))
    for code in codes.split()
}
"""Decimals of the currencies that have not two, by their code: ISO 4217, list one (recalled)."""


def money(value: float, currency: str, *, extra: int = 0) -> str:
    """Return an amount of money, with the decimals its currency has.

    Parameters
    ----------
    currency : str
        Code of ISO 4217.
    extra : int
        More decimals than coins have, as for what a small area costs.

    Examples
    --------
    >>> money(1204.5, "EUR"), money(1204.5, "JPY"), money(1.2345, "KWD"), money(0.1234, "EUR", extra=1)
    ('EUR 1,204.50', 'JPY 1,204', 'KWD 1.234', 'EUR 0.123')
    """
    return f"{currency} {amount(value, currency, extra=extra)}"


def amount(value: float, currency: str, *, extra: int = 0) -> str:
    """Return the number of an amount of money, with the decimals its currency has.

    Examples
    --------
    >>> amount(1204.5, "EUR"), amount(980.0, "JPY")
    ('1,204.50', '980')
    """
    digits = MINOR_UNITS.get(currency.strip().upper(), 2) + extra
    return written(f"{value:,.{digits}f}")


def money_rate(value_per_m2: float, currency: str) -> str:
    """Return money per area, without what it is counted by.

    Examples
    --------
    >>> money_rate(0.1234, "EUR")
    'EUR 0.123'
    """
    value = rate_value(value_per_m2)
    return money(value, currency, extra=0 if abs(value) >= 10 else 1)
