"""The walk-around as three tables: the same records as from JSON, and faults named by row and column."""

import json
from datetime import datetime
from pathlib import Path

import pytest
from unit.as_tables import CIRCUMSTANCES, csv_texts, grids_of, workbook

from treadle.errors import BadInput
from treadle.fleet.read import read_walkaround
from treadle.fleet.tables import COLUMNS, walkaround_from_csv, walkaround_from_xlsx
from treadle.words import LANGUAGES, explain

PAIRS = Path(__file__).parents[2] / "acceptance" / "pairs"
ONE_OF_EACH_KIND = (
    {"kind": "free_stroke", "value": "1/2 in", "id": "a-1", "at": "2026-10-02T08:00:00-06:00"},
    {"kind": "rod_released", "value": "2 in"},
    {"kind": "rod_applied", "value": "3 1/4 in", "reservoir": "92 psi", "engine": "running"},
    {"kind": "lining", "pad": "inner", "place": "thinnest", "value": "11,5 mm"},
    {"kind": "above_fastener", "shoe": "upper", "value": "3 mm"},
    {"kind": "wear_indicator", "shoe": "upper", "value": "clear"},
    {"kind": "running_clearance", "value": "0.8 mm"},
    {"kind": "scribe_movement", "shoe": "lower", "value": "1/16 in"},
    {"kind": "drum_diameter", "value": "+.020 in"},
    {"kind": "rotor_thickness", "value": "44 mm"},
    {"kind": "cam_angle", "value": "100 deg"},
    {"kind": "end_play", "value": "0.004 in"},
    {"kind": "hub_temperature", "value": "180 °F"},
    {"kind": "tags", "value": "confirmed", "by": "S. Vane"},
    {"kind": "not_seen", "what": "cam_angle", "reason": 'mud, "thick" mud'},
)
ONE_OF_EACH_TEST = (
    {"kind": "air_loss", "state": "applied", "start": "100 psi", "end": "99 psi", "seconds": 60},
    {"kind": "build_up", "start": "85 psi", "end": "100 psi", "seconds": 24.5, "rpm": 700},
    {"kind": "low_air_warning", "special": "did_not_act"},
    {"kind": "spring_brake_set", "value": "35 psi"},
    {"kind": "cut_in", "value": "95 psi"},
    {"kind": "cut_out", "value": "120 psi"},
    {"kind": "reservoir_volume", "value": "4200 in3"},
    {"kind": "stop_distance", "value": "34.5 m"},
    {"kind": "parking_hold", "value": "held", "supply": "shop", "spring_brakes": "applied"},
    {"kind": "condition", "value": "tank_loose"},
)


@pytest.fixture
def whole(clean):
    """A file with every field: two units coupled and one alone, ends of their own, every kind of reading."""
    steer, drive = clean["units"][0]["axles"]
    full = {"lining_attachment": "riveted", "lining_type": "Larch 20", "wear_mark": True, "abs": True}
    disc = {
        "role": "trailer",
        "brake": "air_disc",
        "chamber": {"design": "unlisted", "type": "24", "marked_limit": "2 in"},
        "adjuster": {"kind": "unknown"},
        "rotor": {"nominal": "45 mm", "discard": "37 mm"},
        "rod_visible": True,
        "lift_raised": False,
    }
    end = {"chamber": {"design": "roto", "type": "30"}, "spring_brake": False, "lining_form": "two_pads"}
    clean["units"][0]["axles"] = [
        {**steer, **full, "gawr": "12000 lb"},
        {**drive, "left": end, "right": {"abs": False}},
    ]
    clean["units"] += [
        {"number": "T-7", "kind": "trailer", "built": "2015", "runs_in": ["us", "ca-qc"], "axles": [disc]},
        {
            "number": "D 3",
            "kind": "dolly",
            "built": "2001-05-06",
            "runs_in": ["us"],
            "axles": [{**drive, "role": "dolly"}],
        },
    ]
    clean["combinations"] = [["K-12", "T-7"]]
    clean["taken"]["meter"] = {"K-12": "412350 mi", "D 3": "80000 km"}
    clean["readings"] += [{"unit": "K-12", "axle": 1, "side": "left", **reading} for reading in ONE_OF_EACH_KIND]
    clean["readings"] += [{"unit": "K-12", **reading} for reading in ONE_OF_EACH_TEST]
    return clean


