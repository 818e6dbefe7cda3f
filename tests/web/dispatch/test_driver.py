"""The driver's door: a report is taken once, answered by the shop, reviewed by a driver (49 CFR 396.11 and 396.13)."""

from __future__ import annotations

import uuid
from html import unescape
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from web.line import reline_job

from treadle.reports.defect_report import ITEMS
from treadle.web.bay import jobs
from treadle.web.dispatch import board
from treadle.web.units.models import MeterReading
from treadle.web.walkaround.models import DriverReport, DriverReportAnswer, Reading
from treadle.words import say

pytestmark = pytest.mark.usefixtures("in_shop")


@pytest.fixture
def unit(make):
    return make("K-2", walked=False)[0]


def text_of(answer):
    return unescape(answer.content.decode())


def defect_at(number, **query):
    return reverse("driver:defect", args=[number]) + ("?axle=2&side=left" if not query else f"?item={query['item']}")


def filled(**more):
    given = {
        "id": str(uuid.uuid4()),
        "item": "service_brakes",
        "condition": "",
        "said": "hisses",
        "meter": "",
        "where": "",
    }
    return {**given, **more}


def picture():
    out = BytesIO()
    Image.new("RGB", (40, 30), "brown").save(out, "JPEG")
    return SimpleUploadedFile("p.jpg", out.getvalue(), content_type="image/jpeg")


def url(name, row):
    return reverse(f"driver:{name}", args=[row.pk])


def certified(row, **more):
    return {
        "id": str(uuid.uuid4()),
        "what": "repaired",
        "said": "Fitting tightened, no leak at 100 psi.",
        "job": "",
        **more,
    }


def test_a_defect_sent_twice_is_taken_once_and_keeps_the_vehicle_in(unit, browser_of, lead, shop):
    driver, form = browser_of("driver"), filled(condition="chamber_leak", meter="412100", where="Dock 4")
    first, second = driver.post(defect_at("K-2"), form), driver.post(defect_at("K-2"), form)
    row = DriverReport.objects.get()
    assert first.url == second.url == url("one", row)
    assert (row.axle, row.side, row.condition, row.item, row.where) == (
        2,
        "left",
        "chamber_leak",
        "service_brakes",
        "Dock 4",
    )
    assert (row.meter, MeterReading.objects.count()) == ("412100 mi", 1)
    found = board.verdict_on([unit], shop=shop, by=lead, at=timezone.now())
    assert "report_of_brake" in [one.code for one in found.obstacles]


def test_what_a_driver_reports_is_never_a_reading(unit, browser_of):
    # 49 CFR 396.25: brakes are inspected by qualified people. Source: the sheet of US rules, found.
    browser_of("driver").post(defect_at("K-2"), filled(condition="no_braking_action"))
    assert DriverReport.objects.count() == 1
    assert not Reading.objects.exists()
    page = text_of(browser_of("lead").get("/units/K-2/"))
    assert "A driver's report is no measurement" in page


def test_a_report_needs_words_or_a_condition_and_what_was_typed_stays(unit, browser_of):
    answer = browser_of("driver").post(defect_at("K-2"), filled(said="  ", where="Mile 12"))
    assert answer.status_code == 422
    assert say("driver.report.say_what", "en") in text_of(answer)
    assert 'value="Mile 12"' in text_of(answer)
    assert not DriverReport.objects.exists()


@pytest.mark.parametrize(("meter", "slug"), [("about 400", "unreadable_quantity"), ("4", "meter_went_back")])
def test_a_meter_that_cannot_be_so_is_said_at_its_field(unit, browser_of, meter, slug):
    answer = browser_of("driver").post(defect_at("K-2"), filled(meter=meter))
    assert answer.status_code == 422
    told = {"unreadable_quantity": "cannot be read", "meter_went_back": "less than the"}[slug]
    assert told in text_of(answer)
    assert not DriverReport.objects.exists()


def test_a_picture_is_kept_and_handed_out_and_what_is_none_is_refused(unit, browser_of):
    driver = browser_of("driver")
    assert driver.post(defect_at("K-2"), filled(photo=SimpleUploadedFile("p.jpg", b"no picture"))).status_code == 422
    driver.post(defect_at("K-2"), filled(photo=picture()))
    row = DriverReport.objects.get()
    answer = browser_of("lead").get(url("photo", row))
    assert answer["Content-Type"] == "image/jpeg"
    assert b"".join(answer.streaming_content).startswith(b"\xff\xd8")


def test_every_item_the_rule_names_can_be_reported(unit, browser_of):
    # 49 CFR 396.11(a)(1): the items; the sheet of US rules, found.
    shown = text_of(browser_of("driver").get(reverse("driver:choose", args=["K-2"])))
    assert all(f"?item={item}" in shown for item in ITEMS)
    assert "?axle=3&side=right" in shown.replace("&amp;", "&")


def test_no_defect_found_is_the_drivers_own_statement_and_keeps_nothing_in(unit, browser_of, lead, shop):
    form = {"id": str(uuid.uuid4()), "meter": "412050", "where": ""}
    driver = browser_of("driver")
    for _ in range(2):
        assert driver.post(reverse("driver:nothing_found", args=["K-2"]), form).status_code == 302
    row = DriverReport.objects.get()
    assert row.nothing_found
    found = board.verdict_on([unit], shop=shop, by=lead, at=timezone.now())
    assert [one.code for one in found.obstacles] == ["unseen"]
    assert browser_of("lead").post(url("answer", row), certified(row)).status_code == 409


