"""A shop at work: people, a worn tractor, a wrench, and jobs at different points; all dated from now."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from web import line
from web_people import BACKEND

from treadle.web.bay import jobs
from treadle.web.bay.models import Tool


@pytest.fixture
def now():
    return timezone.now()


@pytest.fixture
def lead(person, in_shop):
    return line.qualified(person("lead", "technician"))


@pytest.fixture
def technician(person, in_shop):
    return line.qualified(person("technician"))


@pytest.fixture
def wrench(in_shop, now):
    return Tool.objects.create(
        number="TW-2",
        kind=Tool.Kind.TORQUE_WRENCH,
        calibrated_on=(now - timedelta(days=30)).date(),
        calibration_due_on=(now + timedelta(days=335)).date(),
    )


@pytest.fixture
def worn(lead, technician, shop, now):
    """A tractor whose left lining of axle 2 is under 1/4 in (49 CFR 393.47(d)(2)), seen yesterday."""
    unit = line.tractor(lead, at=now - timedelta(days=400))
    line.walk(unit, technician, shop, at=now - timedelta(days=1), linings={("K-12", 2, "left"): "7/32 in"})
    return unit


@pytest.fixture
def reline(worn, lead, technician, now):
    """The reline of its axle 2, under way."""
    job = jobs.accept(line.reline_job(worn, lead), by=lead, at=now - timedelta(hours=5), does=[technician])
    return jobs.begin_work(job, by=technician)


@pytest.fixture
def crew(technician, lead, wrench):
    """Who does the work and who looks a second time, with a wrench in calibration."""
    return technician, lead


@pytest.fixture
def asked():
    """Ask for a page as somebody."""

    def ask(person, address, data=None, **how):
        client = Client()
        client.force_login(person, backend=BACKEND)
        return client.get(address, **how) if data is None else client.post(address, data, **how)

    return ask
