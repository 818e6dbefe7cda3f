"""Exact factors, each against its published definition; conversion between units of one dimension and no others.

The texts were not open when this was written: titles and places in them are from memory, the figures are exact.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treadle.measure import ALIASES, UNITS, convert

YARD_AND_POUND = "International yard and pound agreement, in force 1 July 1959 (Federal Register, 24 FR 5348)"
GRAVITY = "Standard gravity 9.80665 m/s2: 3rd General Conference on Weights and Measures, 1901"
SI = "SI Brochure, 9th edition, 2019: section 2.3.4 and table 8, and its prefixes in table 7"
CELSIUS = "SI Brochure, 9th edition, 2019, section 2.3.1: t/°C = T/K - 273.15"
BAR = "SI Brochure, 8th edition, 2006, table 8: 1 bar = 100 kPa"
FAHRENHEIT = "NIST Special Publication 811, 2008, appendix B.8: T/K = (t/°F + 459.67)/1.8"
LITRE = "12th General Conference on Weights and Measures, 1964, resolution 6: 1 L = 1 dm3"

PUBLISHED = [
    # what, in, is exactly, in, by
    ("1", "in", "25.4", "mm", YARD_AND_POUND),
    ("1", "in", "2.54", "cm", YARD_AND_POUND),
    ("1", "ft", "12", "in", YARD_AND_POUND),
    ("1", "ft", "0.3048", "m", YARD_AND_POUND),
    ("1", "mi", "5280", "ft", YARD_AND_POUND),
    ("1", "mi", "1.609344", "km", YARD_AND_POUND),
    ("1", "lb", "0.45359237", "kg", YARD_AND_POUND),
    ("1", "lbf", "4.4482216152605", "N", GRAVITY),
    ("1", "lbf·ft", "1.3558179483314004", "N·m", GRAVITY),
    ("64516", "psi", "444822.16152605", "kPa", GRAVITY),  # 1 in2 is 645.16 mm2 exactly, and the quotient has no end
    ("1", "bar", "100", "kPa", BAR),
    ("1", "kN", "1000", "N", SI),
    ("1", "m", "1000", "mm", SI),
    ("1", "km", "1000", "m", SI),
    ("1", "in3", "0.016387064", "L", YARD_AND_POUND),
    ("32", "°F", "0", "°C", FAHRENHEIT),
    ("212", "°F", "100", "°C", FAHRENHEIT),
    ("-40", "°F", "-40", "°C", FAHRENHEIT),
]


@pytest.mark.parametrize(("number", "unit", "exact", "target", "source"), PUBLISHED)
def test_a_factor_is_exactly_its_published_definition(number, unit, exact, target, source):
    assert Fraction(exact) == convert(Fraction(number), unit, target), source


def test_a_litre_is_a_cubic_decimetre():
    assert Fraction("0.1") ** 3 == UNITS["L"].factor, LITRE


def test_zero_celsius_is_its_published_distance_from_absolute_zero():
    assert Fraction("273.15") == UNITS["°C"].offset, CELSIUS
    assert Fraction("459.67") / Fraction("1.8") == UNITS["°F"].offset, FAHRENHEIT


def test_every_unit_but_the_bases_of_its_dimension_stands_in_the_table_of_definitions():
    bases = {"s", "deg"}
    assert set(UNITS) == {name for row in PUBLISHED for name in row[1:4:2]} | bases


def test_a_factor_is_a_fraction_and_never_a_float():
    assert {Fraction} == {type(number) for unit in UNITS.values() for number in (unit.factor, unit.offset)}


def test_each_unit_belongs_to_one_system():
    customary = {"in", "ft", "mi", "psi", "lb", "lbf", "lbf·ft", "°F", "in3"}
    assert customary == {name for name, unit in UNITS.items() if not unit.metric}


@pytest.mark.parametrize("name", UNITS)
def test_a_unit_is_read_by_its_own_name(name):
    assert name == ALIASES[name.lower()]


def test_no_spelling_is_out_of_the_parsers_reach():
    assert [alias for alias in ALIASES if alias != alias.lower()] == []
    assert set(UNITS) == set(ALIASES.values())


def test_units_of_different_dimensions_are_never_converted():
    with pytest.raises(ValueError, match="in is a length, psi a pressure"):
        convert(Fraction(1), "in", "psi")


fractions = st.fractions(max_denominator=10**6)
names = st.sampled_from(sorted(UNITS))


@given(fractions, names, names)
def test_there_and_back_again_is_the_same_number(value, unit, target):
    if UNITS[unit].dimension != UNITS[target].dimension:
        target = unit
    assert value == convert(convert(value, unit, target), target, unit)