def test_the_answer_is_certified_once_then_reviewed_by_any_driver_once(unit, browser_of, person):
    driver = browser_of("driver")
    driver.post(defect_at("K-2"), filled())
    row = DriverReport.objects.get()
    driver.post(url("review", row))
    assert not row.answers.exists()  # nothing to review yet
    lead, form = browser_of("lead"), certified(row)
    assert lead.post(url("answer", row), form).status_code == lead.post(url("answer", row), form).status_code == 302
    late = browser_of("technician").post(url("answer", row), certified(row, what="not_needed"))
    assert late.status_code == 409
    assert "meanwhile" in text_of(late)
    other = browser_of("driver")
    for _ in range(2):
        other.post(url("review", row))
    assert list(row.answers.values_list("what", flat=True)) == ["repaired", "reviewed"]
    assert say("driver.state.reviewed", "en") in text_of(driver.get(reverse("driver:door")))


def test_a_certificate_names_a_job_only_once_that_job_is_released(unit, browser_of, lead):
    browser_of("driver").post(defect_at("K-2"), filled())
    row = DriverReport.objects.get()
    job = jobs.accept(reline_job(unit, lead), by=lead, at=timezone.now(), does=[lead])
    shop = browser_of("lead")
    for number, code in ((job.number, "job_not_released"), ("J-99", "no_such_job")):
        answer = shop.post(url("answer", row), certified(row, job=number))
        assert answer.status_code == 409
        assert say(f"driver.refused.{code}", "en", job=number, unit="K-2") in text_of(answer)
    assert not DriverReportAnswer.objects.exists()


def test_the_report_prints_with_its_answer_on_either_paper(unit, browser_of):
    driver = browser_of("driver")
    driver.post(defect_at("K-2"), filled())
    row = DriverReport.objects.get()
    browser_of("lead").post(url("answer", row), certified(row))
    driver.post(url("review", row))
    for paper in ("letter", "a4"):
        assert driver.get(url("paper", row), {"paper": paper}).content.startswith(b"%PDF-")


def test_the_door_offers_what_was_used_last_and_finds_the_rest(unit, make, browser_of):
    make("K-9", walked=False)
    driver = browser_of("driver")
    assert say("driver.door.none_yet", "en") in text_of(driver.get(reverse("driver:door")))
    driver.post(defect_at("K-2"), filled())
    shown = text_of(driver.get(reverse("driver:door")))
    assert "K-2" in shown
    assert "K-9" not in shown
    assert "K-9" in text_of(driver.get(reverse("driver:door"), {"q": "k-9"}))
    assert say("driver.door.not_found", "en", q="Z-1") in text_of(driver.get(reverse("driver:door"), {"q": "Z-1"}))


def test_the_driver_who_comes_next_sees_what_waits_for_a_review(unit, browser_of):
    driver = browser_of("driver")
    driver.post(defect_at("K-2"), filled())
    row = DriverReport.objects.get()
    browser_of("lead").post(url("answer", row), certified(row))
    following = browser_of("driver")
    assert url("one", row) in text_of(following.get(reverse("driver:choose", args=["K-2"])))
    assert say("driver.review.go", "en") in text_of(following.get(url("one", row)))


@pytest.mark.parametrize("role", ["technician", "lead", "dispatcher", "owner", "inspector"])
def test_the_door_is_the_drivers_alone_and_everybody_reads_a_report(unit, browser_of, person, shop, role):
    row = DriverReport.objects.create(
        unit=unit, at=timezone.now(), zone=shop.zone, said="x", entered_by=person("driver")
    )
    browser = browser_of(role)
    assert (
        browser.get(reverse("driver:door")).status_code == browser.post(defect_at("K-2"), filled()).status_code == 403
    )
    assert browser.get(url("one", row)).status_code == 200
    may_answer = role in ("lead", "technician")
    assert (browser.post(url("answer", row), certified(row)).status_code == 403) is not may_answer
    assert browser.post(url("review", row)).status_code == 403


def test_another_shop_sees_no_vehicle_and_no_report(unit, browser_of, person, shop, other_shop):
    row = DriverReport.objects.create(
        unit=unit, at=timezone.now(), zone=shop.zone, said="x", entered_by=person("driver")
    )
    theirs = browser_of("driver", "lead", at=other_shop)
    assert theirs.get(reverse("driver:choose", args=["K-2"])).status_code == 404
    assert theirs.post(defect_at("K-2"), filled()).status_code == 404
    for name in ("one", "paper", "photo"):
        assert theirs.get(url(name, row)).status_code == 404
    assert theirs.post(url("answer", row), certified(row)).status_code == 404
    assert not DriverReportAnswer.objects.exists()


@pytest.mark.parametrize("query", ["?axle=9&side=left", "?axle=2&side=middle", "?axle=two&side=left"])
def test_a_wheel_the_vehicle_does_not_have_is_not_there(unit, browser_of, query):
    assert browser_of("driver").get(reverse("driver:defect", args=["K-2"]) + query).status_code == 404
