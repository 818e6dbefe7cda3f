"""From an assessment to a proposed job: which work answers which finding, and that nothing is dropped."""

import pytest

from treadle.assess import assess
from treadle.errors import BadInput
from treadle.planning import propose
from treadle.planning.answers import answers
from treadle.procedures import Facts
from treadle.rules.load import shipped as rules_shipped
from treadle.words import LANGUAGES

PRACTICE = "common practice, no source"


def end(axle, side, kind, value=None, **more):
    return {"axle": axle, "side": side, "kind": kind, **({} if value is None else {"value": value}), **more}


THIN = end(2, "right", "lining", "3/16 in", shoe="upper", place="centre")
NEARLY_THIN = end(2, "right", "lining", "9/32 in", shoe="upper", place="centre")
LONG = end(2, "left", "applied_stroke", "2 1/4 in")


def condition(name, axle=2, side="left"):
    return end(axle, side, "condition", name)


def work(proposal):
    return [(task.procedure, task.axle, task.sides, task.must) for task in proposal.tasks]


def note_keys(task):
    return [note.code.removeprefix("planning.note.") for note in task.notes]


def part_rows(proposal):
    return [(part.key, part.sides, part.quantity, part.certain, part.opportunistic) for part in proposal.parts]


def all_findings(proposal):
    lists = (proposal.measure_first, proposal.look_and_repair, proposal.keep_watching, proposal.by_hand)
    return [one for listed in (*lists, *(task.because for task in proposal.tasks)) for one in listed]


def test_a_clean_unit_asks_for_nothing(proposed):
    proposal = proposed()
    assert (proposal.tasks, proposal.parts, proposal.lifting, proposal.needs) == ((), (), (), ())
    assert all_findings(proposal) == []


# -- reline


def test_a_thin_lining_relines_both_ends_of_its_axle(proposed):
    # common practice, no source: both wheel ends of an axle get the same lining, at the same time
    proposal = proposed(THIN)
    assert work(proposal) == [("scam_reline", 2, ("left", "right"), True)]
    (task,) = proposal.tasks
    assert task.mate_sides == ("left",)
    assert {finding.verdict.rule for finding in task.because} == {
        "us.federal.lining.other.air_drum",
        "us.annual.lining.other_drum",
    }
    assert "49 CFR 393.47(d)(2)" in {finding.verdict.citation for finding in task.because}


def test_a_reline_takes_shoes_and_new_hardware_for_both_ends_and_a_drum_only_as_found(proposed):
    rows = part_rows(proposed(THIN))
    assert ("lined_shoes", ("left", "right"), 4, True, False) in rows, PRACTICE
    assert ("hardware_kit", ("left", "right"), 2, True, False) in rows, "Sheet on brake mechanics, 8.7, found S15"
    assert ("drum", ("left", "right"), None, False, False) in rows
    assert ("hub_seal", ("left", "right"), 2, False, False) in rows


def test_a_hub_that_comes_off_makes_its_seal_certain(proposed):
    rows = part_rows(proposed(THIN, facts={2: Facts(drum_fit="inboard")}))
    assert ("hub_seal", ("left", "right"), 2, True, False) in rows, PRACTICE


def test_a_lining_near_its_limit_is_opportunity_and_not_must(proposed):
    proposal = proposed(NEARLY_THIN)
    assert work(proposal) == [("scam_reline", 2, ("left", "right"), False)]
    assert note_keys(proposal.tasks[0]) == ["opportunity"]
    assert all(part.opportunistic for part in proposal.parts)


def test_what_fails_the_annual_alone_is_opportunity(proposed):
    # 393.47(d)(1): one strip of 3/16 in may be driven; Part 396 Appendix A asks for 1/4 in
    proposal = proposed(end(1, "left", "lining", "7/32 in", shoe="upper", place="centre"))
    assert work(proposal) == [("scam_reline", 1, ("left", "right"), False)]


def test_what_must_be_done_comes_before_what_could_be(proposed):
    thin_steer = end(1, "left", "lining", "9/32 in", shoe="upper", place="centre")
    assert work(proposed(thin_steer, THIN)) == [
        ("scam_reline", 2, ("left", "right"), True),
        ("scam_reline", 1, ("left", "right"), False),
    ]


