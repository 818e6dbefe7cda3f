"""The job card: cautions first, every step with its hazards, room at each hold point, the nuts, the drawing."""

import re
from dataclasses import replace
from math import atan2, degrees

import pytest

from treadle.errors import BadInput
from treadle.planning import propose
from treadle.procedures import shipped, star_order, steps_for
from treadle.reports.job_card import card_part, card_task, pdf, sheet
from treadle.reports.plan_view import Manner, plan_view
from treadle.reports.star_drawing import SIZE, star_drawing
from treadle.words import LANGUAGES, say

# The orders of shop practice, studs counted clockwise from the top from 1: opposite nuts in turn.
ORDERS = {5: (1, 3, 5, 2, 4), 6: (1, 4, 2, 5, 3, 6), 8: (1, 5, 3, 7, 2, 6, 4, 8), 10: (1, 6, 3, 8, 5, 10, 2, 7, 4, 9)}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_step_is_on_it_with_what_good_looks_like_and_its_hazards(card, read_paper, language):
    made = card(language)
    paper = read_paper(pdf(made, language))
    steps = made.tasks[0].steps
    assert len(steps) > 60
    for step in steps:
        for sentence in (step.action, step.purpose, step.good, step.otherwise):
            assert paper.says(sentence.says(language))
        for hazard in step.hazards:
            assert paper.says(hazard.says.says(language))
            assert all(paper.says(str(citation)) for citation in hazard.citations)


def test_every_caution_comes_before_the_first_step(card, read_paper, squeeze):
    made = card(cautions=("Air off before hands go in.",))
    text = read_paper(pdf(made)).text
    assert len(made.every_caution) > 3
    first = text.index(squeeze(made.tasks[0].steps[0].action.says("en")))
    for caution in made.every_caution:
        assert text.index(squeeze(caution)) < first


def test_each_number_of_a_step_stands_once_and_steps_alike_at_both_ends_are_printed_once(card):
    made = card()
    phases = sheet(made, "en").data["tasks"][0]["phases"]
    ends = [end for phase in phases for step in phase["steps"] for end in step["ends"]]
    assert sorted(int(end["number"]) for end in ends) == [step.number for step in made.tasks[0].steps]
    pairs = [step["ends"] for phase in phases for step in phase["steps"] if len(step["ends"]) > 1]
    assert pairs
    assert {tuple(end["side"] for end in pair) for pair in pairs} == {("left", "right")}


def test_the_steps_stay_in_the_order_of_work_at_each_end(card):
    phases = sheet(card(), "en").data["tasks"][0]["phases"]
    for side in ("left", "right"):
        numbers = [
            int(end["number"])
            for phase in phases
            for step in phase["steps"]
            for end in step["ends"]
            if end["side"] in ("", side)
        ]
        assert numbers == sorted(numbers)


def test_every_hold_point_has_a_box_for_each_number_and_for_two_people(card, read_paper):
    made = card()
    text = read_paper(pdf(made)).text
    holds = [step for step in made.tasks[0].steps if step.hold]
    second = [step for step in holds if "second_person" in step.hold.kinds]
    assert second
    assert text.count("doneby,time") == len(holds)
    assert text.count("secondperson,hastosign") == len(second)
    assert text.count("seenby") == len(holds) - len(second)
    assert text.count("torquereached") == len([step for step in holds if "torque" in step.hold.kinds])
    assert "startendseconds" in text


def test_torque_records_stay_whole_and_one_is_to_be_chosen(card, read_paper):
    made = card()
    paper = read_paper(pdf(made))
    records = [record for step in made.tasks[0].steps for record in step.torque]
    assert records
    for record in records:
        assert paper.says(record.says.says("en"))
    assert paper.says(say("paper.card.one_record"))


def test_the_order_of_the_nuts_is_drawn_and_said_for_those_who_cannot_see_it(card, read_paper):
    alternatives = read_paper(pdf(card())).alternatives
    assert [alt for alt in alternatives if "1, 6, 3, 8, 5, 10, 2, 7, 4, 9" in alt]


@pytest.mark.parametrize("studs", ORDERS)
def test_each_nut_is_drawn_where_it_is_with_its_turn(studs):
    drawn = star_drawing(star_order(studs))
    nuts = re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>(\d+)</text>', drawn)
    turns = {}
    for x, y, turn in nuts:
        angle = degrees(atan2(float(x) - SIZE / 2, SIZE / 2 - (float(y) - 7))) % 360
        turns[int(turn)] = round(angle / (360 / studs)) % studs + 1
    assert tuple(turns[turn] for turn in sorted(turns)) == ORDERS[studs]


def test_the_ends_worked_on_are_pointed_out_in_the_drawing_and_in_words(card, read_paper):
    made = card(ends=frozenset({(2, "right")}))
    drawn = plan_view(made.unit, made.assessment, manner=Manner(worked=made.ends))
    (left,) = re.findall(r'class="here" x="(\d+)"', drawn.svg)
    assert int(left) > SIZE
    assert [alt for alt in read_paper(pdf(made)).alternatives if "Worked on: T-7 axle 2 right." in alt]
    assert 'class="here"' not in plan_view(made.unit, made.assessment).svg


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_proposed_goes_on_a_card_as_it_is(card, demo, read_paper, language):
    proposal = propose(demo.assessment, demo.walk_around, "T-7")
    unit = card().unit
    procedures = shipped()
    tasks = tuple(
        card_task(
            task,
            procedures[task.procedure],
            steps_for(procedures[task.procedure], unit, task.axle, sides=task.sides),
            language,
        )
        for task in proposal.tasks
    )
    assert tasks
    parts = tuple(card_part(part, language) for part in proposal.parts)
    paper = read_paper(pdf(card(language, tasks=tasks, parts=parts), language))
    for task, planned in zip(tasks, proposal.tasks, strict=True):
        assert paper.says(f"{task.title}, {task.where}")
        for finding in planned.because:
            assert paper.says(finding.says(language))
    assert paper.says(say("paper.card.none.parts", language)) == (not parts)


def test_a_task_nothing_found_asks_for_says_so(card, read_paper):
    made = card()
    task = replace(made.tasks[0], because=(), opportunistic=True)
    assert read_paper(pdf(card(tasks=(task,)))).says(say("paper.card.opportunistic"))
    assert not read_paper(pdf(made)).says(say("paper.card.opportunistic"))


def test_ten_findings_are_all_on_it(card, why, read_paper):
    ten = tuple(replace(why()[n % len(why())], where=f"axle {n}") for n in range(10))
    paper = read_paper(pdf(card(tasks=(replace(card().tasks[0], because=ten),))))
    for n in range(10):
        assert paper.says(f"axle {n}.")


def test_a_card_without_work_or_without_cautions_is_refused(card):
    with pytest.raises(BadInput):
        card(tasks=())
    with pytest.raises(BadInput) as refused:
        card(tasks=(replace(card().tasks[0], cautions=()),))
    assert refused.value.problems[0].details == {"field": "cautions"}