@pytest.fixture
def from_csv(vocabulary):
    return lambda texts, **how: walkaround_from_csv(texts, vocabulary, **how)


@pytest.fixture
def refusal(vocabulary):
    """The problems for which tables are refused, each said with its place in every language."""

    def problems(grids):
        with pytest.raises(BadInput) as refused:
            walkaround_from_csv(csv_texts(grids), vocabulary)
        for language in LANGUAGES:
            for problem, line in zip(
                refused.value.problems, explain(refused.value, language).splitlines(), strict=True
            ):
                assert line.startswith(f"{problem.where}: ")
        return [(problem.slug, problem.where, problem.details) for problem in refused.value.problems]

    return problems


# -- the same records


def test_three_csv_texts_give_the_records_of_the_json_file(whole, read, from_csv):
    assert read(whole) == from_csv(csv_texts(grids_of(whole)))


def test_a_workbook_gives_the_records_of_the_json_file(whole, read, vocabulary):
    assert read(whole) == walkaround_from_xlsx(workbook(grids_of(whole)), vocabulary)


def test_the_whole_file_uses_every_column_there_is(whole):
    """Else two readers could agree on a column that neither reads."""
    used = {name: set(grid[0]) for name, grid in grids_of(whole).items()}
    assert used == {name: set(columns) for name, columns in COLUMNS.items()}


PAIR_NAMES = sorted(
    path.name.removesuffix(".expected.json")
    for path in PAIRS.glob("*.expected.json")
    if json.loads(path.read_text(encoding="utf-8"))["exit"] != 2
)


@pytest.mark.parametrize("name", PAIR_NAMES)
def test_a_worked_pair_reads_the_same_from_tables_as_from_json(name, vocabulary, from_csv):
    raw = json.loads((PAIRS / f"{name}.walkaround.json").read_text(encoding="utf-8"))
    raw["readings"].sort(key=lambda row: bool(set(CIRCUMSTANCES) & set(row)))  # the first row's hold for all others
    assert read_walkaround(json.dumps(raw), vocabulary) == from_csv(csv_texts(grids_of(raw)))


# -- how cells are read


def test_a_byte_order_mark_before_a_table_is_no_part_of_its_first_column(clean, read, from_csv):
    texts = {name: "\ufeff" + text for name, text in csv_texts(grids_of(clean)).items()}
    assert read(clean) == from_csv(texts)


def test_empty_cells_empty_rows_and_empty_columns_say_nothing(clean, read, from_csv):
    grids = grids_of(clean)
    for grid in grids.values():
        grid[0] += ["", ""]
        grid[1:] = [[*row, "", "  "] for row in grid[1:]]
        grid.insert(2, [""] * len(grid[0]))
        grid.append([])
    assert read(clean) == from_csv(csv_texts(grids))


def test_blanks_around_a_cell_or_a_header_say_nothing(clean, read, from_csv):
    grids = {
        name: [["" if cell == "" else f" {cell} " for cell in row] for row in grid]
        for name, grid in grids_of(clean).items()
    }
    assert read(clean) == from_csv(csv_texts(grids))


def test_columns_may_stand_in_any_order(clean, read, from_csv):
    grids = {name: [row[::-1] for row in grid] for name, grid in grids_of(clean).items()}
    assert read(clean) == from_csv(csv_texts(grids))


@pytest.mark.parametrize("separator", [" ", ",", ";", ", ", "  "])
def test_the_places_a_unit_runs_in_stand_in_one_cell(separator, clean, from_csv):
    clean["units"][0]["runs_in"] = ["us" + separator + "ca-qc"]
    assert from_csv(csv_texts(grids_of(clean))).units[0].runs_in == ("us", "ca-qc")


