"""A real browser for the tests: Chromium, as a phone and as a desk, with somebody signed in.

`do.py test` finds or installs Chromium and names it in TREADLE_CHROMIUM; a run by hand takes the first on the path.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, Page
from web_people import browser_of, in_shop, other_shop, person, shop

__all__ = ["browser_of", "in_shop", "other_shop", "person", "shop"]

# Playwright keeps a loop running in the tests' own thread, and Django would take each query for one made within it.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

CHROMIUMS = ("chromium", "chromium-browser", "google-chrome", "msedge")
QUIET = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True, "device_scale_factor": 2}
DESK = {"viewport": {"width": 1440, "height": 900}}
PATIENCE_MS = 15_000
"""A slow machine is no failure; a page that does not come within this is. [ms]"""


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """The system's own Chromium where there is one; without its sandbox only for root, who cannot have it."""
    found = os.environ.get("TREADLE_CHROMIUM") or next(filter(None, map(shutil.which, CHROMIUMS)), None)
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    arguments = [*QUIET, *(["--no-sandbox"] if as_root else [])]
    return {**browser_type_launch_args, "executable_path": found, "args": arguments}


@pytest.fixture
def page_of(browser: Browser, live_server: Any, browser_of: Callable[..., Client]) -> Any:
    """Open the site as somebody with these roles sees it, on a phone or at a desk; nobody is signed in without roles.

    A page that shows an error in its console fails the test: with a strict content policy, that is how a blocked
    script or style shows.
    """
    contexts, complaints = [], []

    def opened(
        *roles: str, on: dict[str, Any] = DESK, path: str = "/", browser_language: str = "en", **how: Any
    ) -> Page:
        context = browser.new_context(base_url=live_server.url, locale=browser_language, **on)
        contexts.append(context)
        if roles:
            session = browser_of(*roles, **how).cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": session, "url": live_server.url}])
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda fault: complaints.append(str(fault)))
        page.goto(path)
        return page

    opened.complaints = complaints  # type: ignore[attr-defined]  # a test that provokes one takes it out itself
    yield opened
    for context in contexts:
        context.close()
    assert complaints == [], "the browser complained"
