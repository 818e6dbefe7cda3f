"""What every screen stands in: the bar, its menu and theme; all of it within reach of eye, finger and keyboard."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser.conftest import DESK, PHONE

SMALLEST = 48
"""Least side of what a gloved finger must hit, by our own look. [px]"""

TOO_SMALL = """least => [...document.querySelectorAll('header, main')]
  .flatMap(part => [...part.querySelectorAll('a, button, input, select, summary, textarea')])
  .map(one => one.closest('.choice') ?? one)
  .map(one => [one.outerHTML.slice(0, 90), one.getBoundingClientRect()])
  .filter(([, box]) => box.width && (Math.round(box.width) < least || Math.round(box.height) < least))
  .map(([html]) => html)"""


def faults_for_axe(page):
    return [(one["id"], one["nodes"][0]["html"]) for one in Axe().run(page).response["violations"]]


@pytest.mark.parametrize(
    ("language", "on", "theme"),
    [("en", PHONE, "light"), ("es", PHONE, "dark"), ("es", DESK, "light"), ("en", DESK, "dark")],
    ids=["English phone light", "Spanish phone dark", "Spanish desk light", "English desk dark"],
)
def test_the_frame_can_be_seen_and_read_aloud_with_its_menu_open(page_of, language, on, theme):
    page = page_of("lead", on=on | {"color_scheme": theme}, path="/me/", language=language)
    page.locator(".menu summary").click()
    assert page.locator(".menu-panel").is_visible()
    assert page.evaluate("document.documentElement.lang") == language
    assert faults_for_axe(page) == []


@pytest.mark.parametrize("language", ["en", "es"])
def test_on_a_phone_nothing_runs_out_of_the_page_and_everything_can_be_hit(page_of, language):
    page = page_of("lead", on=PHONE, path="/me/", language=language)
    page.locator(".menu summary").click()
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    assert page.evaluate(TOO_SMALL, SMALLEST) == []


def test_a_target_too_small_is_found(page_of):
    page = page_of("lead", on=PHONE, path="/me/")
    page.evaluate("document.querySelector('main').insertAdjacentHTML('beforeend', '<a href=\"/\">x</a>')")
    assert page.evaluate(TOO_SMALL, SMALLEST) == ['<a href="/">x</a>']


def test_the_theme_chosen_is_kept_for_the_next_page(page_of):
    page = page_of("lead", path="/me/")
    paper = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.locator(".menu summary").click()
    page.locator("[data-theme=dark][type=button]").click()
    dark = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.reload()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == dark != paper
    page.locator(".menu summary").click()
    page.locator("[data-theme=''][type=button]").click()
    page.reload()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == paper


def test_the_menu_closes_by_escape_and_gives_the_place_back(page_of):
    page = page_of("lead", path="/me/")
    page.locator(".menu summary").click()
    page.keyboard.press("Escape")
    assert not page.locator(".menu-panel").is_visible()
    assert page.evaluate("document.activeElement.tagName") == "SUMMARY"


def test_by_keyboard_the_first_step_leads_past_the_bar(page_of):
    page = page_of("lead", path="/me/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


def test_without_a_network_the_page_says_so_until_it_is_back(page_of):
    page = page_of("lead", path="/me/")
    strip = page.locator("[data-offline]")
    assert not strip.is_visible()
    page.context.set_offline(True)
    strip.wait_for(state="visible")
    page.context.set_offline(False)
    strip.wait_for(state="hidden")


def test_the_typeface_is_ours(page_of):
    page = page_of("lead", path="/me/")
    page.evaluate("document.fonts.ready.then(() => true)")
    assert page.evaluate("document.fonts.check('700 16px \"Atkinson Hyperlegible Next\"')")
    loaded = page.evaluate("[...document.fonts].filter(face => face.status === 'loaded').map(face => face.weight)")
    assert set(loaded) == {"400", "700"}