@pytest.mark.parametrize(
    ("cell", "truth"),
    [("true", True), ("YES", True), ("sí", True), ("1", True), ("False", False), ("no", False), ("0", False)],
)
def test_a_truth_is_read_as_people_write_it(cell, truth, clean, from_csv):
    clean["units"][0]["axles"][0]["spring_brake"] = cell
    assert from_csv(csv_texts(grids_of(clean))).units[0].axles[0].left.spring_brake is truth


def test_a_number_in_a_workbook_is_read_as_it_would_be_typed(clean, read, vocabulary):
    grids = grids_of(clean)
    number = grids["units"][0].index("number")
    unit = grids["wheel_ends"][0].index("unit")
    grids["units"][1][number] = 12
    for row in grids["wheel_ends"][1:]:
        row[unit] = 12.0
    for row in grids["readings"][1:]:
        row[grids["readings"][0].index("unit")] = "12"
    assert [one.number for one in walkaround_from_xlsx(workbook(grids), vocabulary).units] == ["12"]


def test_a_day_in_a_workbook_is_a_build_date(clean, vocabulary):
    clean["units"][0]["built"] = datetime(2019, 3, 14)  # noqa: DTZ001 - a cell of a workbook has no zone
    built = walkaround_from_xlsx(workbook(grids_of(clean)), vocabulary).units[0].built
    assert built.text == "2019-03-14"


def test_the_first_readings_circumstances_hold_where_a_row_leaves_them_empty(clean, from_csv):
    clean["readings"][1] |= {"reservoir": "85 psi", "by": "S. Vane"}
    first, second, third, *_ = (one.taken for one in from_csv(csv_texts(grids_of(clean))).readings)
    assert (str(first.reservoir), first.by) == ("90 psi", "R. Quill")
    assert (str(second.reservoir), second.by) == ("85 psi", "S. Vane")
    assert third == first


# -- wheel ends


def ends(grids, *rows):
    """The same tables with these rows for the wheel ends of K-12, each a mapping of columns."""
    header = list(dict.fromkeys(name for row in rows for name in row))
    return {**grids, "wheel_ends": [header, *([row.get(name, "") for name in header] for row in rows)]}


def end_row(axle, side, **columns):
    named = {name.replace("__", "."): value for name, value in columns.items()}
    return {"unit": "K-12", "axle": axle, "side": side, **named}


AIR = {"brake": "air_drum", "chamber__design": "clamp", "chamber__type": "20", "adjuster__kind": "automatic"}


def test_a_row_without_a_side_is_of_both_ends(clean, from_csv):
    grids = ends(grids_of(clean), end_row(1, "", role="steer", **AIR), end_row(2, "both", role="drive", **AIR))
    axles = from_csv(csv_texts(grids)).units[0].axles
    assert [axle.left == axle.right for axle in axles] == [True, True]
    assert axles[0].left.chamber.type == "20"


def test_rows_for_left_and_right_make_an_axle_without_a_row_for_both(clean, from_csv):
    grids = ends(
        grids_of(clean),
        end_row(1, "both", role="steer", **AIR),
        end_row(2, "left", role="drive", **AIR, lining_type="Larch"),
        end_row(2, "right", role="drive", **{**AIR, "chamber__type": "24"}),
    )
    second = from_csv(csv_texts(grids)).units[0].axles[1]
    assert (second.left.chamber.type, second.right.chamber.type) == ("20", "24")
    assert (second.left.lining_type, second.right.lining_type) == ("Larch", None)
    assert second.role == "drive"


def test_a_row_for_one_end_goes_before_the_row_for_both_and_replaces_whole_objects(clean, from_csv):
    grids = ends(
        grids_of(clean),
        end_row(1, "both", role="steer", **AIR),
        end_row(2, "both", role="drive", **AIR, lining_type="Larch"),
        end_row(2, "right", chamber__design="roto"),
    )
    second = from_csv(csv_texts(grids)).units[0].axles[1]
    assert (second.left.chamber.type, second.right.chamber.design, second.right.chamber.type) == ("20", "roto", None)
    assert second.right.lining_type == "Larch"


def test_rows_of_wheel_ends_may_stand_in_any_order(whole, read, from_csv):
    grids = grids_of(whole)
    grids["wheel_ends"][1:] = grids["wheel_ends"][:0:-1]
    assert read(whole) == from_csv(csv_texts(grids))


