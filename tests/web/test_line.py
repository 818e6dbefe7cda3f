"""One vehicle from walk-around to dispatch, through the functions the pages call, on the tables they use."""

from __future__ import annotations

from datetime import timedelta

import pytest
from web.line import (
    NOW,
    SIDES,
    fit_what_is_due,
    measure_after_work,
    qualified,
    reline_job,
    tractor,
    trailer,
    walk,
    wrench,
    write_down,
)

from treadle.web.base.models import Seal, Unalterable
from treadle.web.base.seal import broken_links
from treadle.web.bay import jobs, release, steps
from treadle.web.bay.models import JobEvent, ReCheck
from treadle.web.dispatch import board
from treadle.web.dispatch.models import HoldEvent
from treadle.web.units.couple import couple
from treadle.web.units.models import FittedPart
from treadle.web.walkaround.judge import work_out_standing
from treadle.web.walkaround.models import Judged

pytestmark = pytest.mark.usefixtures("in_shop")


@pytest.fixture
def lead(person):
    return qualified(person("lead", "technician"))


@pytest.fixture
def technician(person):
    return qualified(person("technician"))


def found(judged, outcome):
    return {
        (one["unit"], one["axle"], one["side"], one["rule"])
        for one in judged.result["findings"]
        if one["outcome"] == outcome
    }


def test_a_good_combination_is_let_go_and_the_release_is_sealed(lead, technician, shop):
    unit, behind = tractor(lead), trailer(lead)
    couple(unit, behind, at=NOW - timedelta(days=1), by=lead)
    _, judged = walk(unit, technician, shop)
    assert judged.outcome in ("good", "watch")
    release_row = board.let_go([unit, behind], shop=shop, by=lead, at=NOW + timedelta(hours=1))
    assert release_row.combination == ["K-12", "T-7"]
    assert release_row.judged.about == Judged.About.DISPATCH
    assert broken_links(Seal.objects.all()) == []


def test_a_stroke_past_its_limit_and_a_thin_lining_are_fix_with_their_citations(lead, technician, shop):
    # 49 CFR 393.47(e): a type 30 standard chamber at 90 to 100 psi may stroke 2 in; 393.47(d)(2): 1/4 in of lining
    # at the shoe centre of a drive axle; of ten brakes, one and a half are less than the share that holds them.
    # Source: the sheet of US rules, found.
    unit, behind = tractor(lead), trailer(lead)
    couple(unit, behind, at=NOW - timedelta(days=1), by=lead)
    _, judged = walk(
        unit,
        technician,
        shop,
        strokes={("K-12", 2, "left"): "2 1/8 in"},
        linings={("K-12", 2, "right"): "7/32 in"},
    )
    assert judged.outcome == "fix"
    fixes = found(judged, "fix")
    assert {place for _, place, _, _ in fixes} == {2}
    assert {side for _, _, side, _ in fixes} == set(SIDES)
    cited = {one["citation"] for one in judged.result["findings"] if one["outcome"] == "fix"}
    assert any("393.47(e)" in one for one in cited)
    assert any("393.47(d)" in one for one in cited)
    assert judged.result["combinations"][0]["brakes"] == 10
    assert unit.standing.outcome == "fix"


def test_what_is_fix_is_not_let_go_and_the_try_is_on_record(lead, technician, shop):
    unit = tractor(lead)
    walk(unit, technician, shop, strokes={("K-12", 2, "left"): "2 1/8 in"})
    with pytest.raises(board.DispatchRefused) as refused:
        board.let_go([unit], shop=shop, by=lead, at=NOW + timedelta(hours=1))
    assert [one.code for one in refused.value.verdict.obstacles] == ["fix"]
    assert list(HoldEvent.objects.values_list("what", flat=True)) == ["dispatch_refused"]


def test_what_nobody_has_measured_is_unseen_and_not_let_go(lead, shop):
    unit = tractor(lead)
    with pytest.raises(board.DispatchRefused) as refused:
        board.let_go([unit], shop=shop, by=lead, at=NOW)
    assert [one.code for one in refused.value.verdict.obstacles] == ["unseen"]


def test_readings_past_the_shops_interval_no_longer_count(lead, technician, shop):
    unit = tractor(lead)
    walk(unit, technician, shop)
    assert board.verdict_on([unit], shop=shop, by=lead, at=NOW + timedelta(days=90)).may_leave
    too_late = board.verdict_on([unit], shop=shop, by=lead, at=NOW + timedelta(days=92))
    assert [one.code for one in too_late.obstacles] == ["unseen"]


