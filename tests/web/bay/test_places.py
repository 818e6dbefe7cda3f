"""Bays and tools, kept by the lead."""

from __future__ import annotations

from datetime import timedelta

from django.utils import timezone

from treadle.web.bay.models import Bay, Tool


def test_the_lead_adds_a_bay_and_takes_it_out_of_use(lead, asked):
    assert asked(lead, "/bay/places/", {"act": "bay", "name": "Bay 1"}).status_code == 302
    bay = Bay.objects.get()
    asked(lead, f"/bay/places/bays/{bay.pk}/close/", {})
    bay.refresh_from_db()
    assert bay.closed_at is not None
    assert "Bay 1" not in asked(lead, "/bay/places/").content.decode().partition("<main")[2].partition("</section>")[0]


def test_a_tool_number_is_on_record_once(lead, wrench, asked):
    answer = asked(lead, "/bay/places/", {"act": "tool", "number": wrench.number, "kind": "torque_wrench"})
    assert answer.status_code == 422
    assert Tool.objects.count() == 1


def test_a_calibration_is_recorded_and_its_history_kept(lead, wrench, asked):
    today = timezone.localdate()
    sent = {"calibrated_on": today.isoformat(), "calibration_due_on": (today + timedelta(days=365)).isoformat()}
    assert asked(lead, f"/bay/places/tools/{wrench.pk}/", sent).status_code == 302
    wrench.refresh_from_db()
    assert wrench.calibrated_on == today
    assert wrench.history.count() == 2


def test_a_calibration_due_before_it_was_done_cannot_be(lead, wrench, asked):
    today = timezone.localdate()
    sent = {"calibrated_on": today.isoformat(), "calibration_due_on": (today - timedelta(days=1)).isoformat()}
    assert asked(lead, f"/bay/places/tools/{wrench.pk}/", sent).status_code == 422


def test_a_tool_out_of_calibration_says_so_with_its_mark(lead, wrench, asked):
    Tool.objects.filter(pk=wrench.pk).update(calibration_due_on=timezone.localdate() - timedelta(days=1))
    page = asked(lead, "/bay/places/").content.decode()
    assert "mark-fix" in page
    assert "overdue" in page


def test_a_retired_tool_is_listed_no_more(lead, wrench, asked):
    asked(lead, f"/bay/places/tools/{wrench.pk}/retire/", {})
    assert wrench.number not in asked(lead, "/bay/places/").content.decode().partition("<main")[2].partition("</ul>")[0]
    assert Tool.objects.get().retired_at is not None
