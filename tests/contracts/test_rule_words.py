"""What a rule asks for or forbids is what a file can hold; a misspelt word would make a rule that never speaks."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, get_args

import pytest

from treadle.fleet import file_model as written
from treadle.fleet.read import READING_KINDS
from treadle.rules.load import shipped

RULES = shipped()


def _words_of(model: Any, name: str) -> set[str]:
    """The fixed words that a field of a file may hold."""
    queue, words = [model.model_fields[name].annotation], set()
    while queue:
        annotation = queue.pop()
        arguments = get_args(annotation)
        words |= {one for one in arguments if isinstance(one, str)}
        queue += [one for one in arguments if not isinstance(one, str)]
    return words


ASKED = {
    "kind": _words_of(written.UnitEntry, "kind"),
    "role": _words_of(written.AxleEntry, "role"),
    "brake": _words_of(written.AxleEntry, "brake"),
    "lining_form": _words_of(written.AxleEntry, "lining_form"),
    "lining_attachment": _words_of(written.AxleEntry, "lining_attachment"),
    "design": _words_of(written.ChamberEntry, "design"),
    "stroke_class": _words_of(written.ChamberEntry, "stroke_class") - {"unknown"},
    "power_unit": {True, False},
    "steering": {True, False},
    "spring_brake": {True, False},
    "wear_mark": {True, False},
    "air_braked": {True, False},
}
"""The words that a rule may ask for, by what it asks about."""
OPEN = {"type", "rated_stroke", "built_from", "built_before", "units_coupled", "units_coupled_from"}
QUANTITIES = READING_KINDS | {
    "adjuster_kind",
    "brake_fitted",
    "abs",
    "axle_match",
    "share",
    "stroke_excess",
    "scribe_movement_sum",
}
"""What a rule may be about: a kind of reading, or something worked out from what is fitted or was read."""
LISTED = {
    "wear_indicator": _words_of(written.WearIndicatorEntry, "value"),
    "parking_hold": _words_of(written.ParkingHoldEntry, "value"),
    "low_air_warning": _words_of(written.ActsAtEntry, "special"),
    "spring_brake_set": _words_of(written.ActsAtEntry, "special"),
    "adjuster_kind": _words_of(written.AdjusterEntry, "kind") - {"unknown"},
    "abs": {"fitted", "absent"},
    "brake_fitted": _words_of(written.AxleEntry, "brake"),
}
"""The words that a rule may forbid, by what it is about."""


def words_no_file_can_hold(rules: Any) -> list[str]:
    out = []
    for rule in rules:
        tables = [rule.applies, *(row.when for value in rule.values for row in value.rows)]
        out += [
            f"{rule.id}: {key} = {word!r} can never be. Use one of: {', '.join(sorted(map(str, ASKED[key])))}."
            for table in tables
            for key, wanted in table.items()
            if key not in OPEN
            for word in wanted
            if word not in ASKED[key]
        ]
        out += [
            f"{rule.id}: nobody can read '{word}' as {rule.quantity}. Correct the word in `words`."
            for word in rule.words
            if word not in LISTED.get(rule.quantity, ())
        ]
        if rule.quantity not in QUANTITIES:
            out.append(f"{rule.id}: '{rule.quantity}' is nothing that can be read. Correct `quantity`.")
        if rule.comparator == "breach_if_one_of" and not rule.words:
            out.append(f"{rule.id}: it forbids one of a list, and lists nothing. Add `words`.")
        if rule.comparator == "breach_if_different" and rule.compares is None:
            out.append(f"{rule.id}: it compares two ends, and does not say in what. Add `compares`.")
    return out


def test_every_word_of_a_rule_is_one_that_a_file_can_hold():
    assert words_no_file_can_hold(RULES.rules.values()) == []


STROKE = RULES.rules["us.federal.stroke"]


@pytest.mark.parametrize(
    "bad",
    [
        replace(STROKE, applies={"brake": ("air_drun",)}),
        replace(STROKE, applies={"steering": ("yes",)}),
        replace(STROKE, quantity="applied_strok"),
        replace(STROKE, words=("held",)),
        replace(STROKE, comparator="breach_if_one_of"),
        replace(STROKE, comparator="breach_if_different"),
    ],
)
def test_a_word_that_no_file_can_hold_is_found(bad):
    assert len(words_no_file_can_hold([bad])) == 1
