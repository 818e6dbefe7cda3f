"""Re-checks: due by distance or day, recorded by a driver or for another shop, open until strokes are taken again."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from web import line

from treadle.errors import BadInput
from treadle.web.bay import rechecks
from treadle.web.bay.models import ReCheck, ReCheckRecord
from treadle.web.units.meters import note_meter

ENDS = [(2, "left"), (2, "right")]


@pytest.fixture
def due(reline, lead, now):
    """The re-check of the reline, asked for as at its release."""
    return rechecks.ask_for_re_check(reline, ENDS, by=lead, at=now - timedelta(hours=1))


def wheels(moved=0):
    return [{"axle": axle, "side": side, "nuts": 10, "moved": moved if side == "left" else 0} for axle, side in ENDS]


def record(row, by, at, **more):
    given = {"wheels": wheels(), "done_by": by.name, **more}
    return rechecks.record_re_check(row, record_id=uuid.uuid4(), done_at=at, by=by, **given)


def sent(**more):
    form = {"record": str(uuid.uuid4()), "done_by": "J. Teague", "outside_shop": "", "meter": "", "note": ""}
    for _, side in ENDS:
        form |= {f"nuts_2_{side}": "10", f"moved_2_{side}": "0", f"torque_2_{side}": "475", f"wrench_2_{side}": "W-9"}
    return form | more


@pytest.mark.parametrize(
    ("miles", "state"), [(0, "waiting"), (49, "waiting"), (50, "due"), (100, "due"), (101, "overdue")]
)
def test_a_re_check_is_due_from_50_to_100_miles(due, technician, now, miles, state):
    # 50 to 100 miles: shop-work 1.3, item 9, found in makers' manuals.
    note_meter(due.unit, str(412_000 + miles), at=now, by=technician)
    assert rechecks.how_due(due, at=now).state == state


def test_a_re_check_nobody_reported_is_overdue_after_its_day_whatever_the_distance(due, now):
    assert rechecks.how_due(due, at=now + timedelta(days=13)).state == "waiting"
    assert rechecks.how_due(due, at=now + timedelta(days=16)).state == "overdue"


def test_a_driver_records_the_wheels_and_the_strokes_stay_due(due, person, now, asked):
    driver = person("driver")
    at = {"done_at": f"{now - timedelta(hours=9):%Y-%m-%dT%H:%M}"}
    answer = asked(driver, f"/bay/re-checks/{due.pk}/", sent(**at), follow=True)
    page = answer.content.decode()
    assert "10 nuts checked, 0 moved" in page
    assert "Strokes of the new linings" in page
    due.refresh_from_db()
    assert due.done_at is None
    assert ReCheckRecord.objects.get().entered_by == driver


def test_nuts_that_moved_say_what_to_do_and_are_checked_once_more(due, person, now, asked):
    at = {"done_at": f"{now - timedelta(hours=9):%Y-%m-%dT%H:%M}"}
    page = asked(
        person("driver"), f"/bay/re-checks/{due.pk}/", sent(moved_2_left="2", **at), follow=True
    ).content.decode()
    assert "2 of 10 nuts moved." in page
    assert "do not just tighten it and go" in page
    again = ReCheck.objects.exclude(pk=due.pk).get()
    assert (again.ends, again.strokes) == ([{"axle": 2, "side": "left"}], False)


def test_the_strokes_of_a_later_walk_close_it(due, technician, shop, now, asked):
    record(due, technician, now)
    assert rechecks.strokes_taken(due) is None
    line.walk(due.unit, technician, shop, at=now - timedelta(minutes=50))
    assert asked(technician, f"/bay/re-checks/{due.pk}/strokes/", {}).status_code == 302
    due.refresh_from_db()
    assert due.done_at is not None


def test_the_work_of_another_shop_is_recorded_with_its_name(due, technician, now):
    row = record(due, technician, now, outside_shop="Cinder Creek Truck Repair", done_by="their mechanic")
    assert (row.outside_shop, row.done_by) == ("Cinder Creek Truck Repair", "their mechanic")


def test_a_wheel_left_out_is_refused_and_what_was_entered_stays(due, person, now, asked):
    at = {"done_at": f"{now - timedelta(hours=9):%Y-%m-%dT%H:%M}"}
    answer = asked(person("driver"), f"/bay/re-checks/{due.pk}/", sent(nuts_2_right="", note="Dusty.", **at))
    assert answer.status_code == 422
    assert "Dusty." in answer.content.decode()
    assert not ReCheckRecord.objects.exists()


def test_more_nuts_moved_than_were_checked_cannot_be(due, technician, now):
    with pytest.raises(BadInput) as refused:
        record(due, technician, now, wheels=wheels(moved=11))
    assert refused.value.problems[0].slug == "more_moved_than_nuts"


def test_the_same_record_is_taken_once(due, technician, now):
    key = uuid.uuid4()
    for _ in range(2):
        rechecks.record_re_check(due, record_id=key, done_at=now, done_by="x", by=technician, wheels=wheels())
    assert ReCheckRecord.objects.count() == 1


def test_a_dispatcher_sees_it_and_records_nothing(due, person, now, asked):
    somebody = person("dispatcher")
    page = asked(somebody, f"/bay/re-checks/{due.pk}/", sent(done_at=f"{now:%Y-%m-%dT%H:%M}")).content.decode()
    assert "A driver, a technician or the lead records it." in page
    assert not ReCheckRecord.objects.exists()


def test_the_units_page_shows_the_re_check_to_a_driver_and_the_job_to_the_shop(due, person, technician, asked):
    for somebody, sees_job in ((person("driver"), False), (technician, True)):
        page = asked(somebody, "/units/K-12/").content.decode()
        assert f"/bay/re-checks/{due.pk}/" in page
        assert (f'href="/bay/{due.job.number}/"' in page) is sees_job


def test_the_slip_is_a_pdf(due, person, asked):
    due.strokes = False
    due.save()
    assert asked(person("driver"), f"/bay/re-checks/{due.pk}/slip.pdf").content.startswith(b"%PDF")