# -- refusals, by row and column


def at(grids, table, row, column, value):
    """Put a value into a cell; rows as a spreadsheet numbers them, the header being row 1."""
    grid = grids[table]
    if column not in grid[0]:
        for number, cells in enumerate(grid):
            cells.append(column if number == 0 else "")
    grid[row - 1][grid[0].index(column)] = value
    return grids


CELLS = {
    "a quantity without its unit": (
        ("readings", 2, "value", "1"),
        ("no_unit", "readings row 2, column value (K-12, axle 1, left, applied_stroke)"),
    ),
    "an unknown unit": (
        ("readings", 3, "unit", "K-21"),
        ("unknown_unit", "readings row 3 (K-21, axle 1, left, lining)"),
    ),
    "an axle the unit does not have": (
        ("readings", 3, "axle", 7),
        ("unknown_axle", "readings row 3 (K-12, axle 7, left, lining)"),
    ),
    "an axle that is no number": (
        ("readings", 3, "axle", "front"),
        ("wrong_type", "readings row 3, column axle"),
    ),
    "an unknown kind": (
        ("readings", 3, "kind", "linning"),
        ("word_not_allowed", "readings row 3, column kind (K-12, axle 1, left, linning)"),
    ),
    "an unknown condition": (
        ("readings", 5, "value", "haunted"),
        ("unknown_condition", "readings row 5 (K-12, axle 1, left, condition)"),
    ),
    "a column of another kind of reading": (
        ("readings", 2, "shoe", "upper"),
        ("unknown_field", "readings row 2 (K-12, axle 1, left, applied_stroke)"),
    ),
    "a time without its offset": (
        ("readings", 2, "at", "2026-10-02T07:40:00"),
        ("time_without_offset", "readings row 2, column at (K-12, axle 1, left, applied_stroke)"),
    ),
    "no time at all": (
        ("readings", 2, "at", ""),
        ("missing_field", "readings row 2 (K-12, axle 1, left, applied_stroke)"),
    ),
    "a differing occasion": (
        ("readings", 4, "occasion", "daily"),
        ("differing_cells", "readings row 4"),
    ),
    "no occasion": (
        ("readings", 2, "occasion", ""),
        ("unfilled_cell", "readings row 2"),
    ),
    "an unknown kind of unit": (
        ("units", 2, "kind", "lorry"),
        ("word_not_allowed", "units row 2, column kind (K-12, lorry)"),
    ),
    "an unreadable build date": (
        ("units", 2, "built", "03/2019"),
        ("unreadable_build_date", "units row 2, column built (K-12, truck)"),
    ),
    "an unknown jurisdiction": (
        ("units", 2, "runs_in", "atlantis"),
        ("unknown_jurisdiction", "units row 2, column runs_in (K-12, truck)"),
    ),
    "an end of an unknown unit": (
        ("wheel_ends", 3, "unit", "K-21"),
        ("unknown_unit", "wheel_ends row 3"),
    ),
    "an end without its axle": (
        ("wheel_ends", 3, "axle", ""),
        ("unfilled_cell", "wheel_ends row 3"),
    ),
    "an axle left out": (
        ("wheel_ends", 3, "axle", 3),
        ("unknown_axle", "wheel_ends row 3"),
    ),
    "an end given twice": (
        ("wheel_ends", 3, "axle", 1),
        ("differing_cells", "wheel_ends row 3"),
    ),
    "an unknown side": (
        ("wheel_ends", 3, "side", "near"),
        ("word_not_allowed", "wheel_ends row 3, column side"),
    ),
    "an unknown brake": (
        ("wheel_ends", 3, "brake", "band"),
        ("word_not_allowed", "wheel_ends row 3, column brake (K-12, axle 2, both)"),
    ),
    "a truth that is none": (
        ("wheel_ends", 3, "spring_brake", "perhaps"),
        ("word_not_allowed", "wheel_ends row 3, column spring_brake"),
    ),
    "a chamber without its design": (
        ("wheel_ends", 3, "chamber.design", ""),
        ("missing_field", "wheel_ends row 3, column chamber (K-12, axle 2, both)"),
    ),
    "a rated stroke without its unit": (
        ("wheel_ends", 3, "chamber.rated_stroke", "2.5"),
        ("no_unit", "wheel_ends row 3, column chamber.rated_stroke (K-12, axle 2, both)"),
    ),
}


