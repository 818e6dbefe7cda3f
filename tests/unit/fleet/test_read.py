"""From a walk-around file to records: what is kept, what replaces what, and which of two readings counts."""

import json
from datetime import UTC, date, datetime
from fractions import Fraction

import pytest

from treadle.errors import BadInput
from treadle.fleet.read import Vocabulary, read_walkaround
from treadle.fleet.records import BuildDate, WheelEnd
from treadle.measure import Quantity

LATER, EARLIER = "2026-10-02T08:00:00-06:00", "2026-10-02T07:00:00-06:00"


def stroke(**fields):
    return {"unit": "K-12", "axle": 1, "side": "left", "kind": "applied_stroke", **fields}


def one(readings, **wanted):
    (found,) = [
        reading for reading in readings if all(getattr(reading, name) == value for name, value in wanted.items())
    ]
    return found


# -- nothing is lost


def test_every_reading_of_the_file_becomes_a_record_in_order(clean, read):
    walk_around = read(clean)
    kept = [(one.unit, one.axle, one.side, one.kind, one.part, one.place) for one in walk_around.readings]
    assert [
        (row["unit"], row["axle"], row["side"], row["kind"], row.get("shoe"), row.get("place"))
        for row in clean["readings"]
    ] == kept
    assert all(one.taken == walk_around.taken for one in walk_around.readings)


def test_a_quantity_keeps_its_text_its_exact_value_and_its_step(clean, read):
    clean["readings"][0]["value"] = "1-3/16 inch"
    value = read(clean).readings[0].value
    assert (value.text, value.value, value.resolution) == ("1-3/16 inch", Fraction(19, 16), Fraction(1, 16))


def test_the_circumstances_of_the_file_are_kept(clean, read):
    clean["taken"] |= {"supply": "shop"}
    taken = read(clean).taken
    assert taken.at == datetime(2026, 10, 2, 13, 40, tzinfo=UTC)
    assert taken.at.isoformat() == "2026-10-02T07:40:00-06:00"
    assert (taken.by, str(taken.reservoir), taken.engine, taken.spring_brakes, taken.supply) == (
        "R. Quill",
        "90 psi",
        "off",
        "released",
        "shop",
    )


def test_a_circumstance_that_is_not_stated_is_not_known(clean, read):
    for name in ("reservoir", "engine", "spring_brakes"):
        del clean["taken"][name]
    taken = read(clean).taken
    assert (taken.reservoir, taken.engine, taken.spring_brakes, taken.supply) == (None, None, None, None)


def test_meters_and_combinations_are_kept(clean, read):
    walk_around = read(clean)
    assert {number: str(size) for number, size in walk_around.meter.items()} == {"K-12": "412350 mi"}
    assert (walk_around.combinations, walk_around.coupled) == ((), (("K-12",),))


def test_a_unit_in_no_combination_counts_alone_after_those_coupled(clean, read):
    clean["units"] += [{**clean["units"][0], "number": number, "kind": "trailer"} for number in ("T-7", "T-8")]
    clean["combinations"] = [["K-12", "T-8"]]
    assert read(clean).coupled == (("K-12", "T-8"), ("T-7",))


def test_touched_ends_are_kept_and_their_absence_is_not_an_empty_list(clean, read):
    assert read(clean).touched is None
    assert read({**clean, "touched": []}).touched == frozenset()
    end = {"unit": "K-12", "axle": 2, "side": "right"}
    assert read({**clean, "touched": [end, end]}).touched == {("K-12", 2, "right")}


