"""Commas, and sizes over a nominal of the other unit system."""

import pytest

from treadle.errors import BadInput
from treadle.measure import read_quantity


@pytest.mark.parametrize(("text", "guess"), [("0,625 in", "0.625 in"), (",625 in", "0.625 in")])
def test_a_comma_after_nothing_is_no_comma_of_thousands(text, guess):
    with pytest.raises(BadInput) as refused:
        read_quantity(text, "length", where="here")
    assert refused.value.problems[0].details["guess"] == guess


def test_a_size_over_a_nominal_of_the_other_system_is_shown_as_a_number_people_read():
    nominal = read_quantity("420 mm", "length", where="nominal")
    assert "/" not in read_quantity("+.060 in", "length", where="here", nominal=nominal).shown
