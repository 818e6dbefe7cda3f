"""The files drawn are valid and varied: a property that never meets a case proves nothing of it."""

from __future__ import annotations

import json
from collections import Counter
from random import Random

import pytest
import strategies
from properties.judging import RULES, WORDS, judged

from treadle.errors import BadInput
from treadle.fleet.read import READING_KINDS, records_from

MANY = [strategies.a_file(Random(number).randbytes(768), most_units=3) for number in range(160)]
NEVER_DRAWN = {"reservoir_volume", "stop_distance", "hub_temperature", "end_play", "cam_angle"}
"""Readings of which no rule of the us speaks, and no occasion has need."""


def test_every_file_drawn_is_valid():
    assert len([records_from(file, WORDS) for file in MANY]) == len(MANY)


def test_every_occasion_kind_of_unit_and_brake_is_drawn():
    units = [unit for file in MANY for unit in file["units"]]
    brakes = {end["brake"] for file in MANY for *_, end in strategies.ends_of(file)}
    assert {file["occasion"] for file in MANY} == set(strategies.OCCASIONS)
    assert {unit["kind"] for unit in units} == set(strategies.KINDS)
    assert brakes == {*strategies.BRAKES, "none"}
    assert {tuple(sorted(unit["runs_in"])) for unit in units} == {("us",), ("ca-qc",), ("ca-qc", "us")}
    assert RULES.jurisdictions == {"us", "ca-qc"}
    assert any(len(numbers) == 3 for file in MANY for numbers in file["combinations"])


def test_every_reading_a_rule_speaks_of_is_drawn():
    kinds = {row["kind"] for file in MANY for row in file["readings"]}
    assert kinds == READING_KINDS - NEVER_DRAWN | {"not_seen"}


def test_every_chamber_is_drawn():
    fitted = {json.dumps(end["chamber"]) for file in MANY for *_, end in strategies.ends_of(file) if "chamber" in end}
    assert len(fitted) > len(strategies.CHAMBERS) / 2
    assert {json.loads(text)["design"] for text in fitted} == {"clamp", "bolt", "roto", "dual_diaphragm", "unlisted"}


def test_every_outcome_of_an_end_and_of_the_whole_comes_up_often():
    assessments = [judged(file) for file in MANY]
    whole = Counter(assessment.outcome for assessment in assessments)
    ends = Counter(
        outcome
        for assessment in assessments
        for unit in assessment.units
        for axle in unit.axles
        for _, outcome in axle.ends
    )
    assert min(ends[outcome] for outcome in ("hold", "fix", "unseen", "watch", "good")) > 20
    assert min(whole[outcome] for outcome in ("hold", "fix", "unseen", "watch", "good")) > 0


def test_no_bytes_at_all_are_the_plainest_file_and_it_passes():
    plainest = strategies.a_file(b"", occasions=("service",), whole=True, plain=True)
    assert len(plainest["units"]) == 1
    assert judged(plainest).outcome in ("good", "watch")


def test_a_file_the_reader_refuses_would_be_noticed():
    broken = strategies.changed(strategies.a_file(b""), 0, value="wide")
    with pytest.raises(BadInput):
        records_from(broken, WORDS)
