"""Checking a combination and letting it go: judged afresh, sealed, printed; refused, and the refusal on record."""

from __future__ import annotations

import uuid
from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone
from web.dispatch.conftest import FIX
from web.line import reline_job

from treadle.web.base.models import Seal
from treadle.web.bay import jobs
from treadle.web.bay.models import ReCheck
from treadle.web.dispatch import board
from treadle.web.dispatch.models import DispatchRelease, HoldEvent
from treadle.web.dispatch.papers import release_in_force
from treadle.web.walkaround.models import DriverReport, DriverReportAnswer, Judged, Standing
from treadle.words import say

pytestmark = pytest.mark.usefixtures("in_shop")
CHECK, LET_GO, WANTED = "/dispatch/check/", "/dispatch/let-go/", "/dispatch/wanted/"


def text_of(answer):
    return unescape(answer.content.decode())


def sent(units, **more):
    return {"units": units, "id": str(uuid.uuid4()), "note": "", **more}


def test_looking_judges_afresh_says_what_it_rests_on_and_changes_nothing(make, browser_of):
    unit, _ = make("K-2", "T-2")
    Standing.objects.filter(unit=unit).update(
        outcome="hold", together="hold"
    )  # old news, which the decision does not use
    before = [Judged.objects.count(), HoldEvent.objects.count(), Seal.objects.count()]
    shown = text_of(browser_of("dispatcher").get(f"{CHECK}?units=K-2,T-2"))
    assert say("dispatch.check.goes", "en") in shown
    assert say("report.count.share", "en", defective="0", brakes=10) in shown
    assert "Applied stroke" in shown
    assert say("dispatch.age.today", "en") in shown
    assert [Judged.objects.count(), HoldEvent.objects.count(), Seal.objects.count()] == before
    assert browser_of("dispatcher").get(LET_GO).status_code == 405


def test_a_combination_let_go_is_sealed_printed_and_sent_twice_let_go_once(make, browser_of):
    make("K-2", "T-2")
    browser, form = browser_of("dispatcher"), sent("K-2,T-2", note="Load for the mill")
    first, second = browser.post(LET_GO, form), browser.post(LET_GO, form)
    row = DispatchRelease.objects.get()
    assert first.url == second.url == reverse("dispatch:release", args=[row.pk])
    assert (row.combination, row.note) == (["K-2", "T-2"], "Load for the mill")
    assert Seal.objects.filter(record=row.pk).count() == 1
    assert "K-2 + T-2" in text_of(browser.get(first.url))
    for paper in ("letter", "a4"):
        answer = browser.get(reverse("dispatch:release_pdf", args=[row.pk]), {"paper": paper})
        assert answer.content.startswith(b"%PDF-")
    assert browser.get(reverse("dispatch:release_pdf", args=[row.pk]), {"paper": "legal"}).status_code == 404


def test_what_may_not_leave_is_refused_and_the_refusal_is_on_record_and_shown(make, browser_of):
    unit = make("K-2", strokes={("K-2", 2, "left"): FIX})[0]
    answer = browser_of("dispatcher").post(LET_GO, sent("K-2"))
    assert answer.status_code == 409
    shown = text_of(answer)
    assert say("dispatch.check.refused", "en") in shown
    assert "49 CFR 393.47(e)" in shown
    assert not DispatchRelease.objects.exists()
    event = HoldEvent.objects.get()
    assert (event.unit, event.what, event.outcome) == (unit, "dispatch_refused", "fix")
    assert say("dispatch.event.dispatch_refused", "en") in text_of(browser_of("lead").get("/units/K-2/"))


def test_a_refusal_can_be_put_on_record_but_nothing_that_may_leave(make, browser_of):
    make("K-1")
    make("K-2", strokes={("K-2", 2, "left"): FIX})
    browser = browser_of("driver")
    browser.post(WANTED, {"units": "K-1", "about": "dispatch"})
    assert not HoldEvent.objects.exists()
    browser.post(WANTED, {"units": "K-2", "about": "dispatch"})
    browser.post(WANTED, {"units": "K-2", "about": "coupling"})
    assert set(HoldEvent.objects.values_list("what", flat=True)) == {"dispatch_refused", "coupling_refused"}


