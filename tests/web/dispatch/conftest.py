"""Units that were walked, for the tests of dispatch: what may leave, what is held, and people of every role."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone
from web.line import qualified, tractor, trailer, walk

from treadle.web.units.couple import couple

FIX = "2 1/8 in"
"""Past what 49 CFR 393.47(e) allows a type 30 standard chamber; the sheet of US rules, found."""
HOURS_AGO = timedelta(hours=2)


@pytest.fixture
def lead(person, in_shop):
    return qualified(person("lead", "technician"), on=(timezone.now() - timedelta(days=900)).date())


@pytest.fixture
def make(lead, shop):
    """Register a tractor, a trailer behind it if asked for, and walk them; `strokes` as `walk` takes them."""

    def made(number="K-12", behind=None, *, walked=True, strokes=None):
        at = timezone.now() - timedelta(days=400)
        unit = tractor(lead, number, at=at)
        units = [unit]
        if behind:
            units.append(trailer(lead, behind, at=at))
            couple(unit, units[1], at=timezone.now() - timedelta(days=3), by=lead)
        if walked:
            walk(unit, lead, shop, at=timezone.now() - HOURS_AGO, strokes=strokes)
        return units

    return made


@pytest.fixture
def standing_trailer(lead, shop):
    """Register a trailer that stands alone, and walk it."""

    def made(number="T-7", *, strokes=None, walked=True):
        unit = trailer(lead, number, at=timezone.now() - timedelta(days=400))
        if walked:
            walk(unit, lead, shop, at=timezone.now() - HOURS_AGO, strokes=strokes)
        return unit

    return made
