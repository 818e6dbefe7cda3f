"""The way in, as a browser shows it: the sign-in page on a phone and at a desk, then the start of the day."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser.conftest import DESK, PHONE


@pytest.mark.parametrize("on", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.django_db(transaction=True)
def test_the_sign_in_page_can_be_used_by_everybody(page_of, shop, on, language):
    page = page_of(on=on, path="/sign-in/", browser_language=language)
    assert page.locator("html").get_attribute("lang") == language
    assert Axe().run(page).response["violations"] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.django_db(transaction=True)
def test_somebody_who_signs_in_comes_to_where_their_day_begins_and_may_leave(page_of, person):
    person("lead", sign_in="oduya")
    page = page_of(path="/sign-in/")
    page.get_by_label("Sign-in name").fill("oduya")
    page.get_by_label("Password").fill("chock-the-wheels-first")
    page.locator("form.form button").click()
    page.wait_for_url(lambda address: "/sign-in/" not in address)
    assert page.locator("header").get_by_text("Oduya").count() > 0
