"""The exception tree: each error carries its problems, and says them even where no sentence is at hand."""

import pytest

from treadle import errors
from treadle.errors import BadInput, DataFault, NoRuleInForce, OutOfRange, Problem, TreadleError

FAMILIES = [BadInput, OutOfRange, NoRuleInForce, DataFault]


@pytest.mark.parametrize("family", FAMILIES)
def test_one_problem_or_several_are_kept_in_order(family):
    first, second = Problem("no_unit", "here"), Problem("id_twice", "there", {"given": "a"})
    assert family(first).problems == (first,)
    assert family(one for one in (first, second)).problems == (first, second)


@pytest.mark.parametrize("family", FAMILIES)
def test_every_family_is_caught_at_the_root(family):
    with pytest.raises(TreadleError) as caught:
        raise family(Problem("no_unit", "readings[3].value", {"text": "1.5"}))
    assert str(caught.value) == "no_unit at readings[3].value: {'text': '1.5'}"


def test_the_tree_drawn_at_the_top_of_the_file_is_the_whole_tree():
    drawn = [line.split()[1] for line in errors.__doc__.splitlines() if line.startswith(("├──", "└──"))]
    assert drawn == [family.__name__ for family in TreadleError.__subclasses__()]
    assert drawn == [family.__name__ for family in FAMILIES]
