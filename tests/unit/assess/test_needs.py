"""What each occasion needs at a wheel end and of a unit, and that each thing needed and absent is named unseen."""

import json
from pathlib import Path

import pytest

from treadle.assess.needs import needed_at, needed_of

PAIRS = Path(__file__).parents[2] / "acceptance" / "pairs"
DRUM = ("stroke", "shoes", "condition")
DISC = ("pads", "wear_indicator", "running_clearance", "condition")
WEDGE = ("scribe_movement", "shoes", "condition")
AIR = ("air_drum", "air_disc", "air_wedge")
OTHERS = {
    "hydraulic_drum": ("shoes", "condition"),
    "hydraulic_disc": ("pads", "condition"),
    "electric": ("shoes", "condition"),
}
AS_SERVICE = ("service", "received", "roadside", "periodic", "after_work")


@pytest.mark.parametrize("brake", [*AIR, *OTHERS])
@pytest.mark.parametrize("rod", [True, False])
def test_a_daily_look_needs_one_condition_from_outside(brake, rod):
    assert needed_at("daily", brake, rod_can_be_seen=rod) == ("condition",)


@pytest.mark.parametrize("occasion", ["service", "roadside", "periodic"])
@pytest.mark.parametrize(
    ("brake", "rod", "needs"),
    [
        ("air_drum", True, DRUM),
        ("air_drum", False, DRUM[1:]),
        ("air_disc", True, ("stroke", *DISC)),
        ("air_disc", False, DISC),
        ("air_wedge", False, WEDGE),
        *((brake, False, needs) for brake, needs in OTHERS.items()),
    ],
)
def test_an_inspection_needs_stroke_lining_and_condition_as_the_brake_shows_them(occasion, brake, rod, needs):
    assert needed_at(occasion, brake, rod_can_be_seen=rod) == needs


@pytest.mark.parametrize("brake", [*AIR, *OTHERS])
@pytest.mark.parametrize("rod", [True, False])
def test_a_unit_received_needs_its_tags_too_where_it_has_air_brakes(brake, rod):
    more = ("tags",) if brake in AIR else ()
    assert needed_at("received", brake, rod_can_be_seen=rod) == needed_at("service", brake, rod_can_be_seen=rod) + more


@pytest.mark.parametrize(
    ("brake", "rod", "more"),
    [
        ("air_drum", True, ("free_stroke", "drum_diameter")),
        ("air_drum", False, ("drum_diameter",)),
        ("air_disc", True, ("free_stroke", "rotor_thickness")),
        ("air_disc", False, ("rotor_thickness",)),
        ("air_wedge", False, ("drum_diameter",)),
        ("hydraulic_drum", False, ("drum_diameter",)),
        ("hydraulic_disc", False, ("rotor_thickness",)),
        ("electric", False, ("drum_diameter",)),
    ],
)
def test_after_work_the_size_of_what_was_open_is_needed_too(brake, rod, more):
    service = needed_at("service", brake, rod_can_be_seen=rod)
    assert needed_at("after_work", brake, rod_can_be_seen=rod) == service + more


@pytest.mark.parametrize(
    ("occasion", "needs"),
    [
        ("daily", ("low_air_warning", "air_loss.applied")),
        ("service", ()),
        ("received", ()),
        ("roadside", ()),
        ("periodic", ("build_up", "low_air_warning", "air_loss.released", "air_loss.applied", "spring_brake_set")),
        ("after_work", ("air_loss.applied", "parking_hold")),
    ],
)
def test_each_occasion_needs_its_own_tests_of_a_power_unit(occasion, needs, clean, read):
    assert needed_of(occasion, read(clean).units[0]) == needs


@pytest.mark.parametrize("kind", ["trailer", "dolly"])
def test_a_unit_without_an_engine_never_needs_its_own_warning_or_build_up(kind, clean, read):
    clean["units"][0]["kind"] = kind
    unit = read(clean).units[0]
    for occasion in ("daily", "periodic"):
        assert not {"low_air_warning", "build_up"} & set(needed_of(occasion, unit))
        assert "air_loss.applied" in needed_of(occasion, unit)


@pytest.mark.parametrize(
    ("kind", "spring_brakes", "asked"),
    [
        ("truck", [False, True], True),
        ("truck", [False, False], False),
        ("truck", [None, False], True),
        ("trailer", [None, None], True),
        ("dolly", [None, None], False),
        ("dolly", [True, None], True),
    ],
)
def test_spring_brakes_need_setting_where_there_may_be_some(kind, spring_brakes, asked, clean, read):
    clean["units"][0]["kind"] = kind
    for axle, stated in zip(clean["units"][0]["axles"], spring_brakes, strict=True):
        axle["spring_brake"] = stated
    unit = read(clean).units[0]
    assert ("spring_brake_set" in needed_of("periodic", unit)) is asked
    assert ("parking_hold" in needed_of("after_work", unit)) is (kind != "dolly" or asked)


