"""Every kind of walk-around file that cannot be used: refused whole, each fault named with its place.

A refusal drops nothing: there is no walk-around at all, and every fault is in the list, not only the first.
"""

import inspect
import json
import re

import pytest

from treadle.errors import BadInput
from treadle.fleet import read as read_module
from treadle.fleet.read import READING_KINDS, read_walkaround
from treadle.words import LANGUAGES, explain

AT_1_LEFT = "(K-12, axle 1, left, {})"
NEXT = "readings[16]"
"""The place of a reading that is added to the clean walk-around."""


def put(path, value):
    """Put a value at a path of fields and positions."""

    def change(raw):
        *way, last = path
        for step in way:
            raw = raw[step]
        raw[last] = value

    return change


def without(*path):
    def change(raw):
        *way, last = path
        for step in way:
            raw = raw[step]
        del raw[last]

    return change


def added(**reading):
    """Add a reading, at axle 1 left of K-12 unless it says otherwise; None leaves a field out."""
    place = {"unit": "K-12", "axle": 1, "side": "left"}
    row = {name: value for name, value in {**place, **reading}.items() if value is not None}
    return lambda raw: raw["readings"].append(row)


def of_unit(**reading):
    return added(axle=None, side=None, **reading)


LOSS = {"kind": "air_loss", "state": "applied", "start": "100 psi", "end": "99 psi", "seconds": 60}
CHAMBER = ("units", 0, "axles", 0, "chamber")

OF_QUANTITIES = {"unreadable_quantity", "no_unit", "wrong_unit", "odd_division", "ambiguous_quantity"}

