"""Every figure and torque a step shows, against the sheet it is from, with its mark there."""

import pytest

from treadle.measure import read_quantity
from treadle.procedures import Facts, shipped, torque_records

FIGURES = {
    figure.key: figure
    for procedure in shipped().values()
    for plan in procedure.plans
    for figure in (*plan.figures, *(one.at_least for one in plan.measurements if one.at_least))
}

SHEETS = [
    # figure, low, high, basis, where the sheet has it
    (
        "system_pressure",
        "100 psi",
        None,
        "practice",
        "Sheet of common practice: air before releasing the spring brakes",
    ),
    ("stroke_pressure", "90 psi", "100 psi", "found", "Sheet on brake mechanics, 3.2, found S6: 90-100 psi reservoir"),
    ("snug", "50 lbf·ft", None, "found", "Sheet on shop work, 1.3 item 4, found 4 and 5"),
    ("recheck", "50 mi", "100 mi", "found", "Sheet on shop work, 1.3 item 9, found 1, 2 and 5"),
    ("end_play", "0.001 in", "0.005 in", "secondary", "Sheet on shop work, 1.3 item 11, trade pages 13 and 14"),
    ("free_stroke", "1/2 in", "5/8 in", "secondary", "Sheet on brake mechanics, 3.2, trade articles S40"),
    ("back_off_torque", "13 lbf·ft", None, "found", "Sheet on brake mechanics, 3.2, found S44, one design"),
    ("air_on_parts", "30 psi", None, "found", "Sheet on shop work, section 7, found 74: 29 CFR 1910.242(b)"),
]


@pytest.mark.parametrize(("key", "low", "high", "basis", "sheet"), SHEETS)
def test_a_figure_is_that_of_its_sheet_with_the_mark_it_has_there(key, low, high, basis, sheet):
    figure = FIGURES[key]
    dimension = figure.low.dimension
    assert figure.low == read_quantity(low, dimension, where=key), sheet
    assert figure.high == (None if high is None else read_quantity(high, dimension, where=key)), sheet
    assert figure.basis == basis, sheet


def test_every_figure_is_held_against_a_sheet():
    assert {row[0] for row in SHEETS} == set(FIGURES)


TORQUES = [
    # record, band in lbf·ft, lubrication, basis, printed metric band in N·m, where the sheet has it
    ("hub_m22", (450, 500), "open", "found", (610, 678), "Sheet on shop work, 1.1, found 1: lubrication not with it"),
    ("hub_m22_newsletter", (450, 550), "dry", "secondary", None, "Sheet on shop work, 1.1 and 1.2, newsletter 7"),
    ("hub_m20", (280, 310), "open", "found", (380, 420), "Sheet on shop work, 1.1, found 2: per maker"),
    ("ball_seat", (450, 500), "dry", "found", (610, 678), "Sheet on shop work, 1.1 and 1.2, found 4"),
]


@pytest.mark.parametrize("row", TORQUES, ids=lambda row: row[0])
def test_a_torque_is_one_record_of_band_lubrication_and_source(row):
    key, band, lubrication, basis, metric, sheet = row
    (record,) = [one for one in torque_records() if one.key == key]
    assert (record.low.value, record.high.value) == band, sheet
    assert (record.lubrication, record.basis) == (lubrication, basis), sheet
    assert record.source.strip(), sheet
    if metric:
        assert [round(one.in_unit("N·m")) for one in (record.low, record.high)] == pytest.approx(metric, abs=0.5), sheet


def test_every_torque_is_held_against_a_sheet():
    assert {row[0] for row in TORQUES} == {one.key for one in torque_records()}


def test_sources_that_disagree_are_both_shown_and_none_is_picked(steps):
    shown = steps()["refit.torque/left"].torque
    assert [one.key for one in shown] == ["hub_m22", "hub_m22_newsletter"], "Sheet on shop work, 1.2: CONFLICT"
    for record in shown:
        said = record.says.says("en")
        assert record.lubrication_says.says("en") in said
        assert record.source in said


def test_with_a_mounting_nobody_knows_every_record_is_shown(steps):
    assert steps(facts=Facts())["refit.torque_look/left"].torque == torque_records()


def test_the_shops_own_record_stands_alone(steps):
    (own,) = torque_records("stud_piloted")
    assert steps(facts=Facts(torque=own))["refit.torque_look/left"].torque == (own,)