def test_only_what_is_coupled_so_on_record_can_leave(make, standing_trailer, browser_of):
    make("K-2", "T-2")
    standing_trailer("T-9")
    browser = browser_of("dispatcher")
    for units, code in (("K-2", "coupled_otherwise"), ("K-2,T-9", "coupled_otherwise"), ("T-9", "no_power_unit")):
        answer = browser.post(LET_GO, sent(units))
        assert answer.status_code == 409
        assert say(f"dispatch.not_so.{code}", "en") in text_of(answer)
    assert not DispatchRelease.objects.exists()


def test_a_report_nobody_answered_keeps_it_in_and_an_answer_lets_it_go(make, person, lead, shop):
    unit = make("K-2")[0]
    row = DriverReport.objects.create(
        unit=unit, at=timezone.now(), zone=shop.zone, said="pulls left", entered_by=person("driver")
    )
    with pytest.raises(board.DispatchRefused) as refused:
        board.let_go([unit], shop=shop, by=lead, at=timezone.now())
    assert [one.code for one in refused.value.verdict.obstacles] == ["report_open"]
    DriverReportAnswer.objects.create(report=row, what="reviewed", entered_by=lead)
    assert not board.verdict_on([unit], shop=shop, by=lead, at=timezone.now()).may_leave  # a review answers nothing
    DriverReportAnswer.objects.create(report=row, what="not_needed", said="Road crown.", entered_by=lead)
    assert board.let_go([unit], shop=shop, by=lead, at=timezone.now()).outcome in ("good", "watch")


def test_a_release_is_in_force_until_something_changes(make, lead, shop, person):
    units = make("K-2", "T-2")
    assert release_in_force(units) is None
    row = board.let_go(units, shop=shop, by=lead, at=timezone.now())
    assert release_in_force(units) == row
    assert release_in_force(units[:1]) is None
    DriverReport.objects.create(
        unit=units[1], at=timezone.now(), zone=shop.zone, said="light out", entered_by=person("driver")
    )
    assert release_in_force(units) is None


def test_an_overdue_re_check_keeps_it_in_and_one_to_come_is_said(make, lead, shop, browser_of):
    unit = make("K-2")[0]
    job = jobs.accept(reline_job(unit, lead), by=lead, at=timezone.now(), does=[lead])
    today = timezone.localdate()
    row = ReCheck(job=job, unit=unit, due_on=today + timedelta(days=9), entered_by=lead)
    row.save()
    assert say("dispatch.check.re_checks", "en") in text_of(browser_of("dispatcher").get(f"{CHECK}?units=K-2"))
    assert board.verdict_on([unit], shop=shop, by=lead, at=timezone.now()).may_leave
    row.due_on = today - timedelta(days=2)
    row.save()
    found = board.verdict_on([unit], shop=shop, by=lead, at=timezone.now())
    assert [one.code for one in found.obstacles] == ["re_check_overdue"]


@pytest.mark.parametrize(("asked", "status"), [("", 200), ("K-99", 404), ("K-2, K-99", 404)])
def test_numbers_nobody_has_are_asked_for_again(make, browser_of, asked, status):
    make("K-2", walked=False)
    answer = browser_of("dispatcher").get(CHECK, {"units": asked})
    assert answer.status_code == status
    assert ("K-99" in text_of(answer)) is (status == 404)


def test_another_shop_has_neither_the_unit_nor_the_release(make, browser_of, lead, shop, other_shop):
    units = make("K-2")
    row = board.let_go(units, shop=shop, by=lead, at=timezone.now())
    theirs = browser_of("lead", at=other_shop)
    assert theirs.get(f"{CHECK}?units=K-2").status_code == 404
    assert theirs.post(LET_GO, sent("K-2")).status_code == 422
    assert theirs.get(reverse("dispatch:release", args=[row.pk])).status_code == 404
    assert theirs.get(reverse("dispatch:tag", args=["K-2"])).status_code == 404


@pytest.mark.parametrize("role", ["technician", "driver", "owner", "inspector"])
def test_only_lead_and_dispatcher_let_go(make, browser_of, role):
    make("K-2", walked=False)
    browser = browser_of(role)
    assert browser.post(LET_GO, sent("K-2")).status_code == 403
    assert browser.get(f"{CHECK}?units=K-2").status_code == 200
    assert not HoldEvent.objects.exists()
