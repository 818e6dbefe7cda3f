"""What must come before what, where a wrong order hurts someone or spoils the proof."""

import pytest

from treadle.assess.needs import needed_at
from treadle.procedures import Facts, shipped

PRACTICE = "common practice, no source"
SHEET_7 = "Sheet on shop work, section 7"
BEFORE = [
    # one procedure, what comes first, what after it, and who says so
    ("scam_reline", "make_safe.chocks", "make_safe.raise", SHEET_7),
    ("scam_reline", "make_safe.suspension_air", "make_safe.raise", "Sheet on shop work, 2.3: before lifting"),
    ("scam_reline", "make_safe.raise", "make_safe.stands", "29 CFR 1910.244(a)(2)(iii): secured at once"),
    ("scam_reline", "make_safe.stands", "strip.wheels_off_duals/left", SHEET_7),
    ("scam_reline", "make_safe.pressure", "make_safe.release", PRACTICE),
    ("scam_reline", "strip.cage/left", "strip.back_off_pawl/left", f"{SHEET_7}: with the drum off cage the spring"),
    ("scam_reline", "strip.cage/right", "strip.drum_off_outboard/right", SHEET_7),
    ("scam_reline", "strip.back_off_pawl/left", "strip.drum_off_outboard/left", PRACTICE),
    ("scam_reline", "strip.dust/left", "strip.shoes_off/left", "29 CFR 1910.1001 Appendix F: wet before anything"),
    ("scam_reline", "inspect.drum_size/left", "rebuild.shoes_on/left", PRACTICE),
    ("scam_reline", "rebuild.springs_seated/left", "refit.drum_on/left", PRACTICE),
    ("scam_reline", "refit.drum_on/left", "refit.initial_adjustment/left", PRACTICE),
    ("scam_reline", "refit.snug/left", "refit.torque/left", "Sheet on shop work, 1.3 item 4"),
    ("scam_reline", "lower.parking_set", "lower.lower", PRACTICE),
    ("scam_reline", "lower.uncage/right", "prove.leak", PRACTICE),
    ("scam_reline", "prove.leak", "prove.applied_stroke/left", f"{PRACTICE}: applied leak first"),
    ("scam_reline", "prove.parking_hold", "prove.road_test", PRACTICE),
    ("chamber_replacement", "strip.cage/left", "strip.drain", SHEET_7),
    ("chamber_replacement", "strip.drain", "strip.lines_off/left", f"{SHEET_7}: drain before opening lines"),
    ("adjuster_replacement", "strip.cage/left", "strip.adjuster_off/left", SHEET_7),
    ("find_overstroke_cause", "find.as_found/right", "find.free_stroke/left", PRACTICE),
    ("find_overstroke_cause", "find.free_stroke/left", "find.full_applications", PRACTICE),
    ("find_overstroke_cause", "find.full_applications", "find.measured_again/left", PRACTICE),
    ("find_overstroke_cause", "find.measured_again/right", "find.cause/left", PRACTICE),
]


@pytest.mark.parametrize(("procedure", "first", "then", "proof"), BEFORE)
def test_the_order_of_work_is_kept(procedure, first, then, proof, steps):
    ids = list(steps(procedure))
    assert ids.index(first) < ids.index(then), proof


@pytest.mark.parametrize("procedure", ["scam_reline", "drum_replacement"])
def test_whatever_opens_a_brake_cages_its_spring_at_each_end_before_hands_go_in(procedure, steps):
    for facts in (Facts(), Facts(spring_brake=True)):
        resolved = list(steps(procedure, facts=facts).values())
        for side in ("left", "right"):
            of_side = [step for step in resolved if step.side == side]
            assert of_side[0].key in ("strip.cage", "strip.cage_look")
            assert of_side[0].hold is not None


@pytest.mark.parametrize("procedure", shipped())
def test_what_was_caged_is_uncaged_at_a_hold_point(procedure, steps):
    resolved = steps(procedure)
    caged = {one.removeprefix("strip.cage") for one in resolved if one.startswith("strip.cage")}
    freed = {
        one.removeprefix("lower.uncage")
        for one, step in resolved.items()
        if one.startswith("lower.uncage") and step.hold is not None
    }
    assert caged == freed


@pytest.mark.parametrize("procedure", shipped())
def test_the_spring_chamber_is_warned_of_wherever_it_is_handled(procedure, steps):
    handled = [step for step in steps(procedure).values() if "cage" in step.key or step.key == "strip.chamber_off"]
    assert all("spring_energy" in {hazard.key for hazard in step.hazards} for step in handled)


@pytest.mark.parametrize("procedure", shipped().values(), ids=lambda one: one.key)
def test_every_procedure_says_that_makers_prevail_and_who_may_do_it(procedure):
    codes = [caution.code for caution in procedure.cautions]
    assert {"procedure.caution.makers_prevail", "procedure.caution.qualified_person"} <= set(codes)


READING_FOR = {
    "stroke": "applied_stroke",
    "shoes": "lining",
    "air_loss.applied": "air_loss",
}


@pytest.mark.parametrize("procedure", ["scam_reline", "drum_replacement"])
def test_the_proof_reads_everything_the_occasion_after_work_needs(procedure, steps):
    needed = needed_at("after_work", "air_drum", rod_can_be_seen=True)
    wanted = {READING_FOR.get(need, need) for need in needed} | {"air_loss", "parking_hold"}
    for side in ("left", "right"):
        read = {
            one.kind
            for step in steps(procedure).values()
            if step.side in (side, None) and step.hold is not None
            for one in step.hold.measurements
            if one.is_reading
        }
        assert wanted <= read


def test_finding_a_cause_turns_nothing_and_proves_nothing(steps):
    assert not shipped()["find_overstroke_cause"].proves
    kept = [
        one
        for step in steps("find_overstroke_cause").values()
        if step.phase == "find" and step.hold
        for one in step.hold.measurements
    ]
    assert kept
    assert not any(one.is_reading for one in kept)