def test_soaked_lining_is_relined_and_its_leak_found(proposed):
    (task,) = proposed(condition("lining_soaked")).tasks
    assert (task.procedure, note_keys(task)) == ("scam_reline", ["find_leak"]), PRACTICE


# -- over-stroke


def test_a_stroke_past_its_limit_has_its_cause_found_first_and_is_never_turned_up(proposed):
    # Sheet on brake mechanics, 3.4, NTSB HAR-06/01: manual adjusting masks the fault
    proposal = proposed(LONG)
    assert work(proposal) == [("find_overstroke_cause", 2, ("left",), True)]
    assert note_keys(proposal.tasks[0]) == ["never_turn_up"]
    assert [one.code for one in proposal.lifting] == ["planning.lifting.wheels_stay_down"]


def test_the_cause_is_found_before_a_reline_of_the_same_axle_opens_the_brake(proposed):
    proposal = proposed(THIN, LONG)
    assert [task.procedure for task in proposal.tasks] == ["find_overstroke_cause", "scam_reline"]
    assert "measure_before_reline" in note_keys(proposal.tasks[0])


def test_of_an_adjuster_nobody_knows_the_kind_is_looked_at(proposed):
    def unknown(raw):
        raw["units"][0]["axles"][1]["adjuster"] = {"kind": "unknown", "arm": "5.5 in"}

    (task,) = proposed(LONG, change=unknown).tasks
    assert "which_adjuster" in note_keys(task)


def test_a_manual_adjuster_is_set_by_its_makers_way(proposed):
    def manual(raw):
        raw["units"][0]["built"] = "1990-03"
        raw["units"][0]["axles"][1]["adjuster"] = {"kind": "manual", "arm": "5.5 in"}

    task = next(one for one in proposed(LONG, change=manual).tasks if one.procedure == "find_overstroke_cause")
    assert "manual_adjuster" in note_keys(task)


def test_a_stroke_near_its_limit_is_watched(proposed):
    proposal = proposed(end(2, "left", "applied_stroke", "2 in"))
    assert proposal.tasks == ()
    assert [one.verdict.code for one in proposal.keep_watching] == ["near_at_limit"]


def test_a_rod_that_does_not_move_is_repaired_before_anything_is_measured(proposed):
    proposal = proposed(end(2, "left", "applied_stroke", special="no_movement"))
    assert proposal.tasks == ()
    assert {one.verdict.args["kind"] for one in proposal.look_and_repair} == {"applied_stroke"}


# -- drums, chambers, adjusters


def test_a_cracked_drum_is_replaced_at_its_end_with_the_question_of_a_reline(proposed):
    proposal = proposed(condition("drum_cracked"))
    assert work(proposal) == [("drum_replacement", 2, ("left",), True)]
    assert note_keys(proposal.tasks[0]) == ["reline_question", "drum_mate"]
    rows = part_rows(proposal)
    assert ("drum", ("left",), 1, True, False) in rows
    assert ("drum", ("right",), 1, False, True) in rows, "Sheet on brake mechanics, 8.1, found S82: in pairs"


def test_a_drum_past_its_size_is_replaced(proposed):
    proposal = proposed(end(2, "left", "drum_diameter", "16.63 in"))
    assert work(proposal) == [("drum_replacement", 2, ("left",), True)]


def test_with_a_reline_of_the_axle_the_question_is_answered_and_no_part_is_there_twice(proposed):
    proposal = proposed(THIN, condition("drum_cracked"))
    assert [task.procedure for task in proposal.tasks] == ["scam_reline", "drum_replacement"]
    assert note_keys(proposal.tasks[1]) == ["drum_with_reline", "drum_mate"]
    assert proposal.tasks[1].id == "drum_replacement/2"
    places = [(part.key, side) for part in proposal.parts for side in part.sides]
    assert len(places) == len(set(places))
    assert ("drum", ("left",), 1, True, False) in part_rows(proposal)


def test_chambers_that_differ_are_made_alike_and_how_many_is_as_found(proposed):
    def other_size(raw):
        raw["units"][0]["axles"][1]["right"] = {
            "chamber": {"design": "clamp", "type": "24", "stroke_class": "standard"}
        }

    proposal = proposed(change=other_size)
    (task,) = [one for one in proposal.tasks if one.procedure == "chamber_replacement"]
    assert (task.sides, task.must, "which_end" in note_keys(task)) == (("left", "right"), True, True)
    assert ("chamber", ("left", "right"), None, True, False) in part_rows(proposal), "49 CFR 393.47(b)"


