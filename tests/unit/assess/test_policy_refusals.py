"""A policy file that says what cannot be is refused."""

import json
from datetime import date

import pytest

from treadle.assess import read_policy
from treadle.errors import BadInput

RULE = {"quantity": "end_play", "breach_if_more_than": "0.005 in"}
TAKEN_IN_SILENCE = {
    "a condition nobody can ask about": {"rules": [{**RULE, "applies": {"colour": "red"}}]},
    "a word no wheel end can have": {"rules": [{**RULE, "applies": {"role": "steering"}}]},
    "two values": {"rules": [{**RULE, "value": "0.010 in"}]},
    "a comparator beside another": {"rules": [{**RULE, "comparator": "breach_if_less_than"}]},
    "an unknown occasion": {"unseen_blocks": {"dialy": True}},
    "an age below nothing": {"age": {"days": -5}},
}


@pytest.mark.parametrize("name", TAKEN_IN_SILENCE)
def test_a_policy_that_says_what_cannot_be_is_refused(name, rules):
    text = json.dumps({"treadle": "policy/1", **TAKEN_IN_SILENCE[name]})
    with pytest.raises(BadInput):
        read_policy(text, rules, date(2026, 10, 2))


def test_a_field_written_twice_in_a_policy_is_refused(rules):
    with pytest.raises(BadInput):
        read_policy('{"treadle": "policy/1", "age": {"days": 1}, "age": {"days": 2}}', rules, date(2026, 10, 2))
