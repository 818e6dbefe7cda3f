"""The units a shop reads off its tools, each with its exact factor; conversion happens here and nowhere else."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of measurement: a value in it times `factor`, plus `offset`, is the value in the SI unit."""

    name: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)
    fractions: bool = False
    """Whether tools in this unit are divided into halves, quarters, eighths, and so on."""

    @property
    def metric(self) -> bool:
        """Whether it belongs to the metric system, and not to United States customary units."""
        return self.name not in _CUSTOMARY


_CUSTOMARY = frozenset({"in", "ft", "mi", "psi", "lb", "lbf", "lbf·ft", "°F", "in3"})
_INCH = Fraction(254, 10_000)
_POUND = Fraction(45_359_237, 100_000_000)
_STANDARD_GRAVITY = Fraction(980_665, 100_000)
_MILE = _INCH * 12 * 5280

UNITS: dict[str, Unit] = {
    unit.name: unit
    for unit in (
        # International yard and pound agreement, 1 July 1959: 1 in = 25.4 mm and 1 lb = 0.45359237 kg, both exact.
        Unit("in", "length", _INCH, fractions=True),
        Unit("ft", "length", _INCH * 12),
        Unit("mm", "length", Fraction(1, 1000)),
        Unit("cm", "length", Fraction(1, 100)),
        Unit("m", "length", Fraction(1)),
        Unit("mi", "length", _MILE),
        Unit("km", "length", Fraction(1000)),
        # Standard gravity 9.80665 m/s2 exact: 3rd General Conference on Weights and Measures, 1901.
        Unit("psi", "pressure", _POUND * _STANDARD_GRAVITY / _INCH**2),
        Unit("kPa", "pressure", Fraction(1000)),
        Unit("bar", "pressure", Fraction(100_000)),
        Unit("lb", "mass", _POUND),
        Unit("kg", "mass", Fraction(1)),
        Unit("lbf", "force", _POUND * _STANDARD_GRAVITY),
        Unit("N", "force", Fraction(1)),
        Unit("kN", "force", Fraction(1000)),
        Unit("lbf·ft", "torque", _POUND * _STANDARD_GRAVITY * _INCH * 12),
        Unit("N·m", "torque", Fraction(1)),
        Unit("s", "time", Fraction(1)),
        Unit("°F", "temperature", Fraction(5, 9), Fraction(45_967, 180)),
        Unit("°C", "temperature", Fraction(1), Fraction(27_315, 100)),
        Unit("deg", "angle", Fraction(1)),
        Unit("in3", "volume", _INCH**3),
        Unit("L", "volume", Fraction(1, 1000)),
    )
}

ALIASES: dict[str, str] = {
    alias: name
    for name, aliases in {
        "in": 'in in. inch inches "',
        "ft": "ft ft. foot feet",
        "mm": "mm millimetre millimetres millimeter millimeters",
        "cm": "cm",
        "m": "m",
        "mi": "mi mi. mile miles",
        "km": "km",
        "psi": "psi psig",
        "kPa": "kpa",
        "bar": "bar",
        "lb": "lb lb. lbs lbs. pound pounds",
        "kg": "kg",
        "lbf": "lbf",
        "N": "n",
        "kN": "kn",
        "lbf·ft": "lbf·ft lbf-ft lb-ft ft-lb ftlb ft-lbf",
        "N·m": "n·m n-m nm",
        "s": "s sec secs second seconds",
        "°F": "°f f degf",
        "°C": "°c c degc",
        "deg": "deg degree degrees °",
        "in3": "in3 in^3 in³",
        "L": "l litre litres liter liters",
    }.items()
    for alias in aliases.split()
}
"""Every spelling the parser takes, in lower case, to the unit's own name."""


def convert(value: Fraction, unit: str, target: str) -> Fraction:
    """Return `value` of `unit` in `target`, exactly.  Both must measure the same thing.

    >>> convert(Fraction(1, 4), "in", "mm")
    Fraction(127, 20)
    """
    if unit == target:
        return value
    source, goal = UNITS[unit], UNITS[target]
    if source.dimension != goal.dimension:
        raise ValueError(f"{unit} is a {source.dimension}, {target} a {goal.dimension}")
    return (value * source.factor + source.offset - goal.offset) / goal.factor