@pytest.mark.parametrize("name", CELLS)
def test_a_cell_that_cannot_be_used_is_named_by_row_and_column(name, clean, refusal):
    cell, (slug, where) = CELLS[name]
    found = refusal(at(grids_of(clean), *cell))
    assert (slug, where) in [problem[:2] for problem in found]
    assert {problem[:2] for problem in found} == {(slug, where)}


@pytest.mark.parametrize("table", ["units", "wheel_ends", "readings"])
def test_a_table_that_is_missing_is_named_with_those_there_must_be(table, clean, refusal):
    grids = grids_of(clean)
    del grids[table]
    assert refusal(grids) == [
        ("missing_table", "file", {"given": table, "allowed": "units, wheel_ends, readings"}),
    ]


@pytest.mark.parametrize("table", ["units", "wheel_ends", "readings"])
@pytest.mark.parametrize("rows", [0, 1])
def test_a_table_without_rows_is_refused_by_name(table, rows, clean, refusal):
    grids = grids_of(clean)
    del grids[table][rows:]
    assert refusal(grids) == [("empty_table", table, {})]


@pytest.mark.parametrize(
    ("table", "like"), [("units", "number"), ("wheel_ends", "chamber.design"), ("readings", "value")]
)
def test_an_unknown_column_is_refused_with_those_allowed(table, like, clean, refusal):
    grids = grids_of(clean)
    grids[table][0].append("colour")
    ((slug, where, details),) = refusal(grids)
    assert (slug, where, details["field"]) == ("unknown_column", f"{table} row 1", "colour")
    assert like in details["allowed"].split(", ")


def test_a_unit_without_wheel_ends_is_refused_at_its_row(clean, refusal):
    grids = grids_of(clean)
    grids["units"].append(["K-13", *grids["units"][1][1:]])
    ((slug, where, _),) = refusal(grids)
    assert (slug, where) == ("wrong_type", "units row 3, column axles (K-13, truck)")


def test_several_faults_are_reported_at_once(clean, refusal):
    grids = grids_of(clean)
    at(grids, "units", 2, "built", "03/2019")
    at(grids, "readings", 2, "value", "1")
    at(grids, "readings", 5, "value", "haunted")
    assert [problem[0] for problem in refusal(grids)] == ["unreadable_build_date", "no_unit", "unknown_condition"]


def test_an_occasion_given_at_the_door_stands_for_the_one_in_the_table(clean, from_csv):
    grids = at(grids_of(clean), "readings", 2, "occasion", "")
    assert from_csv(csv_texts(grids), occasion="daily").occasion == "daily"


@pytest.mark.parametrize("content", [b"", b"not a workbook", b"PK\x03\x04 torn"])
def test_what_is_no_workbook_is_refused_by_its_name(content, vocabulary):
    with pytest.raises(BadInput) as refused:
        walkaround_from_xlsx(content, vocabulary, name="walk.xlsx")
    (problem,) = refused.value.problems
    assert (problem.slug, problem.where) == ("unreadable_file", "walk.xlsx")


# -- the helper that writes tables


def test_the_helper_refuses_what_a_table_cannot_say(clean):
    first = {**clean, "readings": [{**clean["readings"][0], "by": "S. Vane"}]}
    with pytest.raises(ValueError, match="first reading"):
        grids_of(first)
    clean["units"][0]["axles"][0]["left"] = {"drum": None}
    with pytest.raises(ValueError, match="drum"):
        grids_of(clean)


def test_the_helper_writes_a_row_for_each_unit_axle_end_of_its_own_and_reading(whole):
    grids = grids_of(whole)
    assert [len(grid) - 1 for grid in grids.values()] == [3, 4 + 2, len(whole["readings"])]
