"""A number against a limit: the boundary is where people argue, so each comparator's own words are tested at it."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treadle.rules.compare import asks_for_less, excess, is_limit, is_past, strictness
from treadle.rules.model import COMPARATORS

STEP = Fraction(1, 64)
LIMITS = [name for name in COMPARATORS if is_limit(name)]

any_size = st.fractions(min_value=-100, max_value=100, max_denominator=640)
any_comparator = st.sampled_from(LIMITS)


@pytest.mark.parametrize(
    ("comparator", "below", "at", "above"),
    [
        ("breach_if_more_than", False, False, True),
        ("breach_if_more_than_or_equal", False, True, True),
        ("breach_if_less_than", True, False, False),
        ("breach_if_less_than_or_equal", True, True, False),
    ],
)
def test_a_comparator_does_at_its_limit_what_its_words_say(comparator, below, at, above):
    limit = Fraction(7, 4)
    found = [is_past(comparator, value, limit) for value in (limit - STEP, limit, limit + STEP)]
    assert found == [below, at, above]


def test_the_comparators_with_a_limit_are_these_four():
    words = ["one_of", "different", "seen"]
    assert [name.removeprefix("breach_if_") for name in COMPARATORS if not is_limit(name)] == words
    assert len(LIMITS) == 4


@pytest.mark.parametrize(
    ("comparator", "value", "limit", "past"),
    [
        ("breach_if_more_than", "2", "7/4", "1/4"),
        ("breach_if_more_than", "3/2", "7/4", "-1/4"),
        ("breach_if_more_than_or_equal", "7/4", "7/4", "0"),
        ("breach_if_less_than", "3/16", "1/4", "1/16"),
        ("breach_if_less_than_or_equal", "5/16", "1/4", "-1/16"),
    ],
)
def test_the_excess_is_positive_past_the_limit(comparator, value, limit, past):
    assert excess(comparator, Fraction(value), Fraction(limit)) == Fraction(past)


@pytest.mark.parametrize(("comparator", "less"), [(name, "more" in name) for name in LIMITS])
def test_a_rule_against_too_much_asks_for_less(comparator, less):
    assert asks_for_less(comparator) is less


@pytest.mark.parametrize(
    ("stricter", "limit", "laxer", "other"),
    [
        ("breach_if_more_than", "7/4", "breach_if_more_than", "2"),
        ("breach_if_less_than", "1/4", "breach_if_less_than", "3/16"),
        ("breach_if_more_than_or_equal", "2", "breach_if_more_than", "2"),
        ("breach_if_less_than_or_equal", "1/4", "breach_if_less_than", "1/4"),
        ("breach_if_more_than", "7/4", "breach_if_more_than_or_equal", "2"),
    ],
)
def test_the_stricter_of_two_limits_has_the_greater_key(stricter, limit, laxer, other):
    assert strictness(stricter, Fraction(limit)) > strictness(laxer, Fraction(other))


@given(any_comparator, any_size, any_size)
def test_a_breach_lies_past_its_limit_and_a_pass_does_not(comparator, value, limit):
    past = excess(comparator, value, limit)
    if is_past(comparator, value, limit):
        assert past >= 0
    else:
        assert past <= 0
    assert is_past(comparator, limit, limit) is comparator.endswith("or_equal")


@given(st.data(), st.sampled_from(["more", "less"]), any_size)
def test_what_breaches_the_laxer_of_two_limits_breaches_the_stricter(data, way, value):
    one_way = st.sampled_from([f"breach_if_{way}_than", f"breach_if_{way}_than_or_equal"])
    two = data.draw(st.lists(st.tuples(one_way, any_size), min_size=2, max_size=2))
    lax, strict = sorted(two, key=lambda pair: strictness(*pair))
    if is_past(lax[0], value, lax[1]):
        assert is_past(strict[0], value, strict[1])
