"""Comparing one exact number with one limit, as the rule's own words have it; the figure itself is decided here."""

from __future__ import annotations

import operator
from collections.abc import Callable
from fractions import Fraction

_PAST: dict[str, Callable[[Fraction, Fraction], bool]] = {
    "breach_if_more_than": operator.gt,
    "breach_if_more_than_or_equal": operator.ge,
    "breach_if_less_than": operator.lt,
    "breach_if_less_than_or_equal": operator.le,
}


def is_limit(comparator: str) -> bool:
    """Whether a comparator sets a number against a limit, and not a word against a list."""
    return comparator in _PAST


def is_past(comparator: str, value: Fraction, limit: Fraction) -> bool:
    """Whether `value` breaches `limit`.

    >>> is_past("breach_if_more_than", Fraction(2), Fraction(2))
    False
    >>> is_past("breach_if_less_than_or_equal", Fraction(1, 16), Fraction(1, 16))
    True
    """
    return _PAST[comparator](value, limit)


def asks_for_less(comparator: str) -> bool:
    """Whether the rule wants the value small: a stroke, a drum, a leak."""
    return comparator.startswith("breach_if_more")


def excess(comparator: str, value: Fraction, limit: Fraction) -> Fraction:
    """Return how far `value` lies past `limit`; negative within it.

    >>> excess("breach_if_less_than", Fraction(3, 16), Fraction(1, 4))
    Fraction(1, 16)
    """
    return value - limit if asks_for_less(comparator) else limit - value


def strictness(comparator: str, limit: Fraction) -> tuple[Fraction, bool]:
    """Return a key that is greater the stricter the limit; at one figure "or equal" is the stricter."""
    return (-limit if asks_for_less(comparator) else limit, comparator.endswith("or_equal"))