def test_a_leaking_chamber_is_replaced_and_its_mate_stays(proposed):
    proposal = proposed(condition("chamber_leak"))
    assert work(proposal) == [("chamber_replacement", 2, ("left",), True)]
    assert ("chamber", ("left",), 1, True, False) in part_rows(proposal)


def test_adjusters_of_different_length_are_made_alike(proposed):
    def longer(raw):
        raw["units"][0]["axles"][1]["right"] = {"adjuster": {"kind": "automatic", "arm": "6 in"}}

    assert work(proposed(change=longer)) == [("adjuster_replacement", 2, ("left", "right"), True)]


def test_a_damaged_adjuster_is_replaced(proposed):
    assert work(proposed(condition("adjuster_damaged"))) == [("adjuster_replacement", 2, ("left",), True)]


# -- what has no procedure


def test_a_leak_of_the_unit_is_repaired_by_its_remedy(proposed):
    leak = {"kind": "air_loss", "state": "applied", "start": "100 psi", "end": "90 psi", "seconds": 60}
    (finding,) = proposed(leak).look_and_repair
    assert (finding.unit, finding.axle, finding.verdict.args["kind"]) == ("K-12", None, "air_loss")


def test_what_was_not_seen_is_measured_first(proposed):
    def without_strokes(raw):
        raw["readings"] = [one for one in raw["readings"] if one["kind"] != "applied_stroke"]

    proposal = proposed(change=without_strokes)
    assert proposal.tasks == ()
    assert {one.verdict.code for one in proposal.measure_first} >= {"missing"}


def test_a_chamber_nobody_knows_is_looked_at_first(proposed):
    def unknown(raw):
        raw["units"][0]["axles"][1]["chamber"] = {"design": "clamp", "type": "30", "stroke_class": "unknown"}

    proposal = proposed(change=unknown)
    assert proposal.tasks == ()
    assert {one.verdict.code for one in proposal.measure_first} == {"identify_chamber"}


def test_a_limit_nobody_has_confirmed_goes_to_the_lead(proposed):
    def smaller(raw):
        raw["units"][0]["axles"][1]["chamber"] = {"design": "clamp", "type": "9"}

    assert {one.verdict.code for one in proposed(change=smaller).by_hand} == {"not_confirmed"}


def test_another_unit_of_the_combination_keeps_its_own_findings(spoilt, rules):
    def coupled(raw):
        axle = {**raw["units"][0]["axles"][1], "role": "trailer"}
        raw["units"].append(
            {"number": "T-7", "kind": "trailer", "built": "2019-03", "runs_in": ["us"], "axles": [axle]}
        )
        raw["combinations"] = [["K-12", "T-7"]]
        of_drive = [one for one in raw["readings"] if one.get("axle") == 2]
        raw["readings"] += [{**one, "unit": "T-7", "axle": 1} for one in of_drive]

    walk_around = spoilt(LONG, end(2, "right", "applied_stroke", "2 1/2 in"), change=coupled)
    assessment = assess(walk_around, rules)
    for number in ("K-12", "T-7"):
        proposal = propose(assessment, walk_around, number)
        assert {one.unit for one in all_findings(proposal)} == {number, None}
        assert "count_over" in {one.verdict.code for one in proposal.by_hand}
        assert {task.unit for task in proposal.tasks} == {number}


def test_the_share_of_a_combination_it_is_not_in_is_not_the_units(spoilt, rules):
    def alone(raw):
        raw["units"].append({**raw["units"][0], "number": "K-13"})
        raw["readings"] += [{**one, "unit": "K-13"} for one in raw["readings"] if one["kind"] != "applied_stroke"]

    walk_around = spoilt(LONG, end(2, "right", "applied_stroke", "2 1/2 in"), change=alone)
    proposal = propose(assess(walk_around, rules), walk_around, "K-13")
    assert "count_over" not in {one.verdict.code for one in proposal.by_hand}
    assert {one.unit for one in proposal.measure_first} >= {"K-13"}


def test_a_share_of_brakes_goes_to_the_lead(proposed):
    proposal = proposed(LONG, end(2, "right", "applied_stroke", "2 1/2 in"))
    assert "count_over" in {one.verdict.code for one in proposal.by_hand}


