"""From how a unit was last seen to an open job; looking changes nothing."""

from __future__ import annotations

import pytest
from web import line

from treadle.errors import BadInput
from treadle.planning import FEWEST_JOBS
from treadle.web.bay import jobs
from treadle.web.bay.models import Job
from treadle.web.bay.proposal_json import in_language, proposal_as_json
from treadle.web.bay.proposing import ByHand, open_proposed
from treadle.web.walkaround.models import Judged


def test_a_lining_under_its_limit_proposes_the_reline_of_the_axle_with_its_citation(worn, lead, now):
    # 49 CFR 393.47(d)(2): 1/4 in of lining at the shoe centre of a drive axle.  Source: the sheet of US rules, found.
    proposal = proposal_as_json(jobs.proposal_for(worn, by=lead, at=now))
    (task,) = [one for one in proposal["tasks"] if one["procedure"] == "scam_reline"]
    assert (task["axle"], task["sides"], task["must"]) == (2, ["left", "right"], True)
    assert any("393.47(d)" in finding["citation"] for finding in task["because"])
    assert task["mate_sides"] == ["right"]


def test_a_proposal_reads_back_in_either_language(worn, lead, now):
    kept = proposal_as_json(jobs.proposal_for(worn, by=lead, at=now))
    english, spanish = in_language(kept, "en"), in_language(kept, "es")
    assert english["tasks"][0]["title"] == "Reline an S-cam axle"
    assert spanish["tasks"][0]["title"] == "Reforrar un eje de leva S"
    assert english["parts"][0]["quantity"] == spanish["parts"][0]["quantity"]


def test_without_enough_own_jobs_there_is_no_estimate(worn, lead, asked):
    page = asked(lead, "/bay/propose/?unit=K-12").content.decode()
    assert f"no estimate: 0 of our own jobs of this kind, and it takes {FEWEST_JOBS}" in page


def test_looking_at_a_proposal_keeps_nothing(worn, lead, asked):
    before = Job.objects.count(), Judged.objects.count()
    assert asked(lead, "/bay/propose/?unit=K-12").status_code == 200
    assert (Job.objects.count(), Judged.objects.count()) == before


def test_what_is_ticked_becomes_the_job_with_the_assessment_behind_it(worn, technician, asked):
    answer = asked(technician, "/bay/propose/", {"unit": "K-12", "tasks": ["scam_reline/2"], "note": "Wanted early."})
    job = Job.objects.get(unit=worn)
    assert answer.headers["Location"] == f"/bay/{job.number}/"
    assert [(task.procedure, task.axle, task.sides) for task in job.tasks.all()] == [
        ("scam_reline", 2, ["left", "right"])
    ]
    assert job.from_judged.outcome == "fix"
    assert job.proposal["unit"] == "K-12"
    assert (job.state, job.note) == ("proposed", "Wanted early.")


def test_a_procedure_added_by_hand_joins_what_was_ticked(worn, lead, now):
    job = open_proposed(worn, ["scam_reline/2"], by=lead, at=now, by_hand=[ByHand("drum_replacement", 2, ("left",))])
    assert [(task.procedure, task.sides) for task in job.tasks.all()] == [
        ("scam_reline", ["left", "right"]),
        ("drum_replacement", ["left"]),
    ]
    assert job.tasks.get(procedure="drum_replacement").why == []


def test_nothing_ticked_opens_nothing_and_says_so(worn, lead, asked):
    answer = asked(lead, "/bay/propose/", {"unit": "K-12", "note": "kept"})
    assert answer.status_code == 422
    assert "a job needs at least one task" in answer.content.decode()
    assert "kept" in answer.content.decode()
    assert not Job.objects.exists()


def test_what_is_no_longer_proposed_is_not_opened(worn, technician, shop, lead, now):
    line.walk(worn, technician, shop, at=now)
    with pytest.raises(BadInput) as refused:
        open_proposed(worn, ["scam_reline/2"], by=lead, at=now)
    assert refused.value.problems[0].slug == "proposal_changed"
    assert not Job.objects.exists()


def test_what_nobody_measured_is_to_be_measured_first(lead, now, asked):
    line.tractor(lead, "K-30", at=now)
    page = asked(lead, "/bay/propose/?unit=K-30").content.decode()
    assert "Measure these before you decide" in page
    assert "Tasks" in page


def test_a_unit_of_another_number_is_not_there(worn, lead, asked):
    assert asked(lead, "/bay/propose/?unit=K-99").status_code == 404


def test_the_list_to_choose_from_leaves_out_what_is_good(worn, lead, asked):
    page = asked(lead, "/bay/propose/").content.decode()
    assert "K-12" in page
