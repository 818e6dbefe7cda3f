"""Who may work on a job, and what happens to it between proposal and release."""

from __future__ import annotations

from datetime import timedelta

import pytest
from web import line

from treadle.errors import BadInput
from treadle.web.bay import jobs
from treadle.web.bay.models import Bay, Job, JobHand
from treadle.web.bay.overview import timeline
from treadle.web.people.models import Qualification


def slug_of(refused):
    return refused.value.problems[0].slug


@pytest.fixture
def new_hand(person, in_shop):
    return person("technician")


@pytest.fixture
def proposed(worn, lead):
    return line.reline_job(worn, lead)


def test_somebody_without_a_qualification_is_refused_alone_and_taken_under_supervision(
    proposed, lead, new_hand, technician, now
):
    # 49 CFR 396.25: brake work is done by a qualified person or under their supervision.  Source: US rules, found.
    with pytest.raises(BadInput) as refused:
        jobs.accept(proposed, by=lead, at=now, does=[new_hand])
    assert slug_of(refused) == "not_qualified"
    jobs.accept(proposed, by=lead, at=now, does=[new_hand], supervises=technician)
    assert [(hand.person, hand.does) for hand in jobs.hands_on(proposed)] == [
        (new_hand, "work"),
        (technician, "supervise"),
    ]


def test_nobody_unqualified_supervises(proposed, lead, technician, new_hand, now):
    with pytest.raises(BadInput) as refused:
        jobs.accept(proposed, by=lead, at=now, does=[technician], supervises=new_hand)
    assert slug_of(refused) == "supervisor_not_qualified"
    assert not JobHand.objects.exists()


def test_a_qualification_that_has_run_out_no_longer_counts(proposed, lead, technician, now):
    Qualification.objects.filter(person=technician).update(expires_on=(now - timedelta(days=2)).date())
    with pytest.raises(BadInput) as refused:
        jobs.accept(proposed, by=lead, at=now, does=[technician])
    assert slug_of(refused) == "not_qualified"


def test_the_accept_page_shows_who_is_qualified_and_keeps_what_was_entered(proposed, lead, new_hand, asked):
    bay = Bay.objects.create(name="Bay 1")
    answer = asked(lead, f"/bay/{proposed.number}/accept/", {"does": [new_hand.pk], "supervises": "", "bay": bay.pk})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "no qualification for brakes is on record" in page
    assert f"{new_hand.name}: not qualified for brakes on record" in page
    assert f'value="{bay.pk}" selected' in page


def test_accepting_names_people_bay_and_day(proposed, lead, technician, asked):
    bay = Bay.objects.create(name="Bay 1")
    sent = {"does": [technician.pk], "supervises": "", "bay": bay.pk, "wanted_by": "2030-01-02T06:00"}
    assert asked(lead, f"/bay/{proposed.number}/accept/", sent).status_code == 302
    proposed.refresh_from_db()
    assert (proposed.state, proposed.bay) == ("accepted", bay)
    # 06:00 in Denver is 13:00 UTC in January.
    assert proposed.wanted_by.isoformat() == "2030-01-02T13:00:00+00:00"


def test_a_technician_accepts_nothing(proposed, technician, asked):
    assert asked(technician, f"/bay/{proposed.number}/accept/").status_code == 403


def test_only_its_own_people_and_a_lead_begin_a_job(proposed, lead, technician, person, now):
    jobs.accept(proposed, by=lead, at=now, does=[technician])
    with pytest.raises(BadInput) as refused:
        jobs.begin_work(proposed, by=line.qualified(person("technician")))
    assert slug_of(refused) == "not_on_job"
    assert jobs.begin_work(proposed, by=lead).state == Job.State.UNDER_WAY


def test_a_paused_job_says_why_until_it_is_taken_up_again(reline, technician, asked):
    paused = asked(technician, f"/bay/{reline.number}/pause/", {"why": "Waiting for shoes, springs caged."})
    assert paused.status_code == 302
    page = asked(technician, "/bay/").content.decode()
    assert "paused: Waiting for shoes, springs caged." in page
    asked(technician, f"/bay/{reline.number}/begin/", {})
    reline.refresh_from_db()
    assert reline.state == Job.State.UNDER_WAY


def test_a_pause_without_a_reason_is_refused(reline, technician, asked):
    assert asked(technician, f"/bay/{reline.number}/pause/", {"why": ""}).status_code == 422
    reline.refresh_from_db()
    assert reline.state == Job.State.UNDER_WAY


def test_handing_over_ends_the_ones_before_and_is_on_the_timeline(reline, technician, person, asked):
    other = line.qualified(person("technician"))
    sent = {"does": [other.pk], "supervises": "", "note": "Left side open, springs caged."}
    assert asked(technician, f"/bay/{reline.number}/hand-over/", sent).status_code == 302
    assert [hand.person for hand in jobs.hands_on(reline)] == [other]
    assert JobHand.objects.get(person=technician).until is not None
    assert timeline(reline, "en")[0]["says"] == f"Handed over to {other.name}. Left side open, springs caged."


def test_a_stranger_to_the_job_does_not_hand_it_over(reline, person, asked):
    other = line.qualified(person("technician"))
    answer = asked(other, f"/bay/{reline.number}/hand-over/", {"does": [other.pk], "supervises": "", "note": ""})
    assert answer.status_code == 422
    assert "is not on this job" in answer.content.decode()


def test_begun_work_is_not_dropped(reline, lead):
    with pytest.raises(BadInput) as refused:
        jobs.drop(reline, by=lead, why="a mistake")
    assert slug_of(refused) == "job_begun"


def test_a_task_the_work_showed_joins_the_job_once(reline, technician, asked):
    sent = {"procedure": "drum_replacement", "axle": "2", "sides": "left"}
    assert asked(technician, f"/bay/{reline.number}/add-task/", sent).status_code == 302
    assert list(reline.tasks.values_list("procedure", "sides")) == [
        ("scam_reline", ["left", "right"]),
        ("drum_replacement", ["left"]),
    ]
    assert asked(technician, f"/bay/{reline.number}/add-task/", sent).status_code == 422


def test_the_list_puts_ones_own_jobs_first_and_says_what_each_waits_for(reline, worn, lead, technician, asked):
    first = line.reline_job(worn, lead, axle=3)
    page = asked(technician, "/bay/").content.decode()
    assert page.index(reline.number) < page.index(first.number)
    assert "0 of 81 steps done, now: Make safe" in page
    assert "waits for the lead to accept it" in page


def test_with_nothing_open_the_list_teaches_the_next_step(lead, asked):
    assert "A job begins with how a unit was last seen" in asked(lead, "/bay/").content.decode()
