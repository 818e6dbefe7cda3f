"""Files nobody means to write: nothing is dropped in silence, and every fault is named where it stands."""

import json

import pytest
from unit.as_tables import csv_texts, grids_of

from treadle.errors import BadInput
from treadle.fleet.read import read_walkaround
from treadle.fleet.tables import walkaround_from_csv


def test_a_combination_of_no_units_is_refused(clean, refusal_of):
    clean["combinations"] = [[]]
    assert [problem.where for problem in refusal_of(clean)] == ["combinations[0]"]


def test_an_end_whose_brake_is_taken_away_is_refused(clean, refusal_of):
    clean["units"][0]["axles"][1]["left"] = {"brake": None}
    assert [problem.where for problem in refusal_of(clean)] == ["units[0].axles[1].left (K-12)"]


@pytest.mark.parametrize("text", ["[" * 100_000, '{"axle": ' + "1" * 5000 + "}"], ids=["nested", "number"])
def test_json_past_what_python_reads_is_refused(text, vocabulary):
    with pytest.raises(BadInput):
        read_walkaround(text, vocabulary)


@pytest.mark.parametrize("value", ["1" * 5000 + " in", "1 " + "1" * 5000 + "/4 in"])
def test_a_quantity_of_thousands_of_digits_is_refused(value, clean, refusal_of):
    clean["readings"][0]["value"] = value
    assert refusal_of(clean)[0].slug == "unreadable_quantity"


def refused(grids, vocabulary):
    with pytest.raises(BadInput) as refusal:
        walkaround_from_csv(csv_texts(grids), vocabulary)
    return [(one.slug, one.where) for one in refusal.value.problems]


def test_a_cell_beyond_the_header_is_not_dropped(clean, vocabulary):
    grids = grids_of(clean)
    grids["readings"][1].append("lost")
    assert refused(grids, vocabulary)[0][1].startswith("readings row 2")


def test_a_cell_under_an_empty_header_is_not_dropped(clean, vocabulary):
    grids = grids_of(clean)
    grids["readings"][0].append("")
    grids["readings"][1].append("lost")
    assert refused(grids, vocabulary)[0][1].startswith("readings row ")


def test_a_column_that_stands_twice_is_refused(clean, vocabulary):
    grids = grids_of(clean)
    value = grids["readings"][0].index("value")
    for row in grids["readings"]:
        row.append(row[value])
    assert refused(grids, vocabulary)[0][1] == "readings row 1"


def test_a_meter_that_cannot_be_read_is_named_in_its_own_table(clean, vocabulary):
    """fleet/tables.py:raw, only ("taken",) has a source; today it says readings row 2, column meter.K-12."""
    clean["taken"]["meter"] = {"K-12": "412350"}
    assert refused(grids_of(clean), vocabulary) == [("no_unit", "units row 2, column meter (K-12, truck)")]


def test_a_unit_without_its_number_is_named_in_its_own_table(clean, vocabulary):
    grids = grids_of(clean)
    grids["units"][1][grids["units"][0].index("number")] = ""
    assert refused(grids, vocabulary)[0] == ("unfilled_cell", "units row 2")


@pytest.mark.parametrize(
    "text", ["number,kind\rK-1,truck\r", "number,kind\n" + "x" * 200_000 + ",truck\n"], ids=["line ends", "long cell"]
)
def test_csv_that_the_reader_cannot_read_is_refused(text, clean, vocabulary):
    with pytest.raises(BadInput):
        walkaround_from_csv({**csv_texts(grids_of(clean)), "units": text}, vocabulary)


def test_a_fault_of_an_axle_is_reported_once(clean, refusal_of):
    del clean["units"][0]["axles"][1]["chamber"]
    assert len(refusal_of(clean)) == 1


def test_the_file_is_read_as_it_is_written(clean, vocabulary):
    """Control: passes."""
    assert read_walkaround(json.dumps(clean), vocabulary)
