"""Which value is in force on a day, and which printed figure a reading must meet."""

from datetime import date
from fractions import Fraction

import pytest

from treadle.measure import UNITS, read_quantity
from treadle.rules.model import EVERYWHERE, LAYERS, Figure, Row, Rule, RuleSet, Value
from treadle.sources import cite


def size(text, dimension="length"):
    return read_quantity(text, dimension, where="here")


def value(effective_from, ends=None, locator="393.47(e)", also=()):
    row = Row({}, Figure(size("2 in")), "found", "2")
    return Value(effective_from, ends, cite("cfr-49-393", locator), also, "found", (row,))


def rule(*values, rule_id="us.federal.stroke"):
    return Rule(rule_id, {"en": "", "es": ""}, "applied_stroke", "breach_if_more_than", "operate", "fix", values)


ONE = rule(value(date(2012, 9, 5)))
CLOSED = rule(value(date(2012, 9, 5), ends=date(2021, 10, 14)))
FOLLOWED = rule(value(date(2012, 9, 5)), value(date(2021, 4, 1)))
WITH_A_GAP = rule(value(date(2012, 9, 5), ends=date(2013, 1, 1)), value(date(2021, 4, 1)))


@pytest.mark.parametrize(
    ("asked", "day", "position"),
    [
        # the first day
        (ONE, date(2012, 9, 4), None),
        (ONE, date(2012, 9, 5), 0),
        (ONE, date(2012, 9, 6), 0),
        (ONE, date(2999, 1, 1), 0),
        # the day it ends is the first on which it is not in force
        (CLOSED, date(2021, 10, 13), 0),
        (CLOSED, date(2021, 10, 14), None),
        (CLOSED, date(2021, 10, 15), None),
        # the next value closes the one before it
        (FOLLOWED, date(2021, 3, 31), 0),
        (FOLLOWED, date(2021, 4, 1), 1),
        (FOLLOWED, date(2021, 4, 2), 1),
        # between two values with a gap nothing is in force
        (WITH_A_GAP, date(2012, 12, 31), 0),
        (WITH_A_GAP, date(2013, 1, 1), None),
        (WITH_A_GAP, date(2021, 3, 31), None),
        (WITH_A_GAP, date(2021, 4, 1), 1),
    ],
)
def test_the_value_in_force_is_that_of_the_day(asked, day, position):
    assert asked.in_force(day) is (None if position is None else asked.values[position])


@pytest.mark.parametrize("unit", [name for name, unit in UNITS.items() if unit.dimension == "length"])
def test_a_reading_must_meet_the_figure_printed_in_its_own_system(unit):
    both = Figure(size("1/4 in"), size("6.4 mm"))
    assert str(both.beside(unit)) == ("6.4 mm" if UNITS[unit].metric else "1/4 in")


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_where_the_law_prints_one_system_that_figure_stands_for_both(unit):
    assert str(Figure(customary=size("1/4 in")).beside(unit)) == "1/4 in"
    assert str(Figure(metric=size("8 mm")).beside(unit)) == "8 mm"


def test_a_citation_names_every_provision_a_value_stands_on():
    one = value(date(2012, 9, 5), also=(cite("cfr-49-396", "396.3(a)(1)"),))
    assert one.cited == "49 CFR 393.47(e); 49 CFR 396.3(a)(1)"


def test_a_jurisdiction_is_the_first_step_of_a_rules_id():
    assert rule(rule_id="ca-qc.r32.stroke").jurisdiction == "ca-qc"


def test_a_rule_set_holds_the_places_it_has_rules_of_and_not_the_trade():
    ids = ("us.federal.stroke", "us.roadside.share", "ca-qc.r32.stroke", f"{EVERYWHERE}.free_stroke")
    held = RuleSet({one: rule(rule_id=one) for one in ids}, {}, "edition")
    assert held.jurisdictions == {"us", "ca-qc"}


def test_a_figure_is_exact():
    assert Figure(size("3/16 in"), size("4.8 mm")).beside("mm").in_unit("in") == Fraction(24, 127)


def test_operating_law_speaks_before_every_other_layer():
    assert LAYERS[0] == "operate"
    assert len(LAYERS) == len(set(LAYERS))
