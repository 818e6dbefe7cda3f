"""A quantity kept as read: equal when it shows alike, shown as tools show it."""

from dataclasses import FrozenInstanceError
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treadle.measure import UNITS, Quantity, read_quantity, show_number


@pytest.mark.parametrize(
    ("value", "unit", "decimal", "shown"),
    [
        # inches, on a division of a rule: a mixed fraction
        ("0", "in", False, "0"),
        ("2", "in", False, "2"),
        ("1/64", "in", False, "1/64"),
        ("7/4", "in", False, "1 3/4"),
        ("-9/8", "in", False, "-1 1/8"),
        ("7/4", "in", True, "1.75"),
        ("2", "in", True, "2"),
        # inches, between the divisions: a decimal
        ("1/128", "in", False, "0.0078125"),
        ("1/50", "in", False, "0.02"),
        ("414/25", "in", False, "16.56"),
        # units whose tools have no fractions
        ("63/10", "mm", False, "6.3"),
        ("-1/4", "mm", False, "-0.25"),
        ("90", "psi", False, "90"),
        ("1/8", "ft", False, "0.125"),
        # no finite decimal: the exact fraction, never a rounded one
        ("1/3", "mm", False, "1/3"),
        ("10/3", "in", True, "10/3"),
    ],
)
def test_a_number_is_shown_as_a_tool_in_its_unit_shows_it(value, unit, decimal, shown):
    assert shown == show_number(Fraction(value), unit, decimal=decimal)


@given(st.fractions(max_denominator=10**5), st.sampled_from(sorted(UNITS)), st.booleans())
def test_a_number_shown_is_never_rounded(value, unit, decimal):
    shown = show_number(value, unit, decimal=decimal)
    sign, parts = (-1, shown.removeprefix("-")) if shown.startswith("-") else (1, shown)
    assert value == sign * sum(Fraction(part) for part in parts.split())


def test_a_unit_nobody_knows_is_refused():
    with pytest.raises(ValueError, match="unknown unit 'furlong'"):
        Quantity(Fraction(1), "furlong")


def test_a_computed_quantity_shows_itself_and_has_no_text_and_no_step():
    made = Quantity(Fraction(9, 4), "in")
    assert (made.shown, str(made), made.text, made.resolution) == ("2 1/4 in", "2 1/4 in", "", 0)


def test_two_quantities_are_equal_when_they_show_the_same_number_in_the_same_unit():
    typed = read_quantity("1-3/4 inch", "length", where="here")
    assert typed == Quantity(Fraction(7, 4), "in")
    assert len({typed, Quantity(Fraction(7, 4), "in")}) == 1


@pytest.mark.parametrize("other", ["1.75 in", "44.45 mm", "1 7/8 in"])
def test_quantities_that_show_otherwise_are_not_equal(other):
    assert read_quantity("1 3/4 in", "length", where="here") != read_quantity(other, "length", where="here")


def test_a_quantity_is_never_equal_to_its_text():
    assert Quantity(Fraction(1), "in") != "1 in"


def test_a_quantity_cannot_be_changed():
    with pytest.raises(FrozenInstanceError):
        Quantity(Fraction(1), "in").value = Fraction(2)


def test_a_quantity_in_another_unit_is_exact():
    assert Fraction("6.35") == read_quantity("1/4 in", "length", where="here").in_unit("mm")


@pytest.mark.parametrize(
    ("text", "decimal"), [("1 3/4 in", False), ("1.75 in", True), ("2 in", False), ("44 mm", True), ("5 1/2 mm", True)]
)
def test_differences_from_a_decimal_reading_are_shown_as_decimals(text, decimal):
    assert decimal is read_quantity(text, "length", where="here").decimal


def test_a_quantity_knows_what_it_measures():
    assert [Quantity(Fraction(1), unit).dimension for unit in ("in", "psi")] == ["length", "pressure"]