def test_a_disc_brake_has_no_procedure_here_and_is_repaired_by_its_remedy(proposed):
    def disc(raw):
        axle = raw["units"][0]["axles"][1]
        for name in ("lining_form", "drum"):
            axle.pop(name)
        axle["brake"] = "air_disc"
        raw["readings"] = [one for one in raw["readings"] if one.get("axle") != 2]
        raw["readings"].append(
            {"unit": "K-12", "axle": 2, "side": "left", "kind": "condition", "value": "slide_seized"}
        )
        pad = {"kind": "lining", "pad": "inner", "place": "thinnest", "value": "1/16 in"}
        raw["readings"].append({"unit": "K-12", "axle": 2, "side": "left", **pad})

    proposal = proposed(change=disc)
    assert proposal.tasks == ()
    assert {one.verdict.args["kind"] for one in proposal.look_and_repair} == {"condition", "lining"}


@pytest.mark.parametrize("name", sorted(set(rules_shipped().conditions) - {"none_seen"}))
def test_no_condition_is_dropped(name, proposed, rules):
    of_the_unit = {"kind": "condition", "value": name}
    proposal = proposed(of_the_unit if rules.conditions[name].part == "air" else condition(name))
    assert any(one.verdict.args.get("condition") == name for one in all_findings(proposal))


def test_every_condition_of_the_list_has_its_answer():
    assert set(answers().condition) == set(rules_shipped().conditions) - {"none_seen"}


def test_every_finding_that_is_not_good_stands_in_exactly_one_place(spoilt, rules):
    walk_around = spoilt(THIN, LONG, condition("rust_jacking", 1), condition("oil_at_edge", 1, "right"))
    assessment = assess(walk_around, rules)
    proposal = propose(assessment, walk_around, "K-12")
    wanted = [one for one in assessment.findings if one.outcome != "good"]
    assert sorted(map(id, all_findings(proposal))) == sorted(map(id, wanted))


# -- what the tasks bring


def test_a_proposal_brings_tools_hazards_cautions_and_needs_of_its_steps(proposed):
    proposal = proposed(THIN, facts={2: Facts(suspension="air")})
    assert {"procedure.tool.rated_stands", "procedure.tool.caging_tool"} <= {one.code for one in proposal.tools}
    assert {"fall", "spring_energy", "dust"} <= {one.key for one in proposal.hazards}
    assert {"planning.need.second_look", "planning.need.impact_air"} <= {one.code for one in proposal.needs}
    codes = [one.code for one in (*proposal.tools, *proposal.cautions, *proposal.needs)]
    assert len(codes) == len(set(codes))


def test_stands_are_asked_for_by_the_rating_of_the_axle_or_by_its_plate(proposed):
    # Sheet on shop work, 2.1, found 40: the rating of a pair exceeds the weight of the axle lifted
    def rated(raw):
        raw["units"][0]["axles"][1]["gawr"] = "20000 lb"

    assert "20000 lb" in proposed(THIN, change=rated).lifting[0].says("en")


def test_a_rating_not_on_file_is_not_assumed(proposed):
    lifting = [one.code for one in proposed(THIN).lifting]
    assert lifting[:2] == ["planning.lifting.stands_unknown", "planning.lifting.suspension_unknown"]


def test_hours_come_from_own_jobs_of_the_same_kind(proposed):
    history = {"scam_reline": [3.0, 3.1, 3.2], "drum_replacement": [9.0]}
    tasks = proposed(THIN, condition("drum_cracked"), history=history).tasks
    assert [task.hours.median for task in tasks] == [3.1, None]


@pytest.mark.parametrize("language", LANGUAGES)
def test_everything_proposed_can_be_said(language, proposed):
    proposal = proposed(THIN, LONG, condition("drum_cracked"), condition("chamber_leak", 1))
    said = [*proposal.tools, *proposal.lifting, *proposal.needs, *proposal.cautions]
    said += [one.says for one in (*proposal.hazards, *proposal.parts)] + [part.rule for part in proposal.parts]
    said += [sentence for task in proposal.tasks for sentence in (*task.notes, task.hours.says)]
    assert all(one.says(language).strip() for one in said)


def test_a_unit_that_was_not_walked_round_is_refused(proposed):
    with pytest.raises(BadInput, match="unknown_unit"):
        proposed(unit_number="K-99")