@pytest.mark.parametrize(
    ("row", "wanted"),
    [
        ({"kind": "cam_angle", "value": "100 deg"}, {"value": "100 deg"}),
        ({"kind": "hub_temperature", "value": "180 °F"}, {"value": "180 °F"}),
        ({"kind": "rotor_thickness", "value": "44.5 mm"}, {"value": "44.5 mm"}),
        ({"kind": "scribe_movement", "shoe": "lower", "value": "1/16 in"}, {"value": "1/16 in", "part": "lower"}),
        ({"kind": "above_fastener", "pad": "inner", "value": "3 mm"}, {"value": "3 mm", "part": "inner"}),
        ({"kind": "wear_indicator", "pad": "outer", "value": "gone"}, {"value": "gone", "part": "outer"}),
        ({"kind": "tags", "value": "differ"}, {"value": "differ"}),
        ({"kind": "brake_force", "value": "12 kN", "axle": None}, {"value": "12 kN", "side": "left"}),
        ({"kind": "condition", "value": "hose_leak", "axle": None, "side": None}, {"value": "hose_leak"}),
        (
            {"kind": "not_seen", "what": "lining", "shoe": "lower", "reason": "mud"},
            {"what": "lining", "part": "lower", "reason": "mud", "value": None},
        ),
        ({"kind": "applied_stroke", "special": "bottomed", "axle": 2}, {"special": "bottomed", "value": None}),
        (
            {"kind": "build_up", "start": "85 psi", "end": "100 psi", "seconds": 24.5, "rpm": 700},
            {"start": "85 psi", "end": "100 psi", "seconds": Fraction(49, 2), "rpm": 700},
        ),
        (
            {"kind": "air_loss", "state": "released", "start": "7 bar", "end": "680 kPa", "seconds": 60},
            {"start": "7 bar", "end": "680 kPa", "seconds": 60, "state": "released"},
        ),
        ({"kind": "low_air_warning", "special": "did_not_act"}, {"special": "did_not_act"}),
        ({"kind": "cut_out", "value": "120 psi"}, {"value": "120 psi"}),
        ({"kind": "reservoir_volume", "value": "4200 in3"}, {"value": "4200 in3"}),
        ({"kind": "stop_distance", "value": "34.5 m"}, {"value": "34.5 m"}),
        ({"kind": "parking_hold", "value": "moved"}, {"value": "moved"}),
    ],
    ids=lambda given: given.get("kind", ""),
)
def test_each_kind_of_reading_keeps_what_it_says(row, wanted, clean, read):
    of_a_unit = {"build_up", "air_loss", "low_air_warning", "cut_out", "reservoir_volume", "stop_distance"}
    place = {} if row["kind"] in of_a_unit | {"parking_hold"} else {"axle": 1, "side": "left"}
    row = {name: value for name, value in {"unit": "K-12", **place, **row}.items() if value is not None}
    clean["readings"] = [row]
    (kept,) = read(clean).readings
    seen = {name: getattr(kept, name) for name in wanted}
    assert wanted == {name: str(value) if isinstance(value, Quantity) else value for name, value in seen.items()}
    assert kept.kind == row["kind"]


def test_a_drum_over_its_nominal_size_is_added_to_that_of_its_own_end(clean, read):
    clean["units"][0]["axles"][0]["left"] = {"drum": {"nominal": "16.5 in"}}
    for side in ("left", "right"):
        clean["readings"].append(
            {"unit": "K-12", "axle": 1, "side": side, "kind": "drum_diameter", "value": "+.060 in"}
        )
    left, right = [one.value for one in read(clean).readings if one.kind == "drum_diameter"]
    assert (str(left), str(right)) == ("16.56 in", "15.06 in")
    assert left.text == "+.060 in"


# -- what replaces what


def test_what_an_axle_states_holds_for_both_its_ends(clean, read):
    axle = read(clean).units[0].axles[0]
    assert axle.left == axle.right
    assert (axle.left.chamber.type, str(axle.left.adjuster.arm), axle.left.spring_brake) == ("20", "5.5 in", False)


def test_an_end_replaces_a_whole_object_of_its_axle_and_never_merges_it(clean, read):
    clean["units"][0]["axles"][0]["left"] = {"chamber": {"design": "roto"}}
    axle = read(clean).units[0].axles[0]
    own = axle.left.chamber
    assert (own.design, own.type, own.stroke_class, own.rated_stroke) == ("roto", None, None, None)
    assert axle.right.chamber.type == "20"
    assert axle.left.adjuster == axle.right.adjuster


