"""Coupling on the screen, the tag on the dash, and the lead's order to move what may not leave."""

from __future__ import annotations

from datetime import timedelta
from html import unescape
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone
from web.dispatch.conftest import FIX

from treadle.reports.dash_tag import Held, Released
from treadle.reports.wording import moment_of
from treadle.web.dispatch import board
from treadle.web.dispatch.models import HoldEvent, YardOrder
from treadle.web.dispatch.papers import tag_paper
from treadle.web.units.couple import combination_of
from treadle.web.units.models import Coupling
from treadle.web.units.register import register
from treadle.web.walkaround.models import Standing
from treadle.words import say

pytestmark = pytest.mark.usefixtures("in_shop")
COUPLE, UNCOUPLE = "/dispatch/couple/", "/dispatch/uncouple/"


def text_of(answer):
    return unescape(answer.content.decode())


def tag_of(unit, lead, shop):
    verdict = board.verdict_on(combination_of(unit), shop=shop, by=lead, at=timezone.now())
    return tag_paper(unit, verdict, by=lead, at=timezone.now(), language="en", url="https://shop.example/units/K-2/")


def test_the_whole_is_shown_before_it_is_coupled_and_the_standings_follow(make, standing_trailer, browser_of):
    make("K-2")
    standing_trailer("T-7")
    browser = browser_of("driver")
    assert "T-7" in text_of(browser.get(COUPLE, {"unit": "K-2"}))
    pair = {"towing": "K-2", "towed": "T-7"}
    assert say("dispatch.together.goes", "en") in text_of(browser.get(COUPLE, pair))
    assert not Coupling.objects.exists()
    assert browser.post(COUPLE, pair).status_code == 302
    assert browser.post(COUPLE, pair).status_code == 302  # a second tap
    row = Coupling.objects.get()
    assert (row.towing.number, row.towed.number, row.uncoupled_at) == ("K-2", "T-7", None)
    assert not Standing.objects.filter(behind=True).exists()
    assert {one.worked_out_at > row.coupled_at - timedelta(seconds=1) for one in Standing.objects.all()} == {True}
    assert browser.post(UNCOUPLE, {"towed": "T-7"}).status_code == 302
    row.refresh_from_db()
    assert row.uncoupled_at is not None
    assert Standing.objects.filter(worked_out_at__gte=row.uncoupled_at).count() == 2


def test_a_held_unit_is_refused_at_coupling_and_the_lead_couples_it_with_a_reason(make, standing_trailer, browser_of):
    make("K-2", walked=False)
    standing_trailer("T-7", strokes={("T-7", 1, "left"): "2 1/4 in"})
    pair = {"towing": "K-2", "towed": "T-7"}
    refused = browser_of("dispatcher").post(COUPLE, pair)
    assert refused.status_code == 409
    assert say("dispatch.together.refused", "en") in text_of(refused)
    assert browser_of("technician").post(COUPLE, {**pair, "why": "to bay 2"}).status_code == 409
    lead = browser_of("lead")
    assert lead.post(COUPLE, {**pair, "why": ""}).status_code == 422
    assert not Coupling.objects.exists()
    assert lead.post(COUPLE, {**pair, "why": "to bay 2, by hand signal"}).status_code == 302
    assert Coupling.objects.count() == 1
    events = HoldEvent.objects.filter(unit__number="T-7").values_list("what", "said")
    assert ("coupled_all_the_same", "to bay 2, by hand signal") in events
    assert [what for what, _ in events].count("coupling_refused") == 2


def test_a_dolly_makes_doubles(make, standing_trailer, browser_of, lead):
    make("K-2", "T-2", walked=False)
    standing_trailer("T-3", walked=False)
    register(
        number="D-1", layout="dolly_1_drum", built="2018-05", runs_in=["us"], by=lead,
        at=timezone.now() - timedelta(days=40),
    )  # fmt: skip
    browser = browser_of("technician")
    for towing, towed in (("T-2", "D-1"), ("D-1", "T-3")):
        assert browser.post(COUPLE, {"towing": towing, "towed": towed}).status_code == 302
    front = combination_of(Coupling.objects.first().towing)
    assert [unit.number for unit in front] == ["K-2", "T-2", "D-1", "T-3"]


def test_what_cannot_be_coupled_says_why(make, browser_of):
    make("K-2", "T-2", walked=False)
    make("K-3", walked=False)
    answer = browser_of("lead").post(COUPLE, {"towing": "K-3", "towed": "T-2"}, follow=True)
    assert say("error.coupled_already", "en", where="T-2", to="K-2") in text_of(answer)


