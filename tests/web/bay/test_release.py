"""Proof and release: refused with every reason and a way to put it right, then sealed; parts and papers on the way."""

from __future__ import annotations

from datetime import timedelta

import pytest
from web import line

from treadle.errors import BadInput
from treadle.web.base.models import Seal
from treadle.web.bay import fitting, jobs, papers, release, steps
from treadle.web.bay.models import JobEvent, JobRelease
from treadle.web.units.models import FittedPart


@pytest.fixture
def done(reline, crew, shop, now, wrench):
    """The job with every part, reading and step on record."""
    technician, lead = crew
    line.fit_what_is_due(reline, technician, now - timedelta(hours=4))
    line.measure_after_work(reline, technician, shop, now - timedelta(hours=3))
    for state in steps.states_of(reline):
        line.write_down(reline, state, technician, lead, at=now - timedelta(hours=2), tool=wrench.number)
    return reline


def test_an_early_release_is_refused_on_record_with_a_link_for_each_reason(reline, lead, asked):
    answer = asked(lead, f"/bay/{reline.number}/release/", {})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "The refusal is on record" in page
    assert f'href="/bay/{reline.number}/steps/1/make_safe.level/"' in page
    assert f'href="/bay/{reline.number}/parts/2/left/lining/"' in page
    assert f'action="/bay/{reline.number}/measure/"' in page
    assert JobEvent.objects.filter(job=reline, what="release_refused").count() == 1
    assert "The refusal is on record" not in asked(lead, f"/bay/{reline.number}/release/").content.decode()


def test_looking_at_the_proof_puts_nothing_on_record(reline, lead, asked):
    before = JobEvent.objects.count()
    assert asked(lead, f"/bay/{reline.number}/release/").status_code == 200
    assert JobEvent.objects.count() == before


def test_a_technician_sees_the_proof_and_releases_nothing(done, technician, asked):
    page = asked(technician, f"/bay/{done.number}/release/", {}).content.decode()
    assert "Only the lead releases a job." in page
    assert not JobRelease.objects.exists()


def test_a_lead_without_a_qualification_releases_nothing(done, person, asked, now):
    refused = release.proof_for(done, by=person("lead"), at=now)
    assert [one.code for one in refused.refusals] == ["not_qualified"]


def test_a_stroke_past_its_limit_after_the_work_is_not_released(done, crew, now, asked):
    # 49 CFR 393.47(e): 2 in for a standard type 30.  Source: the sheet of US rules, found.
    technician, lead = crew
    line.measure_after_work(done, technician, done.shop, now - timedelta(hours=1), stroke="2 1/8 in")
    page = asked(lead, f"/bay/{done.number}/release/", {}).content.decode()
    assert "Not released." in page
    assert "393.47(e)" in page
    assert not JobRelease.objects.exists()


def test_a_part_recorded_after_it_was_measured_leaves_its_reading_unseen(done, technician, lead, now):
    spec = FittedPart.objects.get(unit=done.unit, axle=2, side="left", slot="lining", removed_at=None).spec
    part = {"axle": 2, "side": "left", "slot": "lining", "spec": spec, "lot": "L-2"}
    fitting.record_part(done, **part, at=now - timedelta(hours=1), by=technician, why="the wrong type")
    assert "judged_unseen" in {one.code for one in release.proof_for(done, by=lead, at=now).refusals}


def test_a_release_shows_its_seal_short_and_whole_and_when_the_re_check_is_due(done, lead, asked):
    answer = asked(lead, f"/bay/{done.number}/release/", {}, follow=True)
    page, seal = answer.content.decode(), Seal.objects.get()
    assert f">{seal.digest[:8]}<" in page
    assert f">{seal.digest}<" in page
    assert "412,050 mi" in page
    assert f"/bay/{done.number}/release.pdf" in page


