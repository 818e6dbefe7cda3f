"""Reading what hands write: fractions of an inch, decimals with point or comma, a unit; refusing what is unclear."""

from __future__ import annotations

import re
from fractions import Fraction

from treadle.errors import BadInput, Problem
from treadle.measure.quantity import Quantity, show_number
from treadle.measure.units import ALIASES, UNITS, convert

_VULGAR = dict(
    zip(
        "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞",
        ["1/2", "1/3", "2/3", "1/4", "3/4", "1/5", "2/5", "3/5", "4/5", "1/6", "5/6", "1/8", "3/8", "5/8", "7/8"],
        strict=True,
    )
)
_SAME_SIGN = str.maketrans({"⁄": "/", "″": '"', "”": '"', "“": '"', "−": "-", "‑": "-", "\u00a0": " "})  # noqa: RUF001 - the look-alikes hands and phones type
_NUMBER = re.compile(
    r"""(?:
        (?P<whole>\d{1,9})(?:\s*-\s*|\s+)(?P<over>\d{1,9})\s*/\s*(?P<under>\d{1,9})     # 1 3/4  1-3/4
      | (?P<only_over>\d{1,9})\s*/\s*(?P<only_under>\d{1,9})                        # 7/32
      | (?P<decimal>\d{1,12}(?:[.,]\d{1,12})?|[.,]\d{1,12})                                # 1.75  5,6  .25
    )\s*(?P<unit>[a-zA-Z°"'][^/,]*)?""",
    re.VERBOSE,
)
_DIVISIONS = frozenset({2, 4, 8, 16, 32, 64, 128})
_MOST_DIGITS_AFTER_A_COMMA = 2


def read_quantity(
    text: str,
    dimension: str,
    *,
    where: str,
    default_unit: str | None = None,
    nominal: Quantity | None = None,
) -> Quantity:
    r"""Read a quantity as typed.

    Parameters
    ----------
    text : str
        What was typed: ``1 3/4 in``, ``1-3/4"``, ``7/32``, ``5,6 mm``, ``¼"``, ``+.060 in``.
    dimension : str
        What is measured: length, pressure, mass, time, and so on.
    where : str
        The place, for the message: "readings[3].value", or a cell.
    default_unit : str, optional
        Unit of a bare number, where a screen's field supplies one; a file never does.
    nominal : Quantity, optional
        The size a ``+`` is over; without it a ``+`` is refused.  Of two unit systems the sum is in the metric one.

    Raises
    ------
    BadInput
        The text cannot be read, is ambiguous, is below nothing, or has no unit or one of another dimension.
        An ambiguous one is refused with the reading of it that would have been guessed.

    Examples
    --------
    >>> read_quantity("1-3/4\"", "length", where="stroke").shown
    '1 3/4 in'
    >>> read_quantity("5,6 mm", "length", where="lining").value
    Fraction(28, 5)
    """
    plain = text.translate(_SAME_SIGN)
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    plain = plain.strip()
    is_over_nominal = plain.startswith("+")
    match = _NUMBER.fullmatch(plain.removeprefix("+").strip())
    if match is None or (is_over_nominal and nominal is None):
        raise _refusal("unreadable_quantity", where, text, example=_example(dimension))
    unit = _unit(match["unit"], dimension, where=where, text=text, default_unit=default_unit)
    value, resolution, number = _number(match, unit, where=where, text=text)
    if is_over_nominal and nominal is not None:
        total = unit if unit == nominal.unit or UNITS[unit].metric else nominal.unit
        value, unit = nominal.in_unit(total) + convert(value, unit, total), total
        number = show_number(value, unit, decimal=True)
    return Quantity(value, unit, text, resolution, f"{number} {unit}")


def _unit(written: str | None, dimension: str, *, where: str, text: str, default_unit: str | None) -> str:
    if written is None:
        if default_unit is None:
            raise _refusal("no_unit", where, text, allowed=", ".join(units_of(dimension)), unit=units_of(dimension)[0])
        return default_unit
    unit = ALIASES.get(written.strip().lower())
    if unit is None or UNITS[unit].dimension != dimension:
        raise _refusal("wrong_unit", where, text, unit=written, allowed=", ".join(units_of(dimension)))
    return unit


def _number(match: re.Match[str], unit: str, *, where: str, text: str) -> tuple[Fraction, Fraction, str]:
    """Return exact value, resolution and the number as shown."""
    if match["decimal"] is not None:
        return _decimal(match["decimal"], unit, where=where, text=text)
    over, under = (int(match["over"] or match["only_over"]), int(match["under"] or match["only_under"]))
    whole = int(match["whole"] or 0)
    if under not in _DIVISIONS:
        raise _refusal("odd_division", where, text, divisions=", ".join(map(str, sorted(_DIVISIONS))))
    if over >= under:
        guess = f"{show_number(whole + Fraction(over, under), 'in')} {unit}"
        raise _refusal("ambiguous_quantity", where, text, guess=guess)
    number = f"{whole} {over}/{under}" if match["whole"] else f"{over}/{under}"
    return whole + Fraction(over, under), Fraction(1, under), number


def _decimal(digits: str, unit: str, *, where: str, text: str) -> tuple[Fraction, Fraction, str]:
    whole, comma, after = digits.partition(",")
    if comma and len(after) > _MOST_DIGITS_AFTER_A_COMMA:
        guess = f"0.{after}" if whole in ("", "0") else f"{whole}{after}"
        raise _refusal("ambiguous_quantity", where, text, guess=f"{guess} {unit}")
    number = digits.replace(",", ".")
    number = f"0{number}" if number.startswith(".") else number
    return Fraction(number), Fraction(1, 10 ** len(number.partition(".")[2])), number


def units_of(dimension: str) -> list[str]:
    """Return the names of the units that measure a dimension, in the order people meet them."""
    return [unit.name for unit in UNITS.values() if unit.dimension == dimension]


def _example(dimension: str) -> str:
    return {"length": "1 3/4 in", "pressure": "90 psi", "mass": "23000 lb", "time": "60 s"}.get(
        dimension, f"12 {units_of(dimension)[0]}"
    )


def _refusal(slug: str, where: str, text: str, **details: str) -> BadInput:
    return BadInput(Problem(slug, where, {"text": text, **details}))


_THOUSANDS_APART = re.compile(r"\s*(\d{1,3}(?:[ ,\u00a0\u202f]\d{3})+)(?=\D|$)")


def read_distance(text: str, *, where: str, default_unit: str | None = None) -> Quantity:
    """Read a distance as a meter shows it and people write it, with its thousands apart or not.

    Parameters
    ----------
    text : str
        As typed. [length]
    where : str
        The place, for messages.
    default_unit : str, optional
        The unit that the field supplies.

    Raises
    ------
    BadInput
        As `read_quantity`; a comma before any other number of figures is as ambiguous here as there.

    Examples
    --------
    >>> [str(read_distance(text, where="meter", default_unit="mi")) for text in ("412,470", "412 470.5 mi", "98")]
    ['412470 mi', '412470.5 mi', '98 mi']
    """
    apart = _THOUSANDS_APART.match(text)
    if apart is not None:
        text = re.sub(r"[ ,\u00a0\u202f]", "", apart[1]) + text[apart.end() :]
    return read_quantity(text, "length", where=where, default_unit=default_unit)