REFUSED = {
    # -- fields
    "an unknown field of the file": (
        put(["colour"], "red"),
        ("unknown_field", "file", {"field": "colour"}),
    ),
    "an unknown field of a unit": (
        put(["units", 0, "colour"], "red"),
        ("unknown_field", "units[0] (K-12)", {"field": "colour"}),
    ),
    "an unknown field of an axle": (
        put(["units", 0, "axles", 1, "colour"], "red"),
        ("unknown_field", "units[0].axles[1] (K-12)", {"field": "colour"}),
    ),
    "an unknown field of a wheel end": (
        put(["units", 0, "axles", 1, "left"], {"role": "drive"}),
        ("unknown_field", "units[0].axles[1].left (K-12)", {"field": "role"}),
    ),
    "an unknown field of a chamber": (
        put([*CHAMBER, "colour"], "red"),
        (
            "unknown_field",
            "units[0].axles[0].chamber (K-12)",
            {"field": "colour", "allowed": "design, marked_limit, rated_stroke, stroke_class, type"},
        ),
    ),
    "an unknown field of the circumstances": (
        put(["taken", "weather"], "rain"),
        ("unknown_field", "taken", {"field": "weather"}),
    ),
    "an unknown field of a reading": (
        added(kind="free_stroke", value="1/2 in", colour="red"),
        ("unknown_field", f"{NEXT} {AT_1_LEFT.format('free_stroke')}", {"field": "colour"}),
    ),
    "a field that another kind of reading has": (
        added(kind="free_stroke", value="1/2 in", place="centre"),
        ("unknown_field", f"{NEXT} {AT_1_LEFT.format('free_stroke')}", {"field": "place"}),
    ),
    "an unknown field of a touched end": (
        put(["touched"], [{"unit": "K-12", "axle": 1, "side": "left", "colour": "red"}]),
        ("unknown_field", "touched[0]", {"field": "colour", "allowed": "axle, opened, side, unit"}),
    ),
    "no occasion": (without("occasion"), ("missing_field", "file", {"field": "occasion"})),
    "no readings at all": (without("readings"), ("missing_field", "file", {"field": "readings"})),
    "a unit without its build date": (
        without("units", 0, "built"),
        ("missing_field", "units[0] (K-12)", {"field": "built"}),
    ),
    "a unit without its number": (without("units", 0, "number"), ("missing_field", "units[0]", {"field": "number"})),
    "an axle without its role": (
        without("units", 0, "axles", 1, "role"),
        ("missing_field", "units[0].axles[1] (K-12)", {"field": "role"}),
    ),
    "an air brake without its chamber": (
        without("units", 0, "axles", 1, "chamber"),
        ("missing_field", "units[0].axles[1] (K-12)", {"field": "chamber"}),
    ),
    "an air brake without its adjuster at one end": (
        put(["units", 0, "axles", 1, "left"], {"adjuster": None}),
        ("missing_field", "units[0].axles[1] (K-12)", {"field": "adjuster"}),
    ),
    "a chamber without its design": (
        without(*CHAMBER, "design"),
        ("missing_field", "units[0].axles[0].chamber (K-12)", {"field": "design"}),
    ),
    "nobody who took it": (without("taken", "by"), ("missing_field", "taken", {"field": "by"})),
    "a reading without its kind": (
        added(value="1/2 in"),
        ("missing_field", f"{NEXT} (K-12, axle 1, left)", {"field": "kind"}),
    ),
    "a reading without its axle": (
        added(kind="free_stroke", value="1/2 in", axle=None),
        ("missing_field", f"{NEXT} (K-12, left, free_stroke)", {"field": "axle"}),
    ),
    "a stroke with neither value nor what happened instead": (
        added(kind="applied_stroke", at="2026-10-02T08:00:00-06:00"),
        ("missing_field", f"{NEXT} {AT_1_LEFT.format('applied_stroke')}", {"field": "value"}),
    ),
    "a lining without its shoe or pad": (
        added(kind="lining", place="centre", value="1/2 in"),
        ("missing_field", f"{NEXT} {AT_1_LEFT.format('lining')}", {"field": "shoe"}),
    ),
    "a lining without its place": (
        added(kind="lining", shoe="upper", value="1/2 in"),
        ("missing_field", f"{NEXT} {AT_1_LEFT.format('lining')}", {"field": "place"}),
    ),
    "a condition of a brake without its place": (
        of_unit(kind="condition", value="lining_cracked"),
        ("missing_field", f"{NEXT} (K-12, condition)", {"field": "axle"}),
    ),
    "a condition with an axle and no side": (
        added(kind="condition", value="hose_leak", side=None),
        ("missing_field", f"{NEXT} (K-12, axle 1, condition)", {"field": "side"}),
    ),
    "something not seen, with a side and no axle": (
        added(kind="not_seen", what="lining", reason="mud", axle=None),
        ("missing_field", f"{NEXT} (K-12, left, not_seen)", {"field": "axle"}),
    ),
    "something not seen, without the reason": (
        added(kind="not_seen", what="lining"),
        ("missing_field", f"{NEXT} {AT_1_LEFT.format('not_seen')}", {"field": "reason"}),
    ),
    # -- words
    "a version nobody knows": (
        put(["treadle"], "walkaround/2"),
        ("word_not_allowed", "treadle", {"given": "walkaround/2", "allowed": "walkaround/1"}),
    ),
    "an unknown occasion": (
        put(["occasion"], "yearly"),
        (
            "word_not_allowed",
            "occasion",
            {"given": "yearly", "allowed": "daily, service, received, roadside, periodic, after_work"},
        ),
    ),
    "an unknown kind of unit": (
        put(["units", 0, "kind"], "lorry"),
        (
            "word_not_allowed",
            "units[0].kind (K-12)",
            {"given": "lorry", "allowed": "tractor, truck, trailer, dolly, bus"},
        ),
    ),
    "an unknown role": (
        put(["units", 0, "axles", 0, "role"], "front"),
        ("word_not_allowed", "units[0].axles[0].role (K-12)", {"given": "front"}),
    ),
    "an unknown brake": (
        put(["units", 0, "axles", 0, "brake"], "band"),
        ("word_not_allowed", "units[0].axles[0].brake (K-12)", {"given": "band"}),
    ),
    "an unknown chamber design": (
        put([*CHAMBER, "design"], "round"),
        ("word_not_allowed", "units[0].axles[0].chamber.design (K-12)", {"given": "round"}),
    ),
    "an unknown kind of reading": (
        added(kind="strok", value="1 in"),
        (
            "word_not_allowed",
            f"{NEXT}.kind {AT_1_LEFT.format('strok')}",
            {"given": "strok", "allowed": ", ".join(sorted(READING_KINDS | {"not_seen"}))},
        ),
    ),
    "an unknown side": (
        added(kind="free_stroke", value="1/2 in", side="near"),
        ("word_not_allowed", f"{NEXT}.side (K-12, axle 1, near, free_stroke)", {"given": "near"}),
    ),
    "an unknown shoe": (
        added(kind="lining", shoe="top", place="centre", value="1/2 in"),
        (
            "word_not_allowed",
            f"{NEXT}.shoe {AT_1_LEFT.format('lining')}",
            {"given": "top", "allowed": "upper, lower, front, rear"},
        ),
    ),
    "an unknown special of a stroke": (
        added(kind="applied_stroke", special="did_not_act"),
        (
            "word_not_allowed",
            f"{NEXT}.special {AT_1_LEFT.format('applied_stroke')}",
            {"given": "did_not_act", "allowed": "no_movement, bottomed"},
        ),
    ),
    "an unknown word of a wear indicator": (
        added(kind="wear_indicator", shoe="upper", value="fine"),
        (
            "word_not_allowed",
            f"{NEXT}.value {AT_1_LEFT.format('wear_indicator')}",
            {"given": "fine", "allowed": "clear, at_mark, gone"},
        ),
    ),
    "an unknown thing not seen": (
        added(kind="not_seen", what="linings", reason="mud"),
        (
            "word_not_allowed",
            f"{NEXT}.what {AT_1_LEFT.format('not_seen')}",
            {"given": "linings", "allowed": ", ".join(sorted(READING_KINDS))},
        ),
    ),
    "an unknown state of the engine": (
        put(["taken", "engine"], "idling"),
        ("word_not_allowed", "taken.engine", {"given": "idling", "allowed": "off, running"}),
    ),
    "an unknown condition": (
        added(kind="condition", value="lining_craked"),
        ("unknown_condition", f"{NEXT} {AT_1_LEFT.format('condition')}", {"given": "lining_craked"}),
    ),
    "an unknown jurisdiction": (
        put(["units", 0, "runs_in"], ["us", "atlantis"]),
        ("unknown_jurisdiction", "units[0].runs_in (K-12)", {"given": "atlantis", "allowed": "ca-qc, us"}),
    ),
    # -- units and axles
    "a reading of an unknown unit": (
        added(kind="free_stroke", value="1/2 in", unit="K-21"),
        (
            "unknown_unit",
            f"{NEXT} (K-21, axle 1, left, free_stroke)",
            {"given": "K-21", "allowed": "K-12"},
        ),
    ),
    "a reading at an axle the unit does not have": (
        added(kind="free_stroke", value="1/2 in", axle=3),
        (
            "unknown_axle",
            f"{NEXT} (K-12, axle 3, left, free_stroke)",
            {"unit": "K-12", "axle": 3, "axles": 2},
        ),
    ),
    "a combination with an unknown unit": (
        put(["combinations"], [["K-12", "T-7"]]),
        ("unknown_unit", "combinations[0]", {"given": "T-7"}),
    ),
    "a unit in two combinations": (
        put(["combinations"], [["K-12"], ["K-12"]]),
        ("coupled_twice", "combinations[1]", {"given": "K-12"}),
    ),
    "a meter of an unknown unit": (
        put(["taken", "meter"], {"T-7": "5 mi"}),
        ("unknown_unit", "taken.meter", {"given": "T-7", "allowed": "K-12"}),
    ),
    "a touched end of an unknown unit": (
        put(["touched"], [{"unit": "T-7", "axle": 1, "side": "left"}]),
        ("unknown_unit", "touched[0]", {"given": "T-7"}),
    ),
    "a touched end at an axle the unit does not have": (
        put(["touched"], [{"unit": "K-12", "axle": 9, "side": "left"}]),
        ("unknown_axle", "touched[0]", {"axle": 9}),
    ),
    "the same unit twice": (
        lambda raw: raw["units"].append(raw["units"][0]),
        ("unit_twice", "units[1] (K-12)", {"given": "K-12"}),
    ),
    # -- quantities
    "a lining of millimetres written as inches": (
        added(kind="lining", shoe="front", place="centre", value="12 in"),
        ("implausible", f"{NEXT}.value {AT_1_LEFT.format('lining')}", {"text": "12 in"}),
    ),
    "a quantity without its unit": (
        added(kind="free_stroke", value="1/2"),
        ("no_unit", f"{NEXT}.value {AT_1_LEFT.format('free_stroke')}", {"text": "1/2"}),
    ),
    "a quantity in a unit that does not fit": (
        added(kind="free_stroke", value="1/2 psi"),
        ("wrong_unit", f"{NEXT}.value {AT_1_LEFT.format('free_stroke')}", {"text": "1/2 psi", "unit": "psi"}),
    ),
    "a quantity that reads two ways": (
        added(kind="free_stroke", value="13/4 in"),
        (
            "ambiguous_quantity",
            f"{NEXT}.value {AT_1_LEFT.format('free_stroke')}",
            {"text": "13/4 in", "guess": "3 1/4 in"},
        ),
    ),
    "a quantity nobody can read": (
        added(kind="free_stroke", value="half an inch"),
        (
            "unreadable_quantity",
            f"{NEXT}.value {AT_1_LEFT.format('free_stroke')}",
            {"text": "half an inch", "example": "1 3/4 in"},
        ),
    ),
    "a quantity off every division of a rule": (
        added(kind="free_stroke", value="3/7 in"),
        ("odd_division", f"{NEXT}.value {AT_1_LEFT.format('free_stroke')}", {"text": "3/7 in"}),
    ),
    "a number where a quantity belongs": (
        added(kind="free_stroke", value=0.5),
        ("not_text", f"{NEXT}.value {AT_1_LEFT.format('free_stroke')}", {"given": 0.5}),
    ),
    "a number where a meter belongs": (
        put(["taken", "meter"], {"K-12": 412350}),
        ("not_text", "taken.meter.K-12", {"given": 412350}),
    ),
    "a reservoir pressure without its unit": (
        put(["taken", "reservoir"], "90"),
        ("no_unit", "taken.reservoir", {"text": "90"}),
    ),
    "a rated stroke without its unit": (
        put([*CHAMBER, "rated_stroke"], "2.5"),
        ("no_unit", "units[0].axles[0].chamber.rated_stroke (K-12)", {"text": "2.5"}),
    ),
    "a drum size without its unit at one end": (
        put(["units", 0, "axles", 1, "right"], {"drum": {"nominal": "16.5"}}),
        ("no_unit", "units[0].axles[1].right.drum.nominal (K-12)", {"text": "16.5"}),
    ),
    "a size over nominal where nominal is not known": (
        lambda raw: (without("units", 0, "axles", 0, "drum")(raw), added(kind="drum_diameter", value="+.02 in")(raw)),
        (
            "unreadable_quantity",
            f"{NEXT}.value {AT_1_LEFT.format('drum_diameter')}",
            {"text": "+.02 in"},
        ),
    ),
    "a list where text belongs": (
        put(["units", 0, "number"], ["K-12"]),
        ("not_text", "units[0].number (['K-12'])", {"given": ["K-12"]}),
    ),
    "an axle number that is no whole number": (
        added(kind="free_stroke", value="1/2 in", axle="1"),
        ("wrong_type", f"{NEXT}.axle {AT_1_LEFT.format('free_stroke')}", {"given": "1"}),
    ),
    "an axle counted from nothing": (
        added(kind="free_stroke", value="1/2 in", axle=0),
        ("wrong_type", f"{NEXT}.axle (K-12, axle 0, left, free_stroke)", {"given": 0}),
    ),
    "a truth written as text": (
        put(["units", 0, "axles", 0, "spring_brake"], "yes"),
        ("wrong_type", "units[0].axles[0].spring_brake (K-12)", {"given": "yes"}),
    ),
    "no units": (put(["units"], []), ("wrong_type", "units", {"given": []})),
    "a reading that is no object": (
        lambda raw: raw["readings"].append("1/2 in"),
        ("wrong_type", NEXT, {"given": "1/2 in"}),
    ),
    "a time span of nothing": (
        of_unit(**{**LOSS, "seconds": 0}),
        ("wrong_type", f"{NEXT}.seconds (K-12, air_loss)", {"given": 0}),
    ),
    # -- times and dates
    "a time without its offset": (
        put(["taken", "at"], "2026-10-02T07:40:00"),
        ("time_without_offset", "taken.at", {"given": "2026-10-02T07:40:00"}),
    ),
    "a reading's own time without its offset": (
        added(kind="free_stroke", value="1/2 in", at="2026-10-02T07:40:00"),
        (
            "time_without_offset",
            f"{NEXT}.at {AT_1_LEFT.format('free_stroke')}",
            {"given": "2026-10-02T07:40:00"},
        ),
    ),
    "a day where a time belongs": (
        put(["taken", "at"], "2026-10-02"),
        ("time_without_offset", "taken.at", {"given": "2026-10-02"}),
    ),
    "a time that is none": (
        put(["taken", "at"], "2026-10-02T25:40:00-06:00"),
        ("unreadable_time", "taken.at", {"given": "2026-10-02T25:40:00-06:00"}),
    ),
    "a build date that is none": (
        put(["units", 0, "built"], "2019-13"),
        ("unreadable_build_date", "units[0].built (K-12)", {"given": "2019-13"}),
    ),
    "a build date as people write it elsewhere": (
        put(["units", 0, "built"], "03/2019"),
        ("unreadable_build_date", "units[0].built (K-12)", {"given": "03/2019"}),
    ),
    "a build date on a day that never was": (
        put(["units", 0, "built"], "2019-02-30"),
        ("unreadable_build_date", "units[0].built (K-12)", {"given": "2019-02-30"}),
    ),
    # -- readings against each other
    "the same place and kind twice at the same time": (
        added(kind="applied_stroke", value="1 1/4 in"),
        (
            "measured_twice",
            f"{NEXT} {AT_1_LEFT.format('applied_stroke')}",
            {"kind": "applied_stroke", "at": "2026-10-02T07:40:00-06:00"},
        ),
    ),
    "the same place and kind twice at the same moment by two clocks": (
        added(kind="applied_stroke", value="1 1/4 in", at="2026-10-02T13:40:00Z"),
        ("measured_twice", f"{NEXT} {AT_1_LEFT.format('applied_stroke')}", {"kind": "applied_stroke"}),
    ),
    "the same shoe twice at the same time": (
        added(kind="lining", shoe="upper", place="centre", value="1/2 in"),
        ("measured_twice", f"{NEXT} {AT_1_LEFT.format('lining')}", {"kind": "lining"}),
    ),
    "the same id with different content": (
        lambda raw: (
            added(kind="free_stroke", value="1/2 in", id="a")(raw),
            added(kind="free_stroke", value="3/8 in", id="a")(raw),
        ),
        ("id_twice", f"readings[17] {AT_1_LEFT.format('free_stroke')}", {"given": "a"}),
    ),
    "the same id at another place": (
        lambda raw: (
            added(kind="free_stroke", value="1/2 in", id="a")(raw),
            added(kind="free_stroke", value="1/2 in", id="a", side="right")(raw),
        ),
        ("id_twice", "readings[17] (K-12, axle 1, right, free_stroke)", {"given": "a"}),
    ),
    "both a shoe and a pad": (
        added(kind="lining", shoe="front", pad="inner", place="centre", value="1/2 in"),
        ("shoe_and_pad", f"{NEXT} {AT_1_LEFT.format('lining')}", {}),
    ),
    "both a value and what happened instead": (
        added(kind="applied_stroke", value="1 in", special="bottomed", at="2026-10-02T08:00:00-06:00"),
        ("value_and_special", f"{NEXT} {AT_1_LEFT.format('applied_stroke')}", {}),
    ),
    "air lost that was gained": (
        of_unit(**{**LOSS, "end": "101 psi"}),
        (
            "pressure_backwards",
            f"{NEXT} (K-12, air_loss)",
            {"kind": "air_loss", "start": "100 psi", "end": "101 psi"},
        ),
    ),
    "air built up that was lost": (
        of_unit(kind="build_up", start="100 psi", end="85 psi", seconds=20),
        ("pressure_backwards", f"{NEXT} (K-12, build_up)", {"kind": "build_up"}),
    ),
}


