"""The board of dispatch: what may not leave comes first with its reason, with as many queries for any fleet."""

from __future__ import annotations

from datetime import timedelta
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from web.dispatch.conftest import FIX
from web.line import reline_job, tractor

from treadle.web.bay import jobs
from treadle.web.bay.models import ReCheck
from treadle.web.bay.rechecks import how_due
from treadle.web.dispatch.obstacles import overdue
from treadle.web.dispatch.overview import fleet_lines
from treadle.web.units.couple import couple
from treadle.web.units.meters import note_meter
from treadle.web.walkaround.judge import note_behind
from treadle.web.walkaround.models import DriverReport, Standing
from treadle.words import say

pytestmark = pytest.mark.usefixtures("in_shop")
BOARD = "/dispatch/"


def text_of(answer):
    return unescape(answer.content.decode())


def lines(shop):
    return {line.asked: line for line in fleet_lines(shop, at=timezone.now())}


def test_what_may_not_leave_comes_first_then_what_may_then_what_stands_alone(make, standing_trailer, shop):
    make("K-1", "T-1")
    make("K-2", strokes={("K-2", 2, "left"): FIX})
    make("K-3", walked=False)
    standing_trailer("T-9")
    found = fleet_lines(shop, at=timezone.now())
    assert [(line.asked, line.state, line.group) for line in found] == [
        ("K-2", "stays", "fix"),
        ("K-3", "stays", "unseen"),
        ("K-1,T-1", "goes", "goes"),
        ("T-9", "alone", "goes"),
    ]


def test_the_reason_stands_with_its_citation_and_what_it_waits_for(make, browser_of, lead):
    # 49 CFR 393.47(e): a type 30 standard chamber at 90 to 100 psi may stroke 2 in; the sheet of US rules, found.
    unit = make("K-2", strokes={("K-2", 2, "left"): FIX})[0]
    job = jobs.accept(reline_job(unit, lead), by=lead, at=timezone.now(), does=[lead])
    shown = text_of(browser_of("dispatcher").get(BOARD))
    assert "49 CFR 393.47(e)" in shown
    assert "K-2 axle 2 left" in shown
    accepted = say("dispatch.job.accepted", "en", job=job.number)
    assert say("dispatch.waits.planned", "en", jobs=accepted) in shown


def test_a_job_begun_keeps_in_a_unit_whose_readings_are_in_order(make, browser_of, lead, shop):
    unit = make("K-2")[0]
    job = jobs.accept(reline_job(unit, lead), by=lead, at=timezone.now(), does=[lead])
    jobs.begin_work(job, by=lead)
    line = lines(shop)["K-2"]
    assert (line.state, line.group) == ("stays", "waits")
    shown = text_of(browser_of("dispatcher").get(BOARD))
    assert say("dispatch.obstacle.job_under_way", "en", job=job.number) in shown


def test_a_drivers_report_keeps_in_the_whole_combination_until_it_is_answered(make, person, shop):
    tractor_row, _ = make("K-2", "T-2")
    driver = person("driver")
    seen = {"condition": "chamber_leak", "axle": 2, "side": "left"}
    DriverReport.objects.create(unit=tractor_row, at=timezone.now(), zone=shop.zone, entered_by=driver, **seen)
    line = lines(shop)["K-2,T-2"]
    assert (line.state, [one.code for one in line.obstacles]) == ("stays", ["report_of_brake"])


def test_a_hold_stands_over_everything_whatever_is_shown(make, browser_of, shop):
    make("K-1")
    unit = make("K-2")[0]
    Standing.objects.filter(unit=unit).update(outcome="hold", together="hold")
    shown = text_of(browser_of("driver").get(f"{BOARD}?show=goes&q=K-1"))
    assert say("dispatch.board.held", "en") in shown
    assert "K-2" in shown


def test_what_is_being_worked_out_is_not_among_what_may_leave(make, browser_of, shop):
    unit = make("K-2")[0]
    assert lines(shop)["K-2"].state == "goes"
    note_behind(unit)
    assert lines(shop)["K-2"].state == "stays"
    assert say("dispatch.board.behind", "en") in text_of(browser_of("dispatcher").get(BOARD))


def test_the_share_of_the_whole_counts_though_each_unit_alone_would_go(make, shop):
    units = make("K-2", "T-2")
    assert lines(shop)["K-2,T-2"].state == "goes"
    Standing.objects.filter(unit__in=units).update(together="unseen")
    assert (lines(shop)["K-2,T-2"].state, lines(shop)["K-2,T-2"].group) == ("stays", "unseen")


def test_a_policy_may_let_the_unseen_go_but_never_what_nobody_has_read_at_all(make, shop):
    make("K-3", walked=False)
    make("K-4")
    Standing.objects.filter(unit__number="K-4").update(outcome="unseen", together="unseen")
    assert {line.state for line in lines(shop).values()} == {"stays"}
    shop.policy = {"treadle": "policy/1", "unseen_blocks": {"service": False}}
    assert {asked: line.state for asked, line in lines(shop).items()} == {"K-3": "stays", "K-4": "goes"}


