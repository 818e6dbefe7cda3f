"""From a procedure to the steps of one axle: what its facts bring in, both ways where they are not known, the order."""

from itertools import pairwise

import pytest

from treadle.errors import BadInput
from treadle.procedures import FACT_WORDS, PHASES, Facts, shipped, steps_for
from treadle.words import LANGUAGES, explain

NOTHING = Facts()


@pytest.mark.parametrize("procedure", shipped())
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_of_every_step_can_be_said(procedure, language, steps):
    for facts in (NOTHING, Facts(mounting="stud_piloted", studs=6, duals=False, drum_fit="inboard")):
        for step in steps(procedure, facts=facts).values():
            said = [step.phase_title, step.action, step.purpose, step.good, step.otherwise, *step.tools]
            said += [one.says for one in (*step.hazards, *step.figures, *step.torque)]
            if step.hold is not None:
                said += [one.says for one in step.hold.measurements]
                said += [step.hold.confirm] if step.hold.confirm else []
            assert all(one.says(language).strip() for one in said)


@pytest.mark.parametrize("procedure", shipped())
def test_steps_are_numbered_from_one_and_their_phases_follow_one_another(procedure, steps):
    resolved = list(steps(procedure).values())
    assert [step.number for step in resolved] == list(range(1, len(resolved) + 1))
    assert all(PHASES.index(one.phase) <= PHASES.index(two.phase) for one, two in pairwise(resolved))


@pytest.mark.parametrize("procedure", shipped())
def test_no_step_comes_twice_whatever_is_known(procedure, truck):
    for facts in (NOTHING, Facts(suspension="air", duals=True, studs=8, drum_fit="inboard", mounting="stud_piloted")):
        ids = [step.id for step in steps_for(shipped()[procedure], truck, 2, facts=facts)]
        assert len(ids) == len(set(ids))


