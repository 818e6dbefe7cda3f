"""The order of tightening wheel nuts, against its published table and its properties."""

from itertools import pairwise
from math import cos, isclose, pi, sin

import pytest

from treadle.errors import BadInput
from treadle.procedures import STUD_COUNTS, Facts, star_order

SHEET = "Sheet on shop work, 1.4, derived there: the cross sequence as a table"
TABLE = {
    5: (1, 3, 5, 2, 4),
    6: (1, 4, 2, 5, 3, 6),
    8: (1, 5, 3, 7, 2, 6, 4, 8),
    10: (1, 6, 3, 8, 5, 10, 2, 7, 4, 9),
}


@pytest.mark.parametrize(("studs", "order"), TABLE.items())
def test_the_order_is_that_of_the_table(studs, order):
    assert star_order(studs) == order, SHEET


@pytest.mark.parametrize("studs", STUD_COUNTS)
def test_every_stud_is_tightened_once_and_no_two_neighbours_in_turn(studs):
    order = star_order(studs)
    assert sorted(order) == list(range(1, studs + 1)), SHEET
    assert all((after - before) % studs not in (1, studs - 1) for before, after in pairwise(order)), SHEET


@pytest.mark.parametrize("studs", [studs for studs in STUD_COUNTS if studs % 2 == 0])
def test_of_an_even_number_each_pair_lies_across_and_pulls_evenly(studs):
    order = star_order(studs)
    for one, other in zip(order[::2], order[1::2], strict=True):
        assert (other - one) % studs == studs // 2, SHEET
        angles = [2 * pi * stud / studs for stud in (one, other)]
        assert isclose(sum(map(sin, angles)), 0, abs_tol=1e-9), SHEET
        assert isclose(sum(map(cos, angles)), 0, abs_tol=1e-9), SHEET


@pytest.mark.parametrize("studs", [0, 1, 4, 7, 12, -6])
def test_a_count_without_an_order_is_refused(studs):
    with pytest.raises(BadInput, match="word_not_allowed at studs"):
        star_order(studs)
    with pytest.raises(BadInput, match="word_not_allowed at studs"):
        Facts(studs=studs)