def test_an_end_may_take_away_what_its_axle_states(clean, read):
    clean["units"][0]["axles"][0]["right"] = {"drum": None, "lining_form": None}
    axle = read(clean).units[0].axles[0]
    assert (axle.right.drum, axle.right.lining_form) == (None, None)
    assert axle.left.lining_form == "continuous"


def test_an_end_may_have_no_brake_at_all(clean, read):
    clean["units"][0]["axles"][1] = {"role": "lift", "brake": "none", "left": {}, "right": {}}
    clean["readings"] = [row for row in clean["readings"] if row["axle"] == 1]
    assert read(clean).units[0].axles[1].left == WheelEnd(brake="none")


def test_unknown_is_a_fact_not_known_and_never_a_word(clean, read):
    clean["units"][0]["axles"][0]["chamber"]["stroke_class"] = "unknown"
    clean["units"][0]["axles"][0]["adjuster"]["kind"] = "unknown"
    end = read(clean).units[0].axles[0].left
    assert (end.chamber.stroke_class, end.adjuster.kind) == (None, None)


@pytest.mark.parametrize(
    ("brake", "stated", "seen"),
    [
        ("air_drum", None, True),
        ("air_drum", False, False),
        ("air_disc", None, False),
        ("air_disc", True, True),
        ("air_wedge", None, False),
        ("hydraulic_drum", None, False),
    ],
)
def test_whether_a_rod_can_be_seen_is_as_stated_or_as_the_brake_has_it(brake, stated, seen):
    assert WheelEnd(brake=brake, rod_visible=stated).rod_can_be_seen is seen


@pytest.mark.parametrize(
    ("field", "given", "seen"),
    [
        ("at", LATER, "2026-10-02 08:00:00-06:00"),
        ("by", "S. Vane", "S. Vane"),
        ("reservoir", "85 psi", "85 psi"),
        ("engine", "running", "running"),
        ("spring_brakes", "applied", "applied"),
        ("supply", "shop", "shop"),
    ],
)
def test_a_reading_overrides_one_circumstance_and_keeps_the_others(field, given, seen, clean, read):
    clean["readings"][0][field] = given
    walk_around = read(clean)
    first, second = (one.taken for one in walk_around.readings[:2])
    assert second == walk_around.taken
    names = ("at", "by", "reservoir", "engine", "spring_brakes", "supply")
    assert [name for name in names if getattr(first, name) != getattr(second, name)] == [field]
    assert str(getattr(first, field)) == seen


# -- which of two counts


def test_the_same_id_with_the_same_content_is_taken_once(clean, read):
    row = {"unit": "K-12", "axle": 1, "side": "left", "kind": "free_stroke", "value": "1/2 in", "id": "a"}
    clean["readings"] += [row, row, {**row, "value": "1/2 in"}]
    assert one(read(clean).readings, kind="free_stroke").id == "a"


@pytest.mark.parametrize(("second_at", "counts"), [(LATER, "2 in"), (EARLIER, "1 in")])
def test_of_two_readings_of_one_place_and_kind_the_later_counts_wherever_it_stands(second_at, counts, clean, read):
    clean["readings"].append(stroke(value="2 in", at=second_at))
    kept = one(read(clean).readings, axle=1, side="left", kind="applied_stroke")
    assert str(kept.value) == counts


def test_of_three_readings_the_latest_counts(clean, read):
    clean["readings"] += [stroke(value="2 in", at=LATER), stroke(value="1 1/2 in", at=EARLIER)]
    assert str(one(read(clean).readings, axle=1, side="left", kind="applied_stroke").value) == "2 in"


def test_times_are_compared_as_moments_and_not_as_clocks_show_them(clean, read):
    clean["readings"].append(stroke(value="2 in", at="2026-10-02T08:30:00-04:00"))
    assert str(one(read(clean).readings, axle=1, side="left", kind="applied_stroke").value) == "1 in"