def test_search_and_the_choice_narrow_the_board(make, browser_of):
    make("K-1")
    make("K-2", strokes={("K-2", 2, "left"): FIX})
    browser = browser_of("dispatcher")
    assert "K-2" not in text_of(browser.get(f"{BOARD}?show=goes"))
    assert "K-1" not in text_of(browser.get(f"{BOARD}?q=k-2"))
    assert say("dispatch.board.none_title", "en") in text_of(browser.get(f"{BOARD}?q=Z"))


def test_a_fleet_without_units_says_so(browser_of):
    assert say("dispatch.board.empty_title", "en") in text_of(browser_of("dispatcher").get(BOARD))


def test_more_units_do_not_ask_more_of_the_database(make, browser_of, lead, shop):
    browser = browser_of("lead")
    asked = []
    make("K-1", "T-1", strokes={("K-1", 2, "left"): FIX})
    for number in range(2, 14):
        unit = tractor(lead, f"K-{number}", at=timezone.now() - timedelta(days=400))
        if number % 3 == 0:
            DriverReport.objects.create(unit=unit, at=timezone.now(), zone=shop.zone, said="light out", entered_by=lead)
        if number in (2, 3, 13):
            job = jobs.accept(reline_job(unit, lead), by=lead, at=timezone.now(), does=[lead])
            ReCheck(
                job=job, unit=unit, due_from="412050 mi", due_by="412100 mi", entered_by=lead,
                due_on=(timezone.now() + timedelta(days=9)).date(),
            ).save()  # fmt: skip
        if number in (4, 13):
            browser.get(BOARD)
            with CaptureQueriesContext(
                connection,
            ) as queries:
                assert browser.get(BOARD).status_code == 200
            asked.append(len(queries))
    assert asked[0] == asked[1]
    assert asked[0] < 30


@pytest.mark.parametrize(("shows", "late"), [("412040", False), ("412100", False), ("412101", True)])
def test_a_re_check_is_overdue_past_its_distance_as_the_bay_says_it(make, lead, shop, shows, late):
    # Between 50 and 100 miles after the wheels were off: the sheet on wheels, secondary.
    unit = make("K-2")[0]
    job = jobs.accept(reline_job(unit, lead), by=lead, at=timezone.now(), does=[lead])
    row = ReCheck(
        job=job,
        unit=unit,
        ends=[{"axle": 2, "side": "left"}],
        due_from="412050 mi",
        due_by="412100 mi",
        due_on=(timezone.now() + timedelta(days=9)).date(),
        entered_by=lead,
        entered_at=timezone.now() - timedelta(days=1),
    )
    row.save()
    note_meter(unit, shows, at=timezone.now(), by=lead)
    assert (row.pk in overdue([row], shop=shop, at=timezone.now())) is late
    assert (how_due(row, at=timezone.now()).state == "overdue") is late
    assert (lines(shop)["K-2"].state == "stays") is late


def test_a_trailers_re_check_goes_by_the_meter_of_what_pulled_it(make, lead, shop):
    tractor_row, trailer_row = make("K-2", "T-2")
    job = jobs.accept(reline_job(trailer_row, lead, axle=1), by=lead, at=timezone.now(), does=[lead])
    since = timezone.now() - timedelta(days=2)
    row = ReCheck(
        job=job, unit=trailer_row, ends=[], entered_by=lead, entered_at=since,
        due_on=(timezone.now() + timedelta(days=9)).date(),
    )  # fmt: skip
    row.save()
    note_meter(tractor_row, "412500", at=since, by=lead)
    note_meter(tractor_row, "412560", at=timezone.now() - timedelta(days=1), by=lead)
    note_meter(tractor_row, "412590", at=timezone.now() - timedelta(hours=9), by=lead)
    assert overdue([row], shop=shop, at=timezone.now()) == frozenset()
    note_meter(tractor_row, "412640", at=timezone.now(), by=lead)
    assert overdue([row], shop=shop, at=timezone.now()) == {row.pk}
    assert how_due(row, at=timezone.now()).state == "overdue"


def test_coupled_units_stand_in_one_line_from_the_front(make, standing_trailer, lead, shop):
    _, trailer_row = make("K-2", "T-2")
    last = standing_trailer("T-3")
    couple(trailer_row, last, at=timezone.now(), by=lead)
    assert list(lines(shop)) == ["K-2,T-2,T-3"]


def test_a_unit_of_another_shop_is_not_on_the_board(make, browser_of, other_shop):
    make("K-2")
    assert "K-2" not in text_of(browser_of("dispatcher", at=other_shop).get(reverse("dispatch:board")))