@pytest.mark.parametrize("occasion", ["daily", "periodic", "after_work"])
def test_a_unit_without_air_brakes_needs_no_air_test(occasion, clean, read):
    for axle in clean["units"][0]["axles"]:
        axle["brake"] = "hydraulic_drum"
    assert needed_of(occasion, read(clean).units[0]) == ()


# -- needed and absent


def unseen_at_its_place(assessment):
    """The unseen findings, less the one that says the share of defective brakes is open for want of a reading."""
    return [one for one in assessment.findings if one.outcome == "unseen" and one.unit is not None]


@pytest.mark.parametrize("occasion", ["daily", *AS_SERVICE])
def test_a_clean_walk_around_has_all_that_the_occasion_it_was_made_for_needs(
    occasion, clean_walk_around, judged, found
):
    assessment = judged(clean_walk_around(occasion))
    assert unseen_at_its_place(assessment) == []
    rests_on_memory = [("watch", "not_confirmed_part")] * 4 if occasion == "after_work" else []
    assert found(assessment) == rests_on_memory


@pytest.mark.parametrize("occasion", ["received", "periodic", "after_work"])
def test_a_clean_service_walk_around_lacks_what_another_occasion_needs_beyond_it(occasion, clean, judged):
    assert judged(clean).outcome == "good"
    assert judged(clean, occasion=occasion).outcome == "unseen"


ABSENT = [
    ("service", {"kind": "applied_stroke"}, ["applied_stroke"]),
    ("service", {"kind": "lining", "shoe": "upper"}, ["lining", "upper"]),
    ("service", {"kind": "condition"}, ["condition"]),
    ("received", {"kind": "tags"}, ["tags"]),
    ("after_work", {"kind": "free_stroke"}, ["free_stroke"]),
    ("after_work", {"kind": "drum_diameter"}, ["drum_diameter"]),
    ("after_work", {"kind": "parking_hold"}, ["parking_hold"]),
    ("daily", {"kind": "condition"}, ["condition"]),
    ("daily", {"kind": "low_air_warning"}, ["low_air_warning"]),
    ("daily", {"kind": "air_loss"}, ["air_loss", "applied"]),
    ("periodic", {"kind": "build_up"}, ["build_up"]),
    ("periodic", {"kind": "air_loss", "state": "released"}, ["air_loss", "released"]),
    ("periodic", {"kind": "spring_brake_set"}, ["spring_brake_set"]),
]


@pytest.mark.parametrize(("occasion", "absent", "missing"), ABSENT)
def test_what_is_needed_and_absent_gives_one_unseen_finding_that_names_it(
    occasion, absent, missing, clean_walk_around, judged
):
    raw = clean_walk_around(occasion)
    gone = next(row for row in raw["readings"] if absent.items() <= row.items())
    raw["readings"].remove(gone)
    assessment = judged(raw)
    (finding,) = unseen_at_its_place(assessment)
    assert (finding.verdict.code, list(finding.verdict.missing)) == ("missing", missing)
    assert (finding.unit, finding.axle, finding.side) == ("K-12", gone.get("axle"), gone.get("side"))
    assert assessment.outcome == "unseen"


@pytest.mark.parametrize(("occasion", "absent", "missing"), [row for row in ABSENT if row[1]["kind"] != "condition"])
def test_what_was_looked_for_and_not_seen_stays_unseen_with_its_reason(
    occasion, absent, missing, clean_walk_around, judged
):
    raw = clean_walk_around(occasion)
    gone = next(row for row in raw["readings"] if absent.items() <= row.items())
    raw["readings"].remove(gone)
    place = {name: gone[name] for name in ("unit", "axle", "side") if name in gone}
    raw["readings"].append({**place, "kind": "not_seen", "what": gone["kind"], "reason": "packed with mud"})
    (finding,) = unseen_at_its_place(judged(raw))
    assert (finding.verdict.code, list(finding.verdict.missing)) == ("not_seen", missing)
    for language in ("en", "es"):
        assert "packed with mud" in finding.says(language)


def test_what_is_optional_and_absent_is_listed_and_has_no_outcome(clean, judged):
    left_out = {(one.what, one.why) for one in judged(clean).not_judged if (one.axle, one.side) == (1, "left")}
    assert {("wear_indicator", "optional"), ("free_stroke", "optional"), ("drum_diameter", "optional")} <= left_out


@pytest.mark.parametrize(("opened", "asked"), [({}, True), ({"opened": True}, True), ({"opened": False}, False)])
def test_after_work_asks_for_the_size_of_what_was_open_and_not_of_what_stayed_shut(opened, asked, judged):
    # Design, occasions: after work needs "the size of what was open (drum, rotor)".
    raw = json.loads((PAIRS / "39-after-work-no-parking-hold.walkaround.json").read_text(encoding="utf-8"))
    unit = raw["units"][0]["number"]
    raw["readings"] = [one for one in raw["readings"] if one["kind"] != "drum_diameter"]
    raw["touched"] = [{"unit": unit, "axle": 1, "side": side, **opened} for side in ("left", "right")]
    missing = {what for finding in judged(raw).findings for what in finding.verdict.missing}
    assert ("drum_diameter" in missing) is asked