def test_a_held_unit_is_refused_at_coupling_and_a_lead_may_couple_it_with_a_reason(lead, technician, person, shop):
    unit, behind = tractor(lead), trailer(lead)
    walk(unit, technician, shop)
    walk(behind, technician, shop, strokes={("T-7", 1, "left"): "2 1/4 in"}, alone=True)
    dispatcher = person("dispatcher")
    at = NOW + timedelta(hours=2)
    with pytest.raises(board.DispatchRefused):
        board.couple_checked(unit, behind, shop=shop, by=dispatcher, at=at)
    with pytest.raises(board.DispatchRefused):
        board.couple_checked(unit, behind, shop=shop, by=dispatcher, at=at, all_the_same="it only goes to the next bay")
    board.couple_checked(unit, behind, shop=shop, by=lead, at=at, all_the_same="to bay 2, by hand signal")
    assert set(HoldEvent.objects.values_list("what", flat=True)) == {"coupling_refused", "coupled_all_the_same"}


def test_a_reline_is_done_proved_released_and_the_vehicle_dispatched(lead, technician, shop):
    unit = tractor(lead)
    walk(unit, technician, shop, linings={("K-12", 2, "left"): "7/32 in"})
    before = FittedPart.objects.get(unit=unit, axle=2, side="left", slot="lining", removed_at=None)
    job = jobs.accept(reline_job(unit, lead), by=lead, at=NOW + timedelta(hours=1), does=[technician])
    jobs.begin_work(job, by=technician)
    at = NOW + timedelta(hours=2)
    assert {one.code for one in board.verdict_on([unit], shop=shop, by=lead, at=at).obstacles} == {
        "fix",
        "job_under_way",
    }

    with pytest.raises(release.ReleaseRefused) as refused:
        release.release(job, by=lead, at=at)
    assert {"hold_point", "step", "part", "torque", "no_proof"} <= {one.code for one in refused.value.refusals}
    assert JobEvent.objects.filter(job=job, what="release_refused").count() == 1

    tool = wrench().number
    fit_what_is_due(job, technician, at)
    measure_after_work(job, technician, shop, at + timedelta(hours=3))
    for state in steps.states_of(job):
        write_down(job, state, technician, lead, at=at, tool=tool)
    row = release.release(job, by=lead, at=at + timedelta(hours=4))

    assert row.judged.outcome in ("good", "watch")
    job.refresh_from_db()
    assert job.state == "released"
    before.refresh_from_db()
    after = FittedPart.objects.get(unit=unit, axle=2, side="left", slot="lining", removed_at=None)
    assert (before.removed_in, after.fitted_in, after.lot) == (job.number, job.number, "LOT-4411")
    assert before.removed_at == after.fitted_at
    due = ReCheck.objects.get(job=job)
    assert (due.due_from, due.due_by, due.strokes) == ("412050 mi", "412100 mi", True)
    work_out_standing(unit, shop=shop, by=lead, at=at + timedelta(hours=5))
    assert board.let_go([unit], shop=shop, by=lead, at=at + timedelta(hours=5)).outcome in ("good", "watch")
    assert broken_links(Seal.objects.all()) == []
    with pytest.raises(Unalterable):
        row.save()


def test_work_that_is_not_within_after_it_is_not_released(lead, technician, shop):
    unit = tractor(lead)
    walk(unit, technician, shop, linings={("K-12", 2, "left"): "7/32 in"})
    job = jobs.accept(reline_job(unit, lead), by=lead, at=NOW, does=[technician])
    jobs.begin_work(job, by=technician)
    fit_what_is_due(job, technician, NOW + timedelta(hours=1))
    measure_after_work(job, technician, shop, NOW + timedelta(hours=2), stroke="2 1/8 in")
    tool = wrench().number
    for state in steps.states_of(job):
        write_down(job, state, technician, lead, at=NOW + timedelta(hours=2), tool=tool)
    with pytest.raises(release.ReleaseRefused) as refused:
        release.release(job, by=lead, at=NOW + timedelta(hours=3))
    assert {one.code for one in refused.value.refusals} == {"judged_fix"}


def test_a_seal_that_was_rewritten_shows(lead, technician, shop):
    unit = tractor(lead)
    walk(unit, technician, shop)
    for hours in (1, 2):
        board.let_go([unit], shop=shop, by=lead, at=NOW + timedelta(hours=hours))
    first = Seal.objects.order_by("number").first()
    Seal.objects.filter(pk=first.pk).update(text=first.text.replace("K-12", "K-13"))
    assert [one.why for one in broken_links(Seal.objects.all())] == ["digest"]