def distinct(problems):
    """The problems, each once: what an axle states wrongly is wrong at both its ends."""
    return [problem for position, problem in enumerate(problems) if problem not in problems[:position]]


@pytest.mark.parametrize("name", REFUSED)
def test_a_walk_around_is_refused_with_the_fault_and_its_place(name, clean, refusal_of):
    change, *wanted = REFUSED[name]
    change(clean)
    problems = distinct(refusal_of(clean))
    assert [(slug, where) for slug, where, _ in wanted] == [(problem.slug, problem.where) for problem in problems]
    for (_, _, details), problem in zip(wanted, problems, strict=True):
        assert details.items() <= problem.details.items()


def test_every_fault_that_reading_can_find_is_among_these():
    raised = set(re.findall(r"(?:Problem|_refuse)\(\s*\"([a-z_]+)\"", inspect.getsource(read_module)))
    of_the_file = {"not_json", "field_twice"}
    assert raised == {slug for _, *wanted in REFUSED.values() for slug, _, _ in wanted} - OF_QUANTITIES | of_the_file


def test_the_clean_walk_around_is_not_refused(clean, read):
    """Else the refusals above would prove nothing."""
    assert len(read(clean).readings) == len(clean["readings"])


def test_every_fault_is_reported_at_once_and_in_order(clean, refusal_of):
    for change in (
        put(["taken", "at"], "2026-10-02T07:40:00"),
        put(["units", 0, "runs_in"], ["atlantis"]),
        put(["units", 0, "built"], "2019"),
        put(["combinations"], [["T-7"]]),
        added(kind="free_stroke", value="1/2"),
        added(kind="free_stroke", value="1/2 in", axle=3),
        added(kind="condition", value="haunted"),
    ):
        change(clean)
    assert [problem.slug for problem in refusal_of(clean)] == [
        "time_without_offset",
        "unknown_jurisdiction",
        "unknown_unit",
        "no_unit",
        "unknown_axle",
        "unknown_condition",
    ]