def test_the_release_record_is_a_pdf_of_what_was_sealed(done, lead, now, asked):
    row = release.release(done, by=lead, at=now)
    record = papers.release_record_of(row, language="es", url="https://shop.example/bay/J-1/")
    assert record.seal.head == row.seal.digest
    assert {one.outcome for one in record.measured} <= {"good", "watch"}
    assert len(record.steps) == len(steps.states_of(done))
    assert [one.value for one in record.torque] == ["475 lbf·ft", "475 lbf·ft"]
    assert {one.lot for one in record.parts} == {"LOT-4411"}
    assert record.recheck.low == "412,050 mi"
    answer = asked(lead, f"/bay/{done.number}/release.pdf?paper=a4")
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


def test_the_release_record_of_an_open_job_leads_to_what_is_missing(reline, lead, asked):
    assert asked(lead, f"/bay/{reline.number}/release.pdf").headers["Location"] == f"/bay/{reline.number}/release/"


def test_a_paper_of_no_known_size_is_not_there(reline, lead, asked):
    assert asked(lead, f"/bay/{reline.number}/card.pdf?paper=a3").status_code == 404


def test_the_job_card_carries_cautions_ends_hands_and_every_step(reline, technician, lead, now, asked):
    card = papers.job_card_of(reline, language="en", url="https://shop.example/bay/J-1/", at=now, by=lead)
    assert card.ends == {(2, "left"), (2, "right")}
    assert card.hands == (technician.name,)
    assert len(card.tasks[0].steps) == len(steps.states_of(reline))
    assert card.every_caution
    assert asked(lead, f"/bay/{reline.number}/card.pdf").content.startswith(b"%PDF")


def test_the_same_part_and_lot_is_recorded_at_both_ends_from_the_one_before(reline, technician, now, asked):
    page = asked(technician, f"/bay/{reline.number}/parts/2/left/lining/").content.decode()
    assert 'value="riveted" selected' in page
    sent = {"lot": "L-9", "lining_form": "two_pads", "lining_attachment": "riveted", "lining_type": "A-23"}
    sent |= {"pattern": "4707", "new_thickness": "3/4", "wear_mark": "", "why": "worn", "other_side": "on"}
    sent["at"] = f"{now - timedelta(days=1):%Y-%m-%dT%H:%M}"
    assert asked(technician, f"/bay/{reline.number}/parts/2/left/lining/", sent).status_code == 302
    fitted = FittedPart.objects.filter(unit=reline.unit, slot="lining", fitted_in=reline.number)
    assert {(part.side, part.lot, part.spec["new_thickness"]) for part in fitted} == {
        ("left", "L-9", "3/4 in"),
        ("right", "L-9", "3/4 in"),
    }
    assert "hardware" in {slot for _, _, slot in fitting.still_to_record(reline)}
    assert "lining" not in {slot for _, _, slot in fitting.still_to_record(reline)}


def test_a_part_at_an_end_the_job_does_not_touch_is_not_there(reline, technician, asked):
    assert asked(technician, f"/bay/{reline.number}/parts/3/left/lining/").status_code == 404


def test_a_search_for_a_cause_proves_nothing_and_is_ended_with_what_was_found(worn, lead, technician, now, asked):
    task = {"procedure": "find_overstroke_cause", "axle": 2, "sides": ["left"], "why": []}
    job = jobs.accept(jobs.open_job(worn, [task], by=lead), by=lead, at=now, does=[technician])
    jobs.begin_work(job, by=technician)
    with pytest.raises(BadInput) as refused:
        steps.begin_proof(job, by=technician, at=now, zone=line.ZONE)
    assert refused.value.problems[0].slug == "nothing_to_prove"
    assert "nothing_proved" in {one.code for one in release.proof_for(job, by=lead, at=now).refusals}
    assert asked(lead, f"/bay/{job.number}/drop/", {"why": "Bracket bent; adjuster ordered."}).status_code == 302
    job.refresh_from_db()
    assert job.state == "dropped"
