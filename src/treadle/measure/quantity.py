"""A quantity kept as it was read: the text, its exact value, its unit, and how fine the tool was."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from treadle.measure.units import UNITS, convert

_FINEST_DIVISION = 64


@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """A measured or stated quantity; two are equal when they show the same number in the same unit.

    Parameters
    ----------
    value : Fraction
        Exact value, in `unit`.
    unit : str
        Name of a unit in `UNITS`.
    text : str
        As typed or printed; empty for a computed quantity.
    resolution : Fraction
        Smallest step of the tool as the text shows it, in `unit`; 0 for a computed quantity.
    shown : str
        The number as people read it, with its unit: "1 3/4 in", "16.60 in".
    """

    value: Fraction
    unit: str
    text: str = ""
    resolution: Fraction = Fraction(0)
    shown: str = ""

    def __post_init__(self) -> None:
        """Refuse a unit nobody knows, and fill `shown` for a computed quantity."""
        if self.unit not in UNITS:
            raise ValueError(f"unknown unit {self.unit!r}")
        if not self.shown:
            object.__setattr__(self, "shown", f"{show_number(self.value, self.unit)} {self.unit}")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Quantity) and self.shown == other.shown

    def __hash__(self) -> int:
        return hash(self.shown)

    def __str__(self) -> str:
        return self.shown

    def in_unit(self, unit: str) -> Fraction:
        """Return the exact value in another unit of the same dimension."""
        return convert(self.value, self.unit, unit)

    @property
    def dimension(self) -> str:
        """What is measured: length, pressure, mass, and so on."""
        return UNITS[self.unit].dimension

    @property
    def decimal(self) -> bool:
        """Whether it was read as a decimal, so that differences should be shown as one."""
        return "." in self.shown or not UNITS[self.unit].fractions


def show_number(value: Fraction, unit: str, *, decimal: bool = False) -> str:
    """Write an exact number as a tool in that unit shows it, without its unit.

    Inches that fall on a division of a rule, down to 1/64, are written as a mixed fraction unless `decimal`;
    anything else as a decimal where that is exact, else as a fraction.

    >>> show_number(Fraction(7, 4), "in"), show_number(Fraction(-1, 50), "in"), show_number(Fraction(63, 10), "mm")
    ('1 3/4', '-0.02', '6.3')
    >>> show_number(Fraction(1, 2), "in", decimal=True)
    '0.5'
    """
    sign, size = ("-" if value < 0 else ""), abs(value)
    on_a_division = size.denominator <= _FINEST_DIVISION and size.denominator.bit_count() == 1
    if UNITS[unit].fractions and on_a_division and not decimal:
        whole, rest = divmod(size.numerator, size.denominator)
        parts = [str(whole)] if whole or not rest else []
        return sign + " ".join([*parts, f"{rest}/{size.denominator}"] if rest else parts)
    exact = _exact_decimal(size)
    return sign + (exact if exact is not None else f"{size.numerator}/{size.denominator}")


def _exact_decimal(size: Fraction) -> str | None:
    """Write a non-negative fraction as a finite decimal, or return None when it has none."""
    denominator, digits = size.denominator, 0
    while denominator % 2 == 0 or denominator % 5 == 0:
        denominator //= 10 if denominator % 10 == 0 else 2 if denominator % 2 == 0 else 5
        digits += 1
    if denominator != 1:
        return None
    scaled = str(size.numerator * 10**digits // size.denominator).rjust(digits + 1, "0")
    return scaled if digits == 0 else f"{scaled[:-digits]}.{scaled[-digits:]}"