def test_every_fault_of_structure_is_reported_at_once(clean, refusal_of):
    put(["colour"], "red")(clean)
    put(["units", 0, "kind"], "lorry")(clean)
    without("taken", "by")(clean)
    added(kind="free_stroke", value=3)(clean)
    assert sorted(problem.slug for problem in refusal_of(clean)) == [
        "missing_field",
        "not_text",
        "unknown_field",
        "word_not_allowed",
    ]


# -- the file itself


def refused_text(text, vocabulary):
    with pytest.raises(BadInput) as refused:
        read_walkaround(text, vocabulary)
    for language in LANGUAGES:
        assert explain(refused.value, language)
    return [(problem.slug, problem.where, problem.details) for problem in refused.value.problems]


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [("", 1, 1), ("{", 1, 2), ('{"treadle": "walkaround/1",\n "occasion": }', 2, 14), ("{'a': 1}", 1, 2)],
)
def test_what_is_no_json_is_refused_with_line_and_column(text, line, column, vocabulary):
    ((slug, where, details),) = refused_text(text, vocabulary)
    assert (slug, where, details["line"], details["column"]) == ("not_json", "file", line, column)


@pytest.mark.parametrize("text", ["[]", "3", '"walkaround/1"', "null", "NaN"])
def test_json_that_is_no_object_is_refused(text, vocabulary):
    ((slug, where, details),) = refused_text(text, vocabulary)
    assert (slug, where) == ("wrong_type", "file")
    assert "given" in details


@pytest.mark.parametrize("depth", ["file", "unit", "reading"])
def test_a_field_written_twice_is_refused_by_name_however_deep(depth, clean, vocabulary):
    text = json.dumps(clean)
    before = {"file": '"occasion": ', "unit": '"built": ', "reading": '"special": '}[depth]
    if depth == "reading":
        text = text.replace('"value": "1 in"', '"special": "bottomed", "value": "1 in"', 1)
    text = text.replace(before, f'{before}"first", {before}', 1)
    assert refused_text(text, vocabulary) == [("field_twice", "file", {"field": before[1:-3]})]


def test_a_field_written_twice_with_the_same_content_is_refused_too(clean, vocabulary):
    text = json.dumps(clean).replace('"occasion": "service"', '"occasion": "service", "occasion": "service"')
    assert refused_text(text, vocabulary) == [("field_twice", "file", {"field": "occasion"})]
