"""Reading what hands write: the table of cases, what is refused, and round trips."""

import tomllib
from decimal import Decimal
from fractions import Fraction
from importlib.resources import files

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from treadle.errors import BadInput
from treadle.measure import ALIASES, UNITS, read_quantity, show_number, units_of
from treadle.words import LANGUAGES, explain

CASES = tomllib.loads(files("treadle.measure").joinpath("cases.toml").read_text(encoding="utf-8"))
PINT = pint.UnitRegistry(non_int_type=Fraction, cache_folder=None)
PINT_NAMES = {"deg": "degree", "in3": "inch ** 3", "L": "liter", "°F": "degF", "°C": "degC"}
DIVISIONS = (2, 4, 8, 16, 32, 64, 128)

names_of_units = st.sampled_from(sorted(UNITS))
decimals = st.builds(
    lambda number, places: f"{Decimal(number).scaleb(-places):f}", st.integers(0, 10**7), st.integers(0, 4)
)
mixed_fractions = st.integers(0, 40).flatmap(
    lambda whole: st.sampled_from(DIVISIONS).flatmap(
        lambda under: st.integers(1, under - 1).map(lambda over: (whole, over, under))
    )
)


def of_case(case):
    nominal = read_quantity(case["nominal"], "length", where="nominal") if "nominal" in case else None
    return read_quantity(case["text"], case["dimension"], where="here", default_unit=case.get("field"), nominal=nominal)


@pytest.mark.parametrize("case", CASES["reads"], ids=lambda case: case["text"])
def test_what_hands_write_is_read_as_the_table_of_cases_says(case):
    read = of_case(case)
    wanted = (Fraction(case["value"]), case["unit"], Fraction(case["step"]), case["shown"])
    assert wanted == (read.value, read.unit, read.resolution, read.shown)


@pytest.mark.parametrize("case", CASES["reads"], ids=lambda case: case["text"])
def test_the_text_as_typed_is_kept_unchanged(case):
    assert case["text"] == of_case(case).text


@pytest.mark.parametrize("case", CASES["refuses"], ids=lambda case: case["text"] or "nothing")
def test_what_is_unclear_is_refused_as_the_table_of_cases_says(case):
    with pytest.raises(BadInput) as refused:
        of_case(case)
    (problem,) = refused.value.problems
    assert (case["why"], "here", case["text"]) == (problem.slug, problem.where, problem.details["text"])
    assert case.get("guess") == problem.details.get("guess")
    for language in LANGUAGES:
        said = explain(refused.value, language)
        assert said.startswith("here: ")
        assert case.get("guess", case["text"]) in said


def test_every_way_to_refuse_a_quantity_has_a_case():
    ways = {"unreadable_quantity", "no_unit", "wrong_unit", "odd_division", "ambiguous_quantity"}
    assert ways == {case["why"] for case in CASES["refuses"]}


@pytest.mark.parametrize("text", ["0 in", "1 3/4 in", "5,6 mm", "+.060 in"])
def test_a_field_that_supplies_a_unit_does_not_overrule_the_one_written(text):
    nominal = read_quantity("16.5 in", "length", where="nominal")
    with_field = read_quantity(text, "length", where="here", default_unit="cm", nominal=nominal)
    assert with_field.unit == ("mm" if "mm" in text else "in")


@pytest.mark.parametrize(("text", "guess"), [("4/4 in", "1 in"), ("1 2/2 in", "2 in"), ("9/8 in", "1 1/8 in")])
def test_a_fraction_of_a_whole_or_more_is_refused_with_the_size_it_would_be(text, guess):
    with pytest.raises(BadInput) as refused:
        read_quantity(text, "length", where="here")
    (problem,) = refused.value.problems
    assert (problem.slug, problem.details["guess"]) == ("ambiguous_quantity", guess)


def test_a_unit_of_another_dimension_is_refused_with_those_that_fit():
    with pytest.raises(BadInput) as refused:
        read_quantity("3 kg", "pressure", where="taken.reservoir")
    (problem,) = refused.value.problems
    assert (
        problem.slug,
        problem.details["unit"],
        problem.details["allowed"],
    ) == ("wrong_unit", "kg", "psi, kPa, bar")
    assert units_of("pressure") == ["psi", "kPa", "bar"]


def test_a_size_over_nominal_in_the_other_system_is_added_exactly():
    nominal = read_quantity("16.5 in", "length", where="nominal")
    read = read_quantity("+0.5 mm", "length", where="here", nominal=nominal)
    assert Fraction(165, 10) * Fraction(254, 10) + Fraction(1, 2) == read.value
    assert (read.unit, read.shown) == ("mm", "419.6 mm")


@pytest.mark.parametrize(("alias", "unit"), sorted(ALIASES.items()))
def test_every_spelling_of_a_unit_is_read_in_any_case(alias, unit):
    for written in (alias, alias.upper(), alias.title()):
        assert read_quantity(f"12 {written}", UNITS[unit].dimension, where="here").shown == f"12 {unit}"


@given(mixed_fractions, st.sampled_from(["{} {}/{} in", "{}-{}/{}in", "{} - {} / {} inches"]))
def test_a_mixed_fraction_is_its_whole_and_its_part(parts, form):
    whole, over, under = parts
    read = read_quantity(form.format(whole, over, under), "length", where="here")
    assert whole + Fraction(over, under) == read.value
    assert Fraction(1, under) == read.resolution


@given(decimals, names_of_units)
def test_a_decimal_is_read_exactly_and_keeps_its_text_and_its_digits(number, unit):
    text = f"{number} {unit}"
    read = read_quantity(text, UNITS[unit].dimension, where="here")
    assert (Fraction(number), unit, text, text) == (read.value, read.unit, read.text, read.shown)
    assert Fraction(1, 10 ** len(number.partition(".")[2])) == read.resolution


@given(mixed_fractions, st.booleans())
def test_what_is_shown_reads_back_as_the_same_quantity(parts, decimal):
    value = parts[0] + Fraction(parts[1], parts[2])
    shown = f"{show_number(value, 'in', decimal=decimal)} in"
    assert value == read_quantity(shown, "length", where="here").value


@given(decimals, names_of_units, names_of_units)
def test_pint_reads_and_converts_plain_input_to_the_same_number(number, unit, target):
    read = read_quantity(f"{number} {unit}", UNITS[unit].dimension, where="here")
    if UNITS[unit].dimension != UNITS[target].dimension:
        target = unit
    theirs = PINT.Quantity(Fraction(number), PINT_NAMES.get(unit, unit)).to(PINT_NAMES.get(target, target))
    assert float(theirs.magnitude) == pytest.approx(float(read.in_unit(target)), rel=1e-12, abs=1e-9)
