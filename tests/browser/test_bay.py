"""The bay as a browser shows it: usable by everybody, and the list of steps fresh without a reload."""

from __future__ import annotations

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser.conftest import DESK, PHONE
from django.utils import timezone
from web import line

from treadle.web.base.scope import shop_scope
from treadle.web.bay import jobs, steps

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def job(shop, person):
    """A reline under way on a worn tractor, at the hold point of its second step."""
    now = timezone.now()
    with shop_scope(shop.pk):
        by = line.qualified(person("lead", "technician", sign_in="oduya"))
        unit = line.tractor(by, at=now - timedelta(days=400))
        line.walk(unit, by, shop, at=now - timedelta(days=1), linings={("K-12", 2, "left"): "7/32 in"})
        made = jobs.accept(line.reline_job(unit, by), by=by, at=now, does=[by])
        jobs.begin_work(made, by=by)
        line.write_down(made, steps.states_of(made)[0], by, None, at=now, tool="TW-2")
        yield made


def fits(page):
    """Whether everybody can use the page: nothing axe finds, no sideways scroll, and targets a thumb hits."""
    small = page.evaluate(
        """() => [...document.querySelectorAll('main button, main a.button, main summary, main input, main select')]
        .filter((one) => one.offsetParent && one.type !== 'checkbox' && one.type !== 'radio' && one.offsetHeight < 48)
        .map((one) => one.outerHTML.slice(0, 90))"""
    )
    return [*Axe().run(page).response["violations"], *small], page.evaluate(
        "document.documentElement.scrollWidth <= innerWidth"
    )


@pytest.mark.parametrize("on", [PHONE, DESK], ids=["phone", "desk"])
def test_the_bays_screens_can_be_used_by_everybody(page_of, job, on):
    page = page_of("lead", on=on, path="/bay/")
    for path in (
        "",
        f"{job.number}/",
        f"{job.number}/steps/",
        f"{job.number}/release/",
        "propose/?unit=K-12",
        "places/",
    ):
        page.goto(f"/bay/{path}")
        assert fits(page) == ([], True), path


def test_a_hold_point_is_passed_by_a_deliberate_tap(page_of, job):
    page = page_of("lead", on=PHONE, path=f"/bay/{job.number}/steps/")
    assert page.get_by_text("Hold point: confirm").count() == 1
    page.locator("label", has_text="Chocked front and back").click()
    page.get_by_role("button", name="Pass the hold point").click()
    page.wait_for_load_state()
    assert page.locator(".bar-state").inner_text() == "2 of 81"


def test_what_another_person_writes_comes_into_the_open_list(page_of, job, person, shop):
    page = page_of("lead", on=PHONE, path=f"/bay/{job.number}/steps/")
    with shop_scope(shop.pk):
        by = job.hands.get().person
        line.write_down(job, steps.states_of(job)[1], by, None, at=timezone.now(), tool="TW-2")
    page.evaluate(
        """() => {
            const list = document.querySelector('#steps-list');
            return htmx.ajax('GET', list.getAttribute('hx-get'), {target: list, swap: 'outerHTML'});
        }"""
    )
    page.get_by_text("wrote this step down").wait_for()