@pytest.mark.parametrize("role", ["owner", "inspector"])
def test_who_only_reads_does_not_couple(make, browser_of, role):
    make("K-2", walked=False)
    browser = browser_of(role)
    assert browser.get(COUPLE).status_code == browser.post(UNCOUPLE, {"towed": "T-2"}).status_code == 403
    assert browser.get(reverse("dispatch:tag", args=["K-2"])).status_code == 403


# -- tags


def test_the_tag_says_held_with_why_then_not_released_then_released(make, lead, shop):
    held = tag_of(make("K-1", strokes={("K-1", 2, "left"): FIX})[0], lead, shop)
    assert isinstance(held.state, Held)
    assert held.state.outcome == "fix"
    assert any("393.47(e)" in reason.says for reason in held.state.why)
    assert {reason.outcome for reason in held.state.why} == {"fix"}
    units = make("K-2", "T-2")
    waiting = tag_of(units[0], lead, shop)
    assert (waiting.state.kind, waiting.state.move) == ("waiting", None)
    board.let_go(units, shop=shop, by=lead, at=timezone.now())
    released = tag_of(units[1], lead, shop)
    assert isinstance(released.state, Released)
    assert released.state.combination == ("K-2", "T-2")


def test_a_unit_in_order_behind_a_held_one_is_not_released_and_says_which_holds_it(make, standing_trailer, lead, shop):
    units = make("K-2", "T-2", strokes={("T-2", 1, "left"): "2 1/4 in"})
    tag = tag_of(units[0], lead, shop)
    assert tag.state.outcome is None
    said = [reason.says for reason in tag.state.why if reason.outcome == "fix"]
    assert say("dispatch.obstacle.fix", "en", where="T-2") in said


def test_the_tag_prints_full_and_half_on_either_paper(make, browser_of):
    make("K-2", walked=False)
    browser = browser_of("dispatcher")
    there = reverse("dispatch:tag", args=["K-2"])
    for size in ("full", "half"):
        for paper in ("letter", "a4"):
            answer = browser.get(there, {"size": size, "paper": paper})
            assert answer.content.startswith(b"%PDF-")
    assert browser.get(there, {"size": "poster"}).status_code == 404


# -- orders


def order(**more):
    until = timezone.localtime() + timedelta(hours=3)
    given = {"from_place": "gate", "to_place": "bay 2", "why": "to be repaired", "until": f"{until:%Y-%m-%dT%H:%M}"}
    return {**given, **more}


def test_the_leads_order_stands_on_tag_and_page_and_says_when_it_is_over(make, browser_of, lead, shop):
    unit = make("K-2", strokes={("K-2", 2, "left"): FIX})[0]
    browser = browser_of("lead")
    there = reverse("dispatch:order", args=["K-2"])
    assert browser.post(there, order()).status_code == 302
    assert tag_of(unit, lead, shop).state.move.end == "bay 2"
    assert "gate" in text_of(browser.get("/units/K-2/"))
    assert HoldEvent.objects.get().what == "moved"
    board.order_move(
        unit, from_place="bay 2", to_place="wall", why="parked", until=timezone.now() - timedelta(hours=1), by=lead
    )
    over = moment_of(timezone.localtime(YardOrder.objects.first().until, ZoneInfo(shop.zone)), "en")
    assert say("dispatch.panel.order_over", "en", until=over) in text_of(browser.get("/units/K-2/"))
    assert tag_of(unit, lead, shop).state.move.end == "bay 2"  # the one before is not over yet


@pytest.mark.parametrize(
    ("wrong", "code"), [({"until": "2020-01-01T08:00"}, "past"), ({"until": "2090-01-01T08:00"}, "too_long")]
)
def test_an_order_that_cannot_be_so_is_said_and_what_was_typed_stays(make, browser_of, wrong, code):
    make("K-2", walked=False)
    answer = browser_of("lead").post(reverse("dispatch:order", args=["K-2"]), order(**wrong))
    assert answer.status_code == 422
    assert say(f"dispatch.order.{code}", "en", days=3) in text_of(answer)
    assert 'value="bay 2"' in text_of(answer)
    assert not YardOrder.objects.exists()


@pytest.mark.parametrize("role", ["technician", "dispatcher", "driver", "owner", "inspector"])
def test_only_the_lead_orders_a_move(make, browser_of, role):
    make("K-2", walked=False)
    assert browser_of(role).post(reverse("dispatch:order", args=["K-2"]), order()).status_code == 403