def test_a_step_at_each_end_comes_once_a_side_and_the_left_end_is_worked_through_first(steps):
    rebuild = [step for step in steps().values() if step.phase == "rebuild"]
    assert [step.side for step in rebuild] == ["left"] * (len(rebuild) // 2) + ["right"] * (len(rebuild) // 2)
    assert [step.key for step in rebuild if step.side == "left"] == [
        step.key for step in rebuild if step.side == "right"
    ]


def test_both_springs_are_caged_before_a_wheel_comes_off(steps):
    assert [step.id for step in steps().values() if step.phase == "strip"][:3] == [
        "strip.cage/left",
        "strip.cage/right",
        "strip.wheels_off_duals/left",
    ]


def test_one_end_alone_has_no_step_of_the_other(steps):
    assert {step.side for step in steps("drum_replacement", sides=["right"]).values()} == {None, "right"}


# -- what is known, and what is not

VARIANTS = [
    # the fact, its words, and the step each brings in where the others bring none
    ("suspension", {"air": "make_safe.suspension_air", "spring": None}, "make_safe.suspension_look"),
    (
        "mounting",
        {
            "hub_piloted_m22": "refit.torque/left",
            "hub_piloted_m20": "refit.torque/left",
            "stud_piloted": "refit.torque_ball_seat/left",
        },
        "refit.torque_look/left",
    ),
    ("studs", {10: "refit.snug/left", 8: "refit.snug/left"}, "refit.snug_look/left"),
    ("duals", {True: "strip.wheels_off_duals/left", False: "strip.wheels_off/left"}, "strip.wheels_off_look/left"),
    ("duals", {True: "refit.wheels_on_duals/left", False: "refit.wheels_on/left"}, "refit.wheels_on_look/left"),
    (
        "drum_fit",
        {"outboard": "strip.drum_off_outboard/left", "inboard": "strip.drum_off_inboard/left"},
        "strip.drum_off_look/left",
    ),
    ("drum_fit", {"outboard": None, "inboard": "refit.hub_on/left"}, "refit.hub_look/left"),
    (
        "adjuster_release",
        {"pull_pawl": "strip.back_off_pawl/left", "none": "strip.back_off_clutch/left"},
        "strip.back_off_look/left",
    ),
    ("spring_brake", {True: "strip.cage/left", False: None}, "strip.cage_look/left"),
    ("spring_brake", {True: "lower.uncage/left", False: None}, "lower.uncage_look/left"),
]


@pytest.fixture
def unit_without_record(clean, read):
    """K-12, and nobody has noted whether its drive axle has spring brakes."""
    clean["units"][0]["axles"][1].pop("spring_brake")
    return read(clean).units[0]


@pytest.mark.parametrize(("fact", "known", "unknown"), VARIANTS)
def test_each_word_of_a_fact_brings_in_its_step_and_none_the_step_that_says_to_look(
    fact, known, unknown, unit_without_record
):
    def ids(value):
        facts = Facts(**({} if value is None else {fact: value}))
        return {step.id for step in steps_for(shipped()["scam_reline"], unit_without_record, 2, facts=facts)}

    every = {step for step in (*known.values(), unknown) if step}
    for value, step in known.items():
        assert ids(value) & every == ({step} if step else set())
    assert ids(None) & every == {unknown}


@pytest.mark.parametrize("procedure", shipped().values(), ids=lambda one: one.key)
def test_every_fact_a_procedure_asks_about_has_a_step_for_when_it_is_not_known(procedure):
    asked = {fact for plan in procedure.plans for fact in plan.when}
    looked = {fact for plan in procedure.plans for fact, words in plan.when.items() if "unknown" in words}
    assert asked == looked


def test_a_spring_brake_is_as_the_fleet_has_it_unless_the_bay_knows_better(steps):
    assert "strip.cage/left" in steps(axle=2)
    assert not {"strip.cage/left", "strip.cage_look/left", "make_safe.pressure"} & set(steps(axle=1))
    assert "strip.cage/left" in steps(axle=1, facts=Facts(spring_brake=True))


def test_one_spring_brake_on_the_axle_asks_for_air_and_cages_that_end_alone(clean, read):
    clean["units"][0]["axles"][1]["left"] = {"spring_brake": False}
    ids = {step.id for step in steps_for(shipped()["scam_reline"], read(clean).units[0], 2)}
    assert {"make_safe.pressure", "strip.cage/right"} <= ids
    assert not {"strip.cage/left", "lower.uncage/left"} & ids


def test_a_manual_adjuster_of_the_record_is_backed_off_by_its_lock_sleeve(clean, read):
    clean["units"][0]["axles"][1]["adjuster"] = {"kind": "manual", "arm": "5.5 in"}
    ids = {step.id for step in steps_for(shipped()["scam_reline"], read(clean).units[0], 2)}
    assert {"strip.back_off_manual/left", "strip.back_off_manual/right"} <= ids
    assert "strip.back_off_look/left" not in ids


def test_the_star_order_of_the_studs_stands_in_the_step(steps):
    step = steps()["refit.snug/left"]
    assert step.order == (1, 6, 3, 8, 5, 10, 2, 7, 4, 9)
    assert "1 6 3 8 5 10 2 7 4 9" in step.action.says("es")
    assert steps(facts=NOTHING)["refit.snug_look/left"].order == ()


# -- refusals


@pytest.mark.parametrize("fact", FACT_WORDS)
def test_a_word_a_fact_does_not_have_is_refused_with_those_it_has(fact):
    with pytest.raises(BadInput) as refused:
        Facts(**{fact: "made_up"})
    assert all(word in explain(refused.value) for word in FACT_WORDS[fact])


def test_an_axle_the_unit_does_not_have_is_refused(truck):
    with pytest.raises(BadInput, match="unknown_axle at K-12"):
        steps_for(shipped()["scam_reline"], truck, 3)


def test_a_side_that_is_none_is_refused(truck):
    with pytest.raises(BadInput, match="word_not_allowed at sides"):
        steps_for(shipped()["scam_reline"], truck, 2, ["middle"])


def test_an_end_without_an_air_drum_brake_is_refused(clean, read):
    axle = clean["units"][0]["axles"][1]
    clean["units"][0]["axles"][1] = {name: axle[name] for name in ("role", "chamber", "adjuster")} | {
        "brake": "air_disc"
    }
    clean["readings"] = []
    with pytest.raises(BadInput, match="word_not_allowed at K-12, 2, left"):
        steps_for(shipped()["scam_reline"], read(clean).units[0], 2)
