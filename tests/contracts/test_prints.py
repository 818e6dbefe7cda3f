"""The print of a figure and the numbers taken from it agree, in value, unit, system and dimension."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from treadle.fleet.read import DIMENSIONS
from treadle.measure import UNITS, Quantity
from treadle.rules.compare import is_limit
from treadle.rules.load import shipped
from treadle.rules.model import Figure, Row, Rule

RULES = shipped()
_NUMBER = re.compile(r"(?:(?P<whole>\d+)[ -])?(?P<over>\d+)/(?P<under>[1-9]\d*)|(?P<decimal>\d+(?:\.\d+)?)")
_UNIT = re.compile(r"[ -]?([A-Za-z]+|%)")
_UNITS_IN_PRINT = {
    "mm": "mm",
    "in": "in",
    "inch": "in",
    "inches": "in",
    "psi": "psi",
    "kPa": "kPa",
    "s": "s",
    "second": "s",
    "seconds": "s",
    "minute": "min",
    "minutes": "min",
    "degrees": "deg",
    "percent": "%",
}


def numbers_printed(text: str) -> list[tuple[Fraction, str | None]]:
    """Every number of a printed text with the unit behind it, None where none stands there; minutes as seconds."""
    found = []
    for match in _NUMBER.finditer(text):
        if match["decimal"]:
            number = Fraction(match["decimal"])
        else:
            number = int(match["whole"] or 0) + Fraction(int(match["over"]), int(match["under"]))
        behind = _UNIT.match(text, match.end())
        unit = None if behind is None else _UNITS_IN_PRINT.get(behind[1], "%" if behind[1] == "%" else None)
        found.append((number * 60, "s") if unit == "min" else (number, unit))
    return found


def stands_in_print(number: Fraction, unit: str, text: str) -> bool:
    return any(printed == number and beside in (None, unit) for printed, beside in numbers_printed(text))


def figures_of(rule: Any, row: Row) -> list[tuple[Fraction, str]]:
    """Every number that a row of a rule compares with."""
    figures = [one for one in (row.figure, rule.either.figure if rule.either else None) if one is not None]
    sizes = [size for figure in figures for size in (figure.customary, figure.metric) if size is not None]
    sizes += [rule.plus] if rule.plus is not None else []
    share = [(rule.percent * 100, "%")] if rule.percent is not None else []
    return [(size.value, size.unit) for size in sizes] + share


def figures_not_printed(rules: Any) -> list[str]:
    return [
        f"{rule.id}: {number} {unit} does not stand in '{row.as_printed}'. Correct whichever was copied wrongly."
        for rule in rules
        for value in rule.values
        for row in value.rows
        for number, unit in figures_of(rule, row)
        if not stands_in_print(number, unit, row.as_printed)
    ]


def test_the_print_of_every_figure_parses_to_its_numbers():
    assert figures_not_printed(RULES.rules.values()) == []


def test_figures_are_checked_at_all():
    checked = [
        one
        for rule in RULES.rules.values()
        for value in rule.values
        for row in value.rows
        for one in figures_of(rule, row)
    ]
    assert len(checked) > 150


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("1 3/4 (44.5)", [(Fraction(7, 4), None), (Fraction("44.5"), None)]),
        ("less than 4.8 mm (3/16 inch)", [(Fraction("4.8"), "mm"), (Fraction(3, 16), "in")]),
        ("8 mm, or 1 mm above the rivets", [(8, "mm"), (1, "mm")]),
        ("20 to 45 psi", [(20, None), (45, "psi")]),
        ("less than 3 minutes", [(180, "s")]),
        ("20 % or more", [(20, "%")]),
        ("80 percent of the rated stroke", [(80, "%")]),
        ("no figure", []),
    ],
)
def test_numbers_are_read_out_of_a_print(text, numbers):
    assert numbers_printed(text) == numbers


@pytest.mark.parametrize(
    ("number", "unit", "text", "stands"),
    [
        ("7/4", "in", "1 3/4 (44.5)", True),
        ("44.5", "mm", "1 3/4 (44.5)", True),
        ("3/4", "in", "1 3/4 (44.5)", False),
        ("4.8", "in", "4.8 mm (3/16 inch)", False),
        ("180", "s", "less than 3 minutes", True),
        ("3", "s", "less than 3 minutes", False),
    ],
)
def test_a_figure_stands_in_a_print_with_its_own_unit_or_none(number, unit, text, stands):
    assert stands_in_print(Fraction(number), unit, text) is stands


def with_row(row: Row) -> Rule:
    """A rule of one value and one row."""
    rule = RULES.rules["us.federal.lining.steering.air_disc"]
    return replace(rule, values=(replace(rule.values[0], rows=(row,)),))


def test_a_figure_that_is_not_in_its_print_is_found():
    row = RULES.rules["us.federal.lining.steering.air_disc"].values[0].rows[0]
    assert figures_not_printed([with_row(row)]) == []
    (found,) = figures_not_printed([with_row(replace(row, as_printed="less than 3.2 mm (3/16 inch)"))])
    assert found.startswith("us.federal.lining.steering.air_disc: 1/8 in does not stand in")


def figures_of_the_wrong_system(rules: Any) -> list[str]:
    return [
        f"{rule.id}: {size} stands as {name}. Give a figure under the system of its unit."
        for rule in rules
        for value in rule.values
        for row in value.rows
        if row.figure is not None
        for name, size, metric in (("customary", row.figure.customary, False), ("metric", row.figure.metric, True))
        if size is not None and size.unit not in _OF_BOTH and UNITS[size.unit].metric is not metric
    ]


_OF_BOTH = {"s", "deg"}


def test_every_figure_stands_under_the_system_of_its_unit():
    assert figures_of_the_wrong_system(RULES.rules.values()) == []


def test_a_figure_under_the_other_system_is_found():
    figure = Figure(customary=Quantity(Fraction(5), "mm"))
    assert len(figures_of_the_wrong_system([with_row(Row({}, figure, "found", "5 mm"))])) == 1


def limits_without_a_figure(rules: Any) -> list[str]:
    return [
        f"{rule.id}: a limit, and no figure in '{row.as_printed}'. Give metric, customary, figure_from or percent."
        for rule in rules
        for value in rule.values
        for row in value.rows
        if is_limit(rule.comparator) and row.figure is None and rule.figure_from is None and rule.percent is None
    ]


def test_every_limit_has_a_figure_or_says_where_it_stands():
    assert limits_without_a_figure(RULES.rules.values()) == []


def test_a_limit_without_a_figure_is_found():
    assert len(limits_without_a_figure([with_row(Row({}, None, "found", "thin"))])) == 1


def limits_in_another_dimension(rules: Any) -> list[str]:
    dimensions = {**DIMENSIONS, "air_loss": "pressure", "build_up": "time", "stroke_excess": "length"}
    dimensions |= {"scribe_movement_sum": "length"}
    return [
        f"{rule.id}: {size} is no {dimensions[rule.quantity]}. Correct the unit of its figure."
        for rule in rules
        for value in rule.values
        for row in value.rows
        if row.figure is not None
        for size in (row.figure.customary, row.figure.metric)
        if size is not None and size.dimension != dimensions[rule.quantity]
    ]


def test_every_figure_measures_what_its_rule_is_about():
    assert limits_in_another_dimension(RULES.rules.values()) == []


def test_a_figure_of_another_dimension_is_found():
    assert limits_in_another_dimension([replace(RULES.rules["us.federal.stroke"], quantity="low_air_warning")])