def test_what_happened_instead_of_a_stroke_is_of_the_same_kind_as_the_stroke(clean, read):
    clean["readings"].append(stroke(special="bottomed", at=LATER))
    assert one(read(clean).readings, axle=1, side="left", kind="applied_stroke").special == "bottomed"


@pytest.mark.parametrize(
    "other",
    [
        {"kind": "lining", "shoe": "upper", "place": "thinnest", "value": "1/2 in"},
        {"kind": "lining", "shoe": "front", "place": "centre", "value": "1/2 in"},
        {"kind": "condition", "value": "oil_at_edge"},
        {"kind": "not_seen", "what": "free_stroke", "reason": "mud"},
    ],
    ids=["another place of the shoe", "another shoe", "another condition", "another thing"],
)
def test_what_differs_in_place_or_kind_stands_beside(other, clean, read):
    clean["readings"].append({"unit": "K-12", "axle": 1, "side": "left", **other})
    assert len(read(clean).readings) == len(clean["readings"])


@pytest.mark.parametrize("kind", ["drum_diameter", "rotor_thickness"])
def test_a_size_read_at_several_places_is_kept_every_time(kind, clean, read):
    size = {"unit": "K-12", "axle": 1, "side": "left", "kind": kind}
    clean["readings"] += [{**size, "value": "15.02 in"}, {**size, "value": "15.04 in"}]
    kept = [str(reading.value) for reading in read(clean).readings if reading.kind == kind]
    assert kept == ["15.02 in", "15.04 in"]


def test_a_leak_down_applied_and_one_released_are_two_tests(clean, read):
    loss = {"unit": "K-12", "kind": "air_loss", "start": "100 psi", "end": "99 psi", "seconds": 60}
    clean["readings"] += [{**loss, "state": "applied"}, {**loss, "state": "released"}]
    assert [reading.state for reading in read(clean).readings if reading.kind == "air_loss"] == ["applied", "released"]


# -- build dates


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("2019", date(2019, 1, 1), date(2019, 12, 31)),
        ("2019-03", date(2019, 3, 1), date(2019, 3, 31)),
        ("2020-02", date(2020, 2, 1), date(2020, 2, 29)),
        ("2019-03-14", date(2019, 3, 14), date(2019, 3, 14)),
    ],
)
def test_a_build_date_is_any_day_it_may_be(text, earliest, latest, clean, read):
    clean["units"][0]["built"] = text
    assert read(clean).units[0].built == BuildDate(earliest, latest, text)


@pytest.mark.parametrize(
    ("text", "day", "answer"),
    [
        ("2019-03", date(2019, 2, 28), True),
        ("2019-03", date(2019, 3, 1), True),
        ("2019-03", date(2019, 3, 2), None),
        ("2019-03", date(2019, 3, 31), None),
        ("2019-03", date(2019, 4, 1), False),
        ("2019-03-14", date(2019, 3, 14), True),
        ("2019-03-14", date(2019, 3, 15), False),
    ],
)
def test_whether_it_was_built_by_a_day_is_yes_no_or_not_known(text, day, answer, clean, read):
    clean["units"][0]["built"] = text
    assert read(clean).units[0].built.on_or_after(day) is answer


# -- small print


def test_records_with_the_same_parts_are_equal_and_cannot_be_changed(clean, read, vocabulary):
    first, second = read(clean), read(clean)
    assert first == second
    with pytest.raises(AttributeError):
        first.units[0].axles[0].left.brake = "none"


def test_only_the_words_of_the_vocabulary_given_are_known(clean, vocabulary):
    narrow = Vocabulary({}, frozenset({"us"}))
    with pytest.raises(BadInput) as refused:
        read_walkaround(json.dumps(clean), narrow)
    assert {problem.slug for problem in refused.value.problems} == {"unknown_condition"}
    assert len(refused.value.problems) == 4
