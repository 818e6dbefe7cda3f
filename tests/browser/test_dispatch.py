"""Dispatch and the driver's door in a browser: within reach of eye, finger and keyboard; a report sent by tapping."""

from __future__ import annotations

from datetime import timedelta

import pytest
from browser.conftest import DESK, PHONE
from browser.test_frame import SMALLEST, TOO_SMALL, faults_for_axe
from django.utils import timezone
from web.line import qualified, tractor, trailer, walk

from treadle.web.units.couple import couple
from treadle.web.walkaround.models import DriverReport
from treadle.words import say

PLACES = (
    ("dispatcher", "/dispatch/"),
    ("dispatcher", "/dispatch/check/?units=K-2,T-2"),
    ("dispatcher", "/dispatch/check/?units=K-3"),
    ("driver", "/dispatch/couple/?unit=K-3"),
    ("lead", "/dispatch/couple/?towing=K-3&towed=T-9"),
    ("lead", "/dispatch/units/K-2/order/"),
    ("driver", "/driver/"),
    ("driver", "/driver/K-2/"),
    ("driver", "/driver/K-2/defect/?axle=2&side=left"),
)


@pytest.fixture
def fleet(person, shop, in_shop):
    """A combination with a stroke past its limit, a tractor in order, and a trailer nobody has measured."""
    lead, at = qualified(person("lead")), timezone.now() - timedelta(days=400)
    held, behind = tractor(lead, "K-2", at=at), trailer(lead, "T-2", at=at)
    couple(held, behind, at=timezone.now() - timedelta(days=2), by=lead)
    then = timezone.now() - timedelta(hours=3)
    walk(held, lead, shop, at=then, strokes={("K-2", 2, "left"): "2 1/8 in"})
    walk(tractor(lead, "K-3", at=at), lead, shop, at=then)
    trailer(lead, "T-9", at=at)


@pytest.mark.parametrize(("on", "theme", "language"), [(PHONE, "light", "es"), (DESK, "dark", "en")])
def test_every_screen_can_be_seen_hit_and_read_aloud(fleet, page_of, on, theme, language):
    pages = {}
    for role, path in PLACES:
        page = pages.get(role) or page_of(role, on=on | {"color_scheme": theme}, language=language, path=path)
        pages[role] = page
        page.goto(path)
        assert faults_for_axe(page) == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= on["viewport"]["width"], path
        if on is PHONE:
            assert page.evaluate(TOO_SMALL, SMALLEST) == [], path


def test_a_driver_taps_the_wheel_and_sends_the_report(fleet, page_of):
    page = page_of("driver", on=PHONE, path="/driver/K-2/")
    page.locator(".plan a").nth(2).click()
    page.wait_for_url("**/defect/?axle=2&side=left")
    page.get_by_label(say("driver.field.said", "en")).fill("Hisses with the pedal down")
    page.get_by_role("button", name=say("driver.report.go", "en")).click()
    page.wait_for_url("**/driver/-/reports/**")
    row = DriverReport.across_shops.get()
    assert (row.axle, row.side, row.said) == (2, "left", "Hisses with the pedal down")


def test_a_combination_is_let_go_from_the_board(fleet, page_of):
    page = page_of("dispatcher", path="/dispatch/")
    page.get_by_role("link", name="K-3", exact=True).click()
    page.get_by_role("button", name=say("dispatch.check.let_go", "en", units="K-3")).click()
    page.wait_for_url("**/dispatch/releases/**")
    assert page.locator("h1").inner_text() == "K-3"
