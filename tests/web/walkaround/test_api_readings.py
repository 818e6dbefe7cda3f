"""The entry API as a phone with a bad network uses it: each entry once, nothing lost, nothing taken in silence."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from web.walkaround.rig import HELD, combination, post, slugs, stroke, walk_of

from treadle.web.base.scope import shop_scope
from treadle.web.people.models import Role
from treadle.web.walkaround.models import Reading, SetAside, WalkAround

pytestmark = pytest.mark.usefixtures("in_shop")


@pytest.fixture
def technician(person):
    return person("technician")


@pytest.fixture
def unit(person):
    return combination(person("lead"))[0]


@pytest.fixture
def walk(unit, technician):
    return walk_of(unit, technician)


@pytest.fixture
def phone(technician):
    client = Client()
    client.force_login(technician, backend="django.contrib.auth.backends.ModelBackend")
    return client


# -- once, and only once


def test_a_reading_is_new_once_and_known_when_it_is_sent_again(phone, walk):
    entry = stroke(walk)
    first, again = post(phone, "readings", entry), post(phone, "readings", entry)
    assert (first.status_code, first.json()["id"], first.json()["was"]) == (201, entry["id"], "new")
    assert (again.status_code, again.json()["id"], again.json()["was"]) == (200, entry["id"], "known")
    assert Reading.objects.count() == 1
    assert first.json()["found"] == again.json()["found"]


@pytest.mark.parametrize(
    "change",
    [
        {"value": "2 in"},
        {"side": "right"},
        {"at": "2026-10-02T07:40:00-06:00"},
        {"zone": "America/Boise"},
        {"reservoir": "95 psi"},
        {"kind": "free_stroke"},
        {"stated_reason": "read twice"},
    ],
    ids=lambda change: next(iter(change)),
)
def test_the_same_id_with_other_content_is_a_conflict_and_both_are_kept(phone, walk, change):
    entry = stroke(walk)
    post(phone, "readings", entry)
    answer = post(phone, "readings", entry | change)
    assert (answer.status_code, answer.json()["id"], answer.json()["set_aside"]) == (409, entry["id"], True)
    assert slugs(answer) == ["id_taken"]
    assert Reading.objects.get().fields["value"] == "1 1/2 in"
    kept = SetAside.objects.get()
    assert kept.entry[next(iter(change))] == next(iter(change.values()))


def test_a_conflict_sent_again_is_set_aside_once(phone, walk):
    entry = stroke(walk)
    post(phone, "readings", entry)
    for _ in range(2):
        post(phone, "readings", dict(reversed(list((entry | {"value": "2 in"}).items()))))
    assert SetAside.objects.count() == 1


def test_the_same_moment_written_with_another_offset_is_the_same_entry(phone, walk):
    entry = stroke(walk) | {"at": "2026-10-02T13:40:00+00:00"}
    post(phone, "readings", entry)
    assert post(phone, "readings", entry | {"at": "2026-10-02T07:40:00-06:00"}).status_code == 200


def test_an_entry_that_names_nobody_is_known_whoever_is_signed_in_when_it_comes_again(phone, walk, browser_of):
    entry = stroke(walk)
    post(phone, "readings", entry)
    assert post(browser_of("technician"), "readings", entry).status_code == 200


def test_an_id_another_shop_used_is_a_conflict_that_tells_nothing_of_it(phone, walk, person, other_shop):
    entry = stroke(walk)
    with shop_scope(other_shop.pk):
        lead = person("lead", at=other_shop)
        theirs = walk_of(combination(lead)[0], lead)
        client = Client()
        client.force_login(lead, backend="django.contrib.auth.backends.ModelBackend")
    assert post(client, "readings", stroke(theirs, "2 in", id=entry["id"])).status_code == 201
    answer = post(phone, "readings", entry)
    assert (answer.status_code, slugs(answer)) == (409, ["id_taken"])
    assert "2 in" not in answer.content.decode()
    assert SetAside.objects.get().entry["id"] == entry["id"]


# -- who


def test_a_keeper_sends_what_a_caller_read(phone, walk, person, technician):
    caller = person("technician")
    post(phone, "readings", stroke(walk, by=str(caller.pk)))
    row = Reading.objects.get()
    assert (row.entered_by, row.sent_by) == (caller, technician)


def test_ones_own_reading_names_no_sender(phone, walk, technician):
    post(phone, "readings", stroke(walk, by=str(technician.pk)))
    assert (Reading.objects.get().entered_by, Reading.objects.get().sent_by) == (technician, None)


def test_an_entry_in_the_name_of_somebody_who_may_not_measure_is_set_aside(phone, walk, person):
    dispatcher = person("dispatcher")
    answer = post(phone, "readings", stroke(walk, by=str(dispatcher.pk)))
    assert (answer.status_code, slugs(answer), answer.json()["set_aside"]) == (409, ["not_theirs"], True)
    assert Reading.objects.count() == 0
    assert SetAside.objects.get().reason == "not_theirs"


def test_an_entry_in_the_name_of_nobody_here_is_set_aside(phone, walk, person, other_shop):
    stranger = person("technician", at=other_shop)
    answer = post(phone, "readings", stroke(walk, by=str(stranger.pk)))
    assert (answer.status_code, slugs(answer)) == (409, ["unknown_person"])


def test_a_driver_walks_daily_and_no_other_way(browser_of, person, unit):
    driver = person("driver")
    daily, service = walk_of(unit, driver, occasion="daily"), walk_of(unit, person("lead"))
    client = Client()
    client.force_login(driver, backend="django.contrib.auth.backends.ModelBackend")
    seen = {"kind": "condition", "value": "none_seen"}
    assert post(client, "readings", stroke(daily, **seen)).status_code == 201
    assert slugs(post(client, "readings", stroke(service, **seen))) == ["not_theirs"]


@pytest.mark.parametrize("role", [role for role in Role.values if role not in {"technician", "lead", "driver"}])
def test_nobody_else_enters_readings(browser_of, walk, role):
    assert post(browser_of(role), "readings", stroke(walk)).status_code == 403


def test_a_stranger_is_told_to_sign_in_and_a_page_too_old_is_told_so(technician, walk):
    assert slugs(post(Client(), "readings", stroke(walk))) == ["sign_in_needed"]
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(technician, backend="django.contrib.auth.backends.ModelBackend")
    answer = post(strict, "readings", stroke(walk))
    assert (answer.status_code, slugs(answer)) == (403, ["page_too_old"])


# -- where


def test_a_walk_around_of_another_shop_is_not_there(person, browser_of, walk, other_shop):
    client = browser_of("technician", at=other_shop)
    assert post(client, "readings", stroke(walk)).status_code == 404
    assert client.get(f"/api/walk-arounds/{walk.pk}/readings").status_code == 404
    for act in ("finish", "abandon"):
        assert post(client, f"walk-arounds/{walk.pk}/{act}", {}).status_code == 404
    assert client.get("/api/limits/K-12?occasion=service").status_code == 404
    assert WalkAround.objects.get().finished_at is None


def test_an_entry_for_a_walk_around_given_up_is_set_aside(phone, walk):
    post(phone, f"walk-arounds/{walk.pk}/abandon", {})
    answer = post(phone, "readings", stroke(walk))
    assert (answer.status_code, slugs(answer)) == (409, ["walk_around_abandoned"])
    assert SetAside.objects.get().reason == "walk_around_abandoned"


@pytest.mark.parametrize(
    ("change", "slug"),
    [
        ({"unit": "K-99"}, "unknown_unit"),
        ({"axle": 7}, "unknown_axle"),
        ({"kind": "handshake"}, "word_not_allowed"),
        ({"value": "one and a half"}, "unreadable_quantity"),
        ({"value": "1.5"}, "no_unit"),
        ({"value": "9 in"}, "implausible"),
        ({"value": "6,400 mm"}, "ambiguous_quantity"),
        ({"at": "yesterday"}, "unreadable_time"),
        ({"at": "2026-10-02T07:40:00"}, "time_without_offset"),
        ({"at": "0001-01-01T00:00:00+14:00"}, "unreadable_time"),
        ({"zone": "Saltgrass"}, "unknown_zone"),
        ({"zone": "../../etc/passwd"}, "unknown_zone"),
        ({"corrects": str(uuid.UUID(int=1))}, "unknown_reading"),
        ({"withdraws": True}, "missing_field"),
        ({"value": "1 in\x00"}, "field_unusable"),
        ({"colour": "red"}, "field_unusable"),
        ({"axle": None, "side": None}, "missing_field"),
    ],
    ids=lambda part: part if isinstance(part, str) else next(iter(part)),
)
def test_what_cannot_be_read_is_named_and_nothing_is_kept(phone, walk, change, slug):
    answer = post(phone, "readings", stroke(walk) | change)
    assert (answer.status_code, slugs(answer)[0]) == (422, slug)
    assert all(one["says"] for one in answer.json()["problems"])
    assert Reading.objects.count() == SetAside.objects.count() == 0


def test_what_is_wrong_is_said_in_the_persons_language(browser_of, walk):
    answer = post(browser_of("technician", language="es"), "readings", stroke(walk, "9 in"))
    assert "no puede" in answer.json()["problems"][0]["says"]


# -- what cannot be so


def test_a_reading_that_cannot_be_so_is_asked_about_and_then_kept_with_a_reason(phone, walk):
    """A rod cannot travel less with air than by hand (brake-mechanics 3: free stroke is part of applied stroke)."""
    post(phone, "readings", stroke(walk, "1 1/2 in"))
    entry = stroke(walk, "2 in", kind="free_stroke")
    asked = post(phone, "readings", entry)
    assert (asked.status_code, slugs(asked)) == (422, ["doubtful_reading"])
    assert asked.json()["problems"][0]["details"]["code"] == "applied_less_than_free"
    assert Reading.objects.count() == 1
    kept = post(phone, "readings", entry | {"stated_reason": "read twice, it is so"})
    assert (kept.status_code, kept.json()["found"]) == (201, [])
    row = Reading.objects.get(pk=entry["id"])
    assert (row.doubt, row.stated_reason) == ("applied_less_than_free", "read twice, it is so")


def test_a_stroke_measured_once_more_is_held_against_the_later_free_stroke(phone, walk):
    post(phone, "readings", stroke(walk, "2 in", kind="free_stroke", at="2026-10-02T07:40:00-06:00", stated_reason="x"))
    post(phone, "readings", stroke(walk, "1/2 in", kind="free_stroke", at="2026-10-02T07:50:00-06:00"))
    assert post(phone, "readings", stroke(walk, "1 1/2 in")).status_code == 201


def test_a_time_ahead_of_the_shops_clock_is_asked_about(phone, walk):
    ahead = (timezone.now() + timedelta(hours=2)).isoformat()
    assert slugs(post(phone, "readings", stroke(walk, at=ahead))) == ["doubtful_reading"]


def test_a_lining_thicker_than_new_is_asked_about(phone, walk, unit):
    part = unit.parts.get(axle=2, side="left", slot="lining", removed_at=None)
    part.spec["new_thickness"] = "3/4 in"
    part.save()
    lining = {"kind": "lining", "shoe": "upper", "place": "centre"}
    assert slugs(post(phone, "readings", stroke(walk, "7/8 in", **lining))) == ["doubtful_reading"]
    assert post(phone, "readings", stroke(walk, "3/4 in", **lining)).status_code == 201


def test_a_value_that_cannot_be_is_named_by_the_place_a_person_knows(phone, walk):
    answer = post(phone, "readings", stroke(walk, "7 in", kind="lining", shoe="upper", place="centre"))
    (found,) = answer.json()["problems"]
    assert (found["slug"], found["where"]) == ("implausible", "K-12, axle 2, left")
    assert found["says"].startswith("K-12, axle 2, left: '7 in'")


# -- corrected, withdrawn


def test_a_correction_is_a_later_row_that_points_at_the_first(phone, walk):
    first = stroke(walk, "2 1/8 in")
    post(phone, "readings", first)
    second = stroke(walk, "1 7/8 in", corrects=first["id"], why_corrected="wrong key")
    assert post(phone, "readings", second).status_code == 201
    assert post(phone, "readings", second).status_code == 200
    assert Reading.objects.count() == 2
    assert str(Reading.objects.get(pk=second["id"]).corrects_id) == first["id"]


def test_a_correction_stays_at_its_wheel_end_and_kind(phone, walk):
    first = stroke(walk)
    post(phone, "readings", first)
    for elsewhere in ({"side": "right"}, {"axle": 3}, {"kind": "free_stroke"}):
        answer = post(phone, "readings", stroke(walk, corrects=first["id"], **elsewhere))
        assert slugs(answer) == ["unknown_reading"]


def test_a_reading_taken_back_can_be_sent_again_without_coming_back(phone, walk):
    first = stroke(walk)
    post(phone, "readings", first)
    gone = stroke(walk, None, corrects=first["id"], withdraws=True)
    assert post(phone, "readings", gone).status_code == 201
    assert post(phone, "readings", first).status_code == 200
    assert post(phone, "readings", gone).status_code == 200
    assert Reading.objects.count() == 2


# -- what the judge says of it


def test_the_answer_says_what_the_reading_comes_to(phone, walk):
    """Type 30 standard: readjustment limit 2 in; 2 1/8 in is past it (us-rules A.4, table of 393.47(e))."""
    found = post(phone, "readings", stroke(walk, "2 1/8 in")).json()["found"]
    assert found[0]["outcome"] == "fix"
    assert found[0]["citation"] == "49 CFR 393.47(e)"
    assert "2 1/8 in" in found[0]["says"]
    assert post(phone, "readings", stroke(walk, "1 1/2 in")).json()["found"][0]["outcome"] == "good"


def test_a_test_of_the_air_is_judged_for_the_units_coupled(phone, walk):
    """Applied leak over one minute: 4 psi for a combination of two (us-rules D); 5 psi is past it."""
    test = {"axle": None, "side": None, "kind": "air_loss", "state": "applied", "value": None, "seconds": 60}
    del test["axle"], test["side"]
    entry = {key: value for key, value in stroke(walk, **test).items() if key not in ("axle", "side", "value")}
    within = post(phone, "readings", entry | {"start": "100 psi", "end": "96 psi"}).json()
    assert within["found"][0]["outcome"] in ("good", "watch")
    later = entry | {"id": str(uuid.uuid4()), "at": timezone.now().isoformat(), "start": "100 psi", "end": "95 psi"}
    assert post(phone, "readings", later).json()["found"][0]["outcome"] == "fix"


# -- beginning, noting, finishing


def beginning(unit="K-12", **more):
    return {
        "id": str(uuid.uuid4()),
        "unit": unit,
        "occasion": "service",
        "at": timezone.now().isoformat(),
        "zone": "America/Denver",
        **more,
    }


def test_a_walk_around_is_begun_once_whatever_is_coupled_since(phone, unit, technician):
    entry = beginning()
    first = post(phone, "walk-arounds", entry)
    assert (first.status_code, first.json()["combination"]) == (201, ["K-12", "T-7"])
    unit.pulled.get().delete()
    again = post(phone, "walk-arounds", entry)
    assert (again.status_code, again.json()["combination"]) == (200, ["K-12", "T-7"])
    assert WalkAround.objects.count() == 1


def test_another_walk_around_under_a_known_id_is_a_conflict(phone, unit):
    entry = beginning()
    post(phone, "walk-arounds", entry)
    for change in ({"occasion": "daily"}, {"alone": True}, {"at": "2026-10-02T07:40:00-06:00"}):
        answer = post(phone, "walk-arounds", entry | change)
        assert (answer.status_code, slugs(answer)) == (409, ["id_taken"])
    assert SetAside.objects.count() == 3


def test_a_unit_alone_is_walked_without_what_it_pulls(phone, unit):
    assert post(phone, "walk-arounds", beginning(alone=True)).json()["combination"] == ["K-12"]


def test_a_meter_that_went_back_is_asked_about_and_begins_anew_when_it_was_replaced(phone, unit):
    entry = beginning(meters={"K-12": "120"})
    asked = post(phone, "walk-arounds", entry)
    assert (asked.status_code, slugs(asked)) == (422, ["meter_went_back"])
    assert WalkAround.objects.count() == 0
    assert post(phone, "walk-arounds", entry | {"replaced": ["K-12"]}).status_code == 201
    segments = list(unit.meter_segments.order_by("began_at").values_list("began_reading", "ended_reading"))
    assert segments == [("412000 mi", "412000 mi"), ("120 mi", "")]


def test_a_unit_that_is_not_there_cannot_be_walked(phone, unit):
    assert post(phone, "walk-arounds", beginning("K-99")).status_code == 404


def test_spring_brakes_are_released_only_once_the_wheels_are_chocked(phone, walk):
    """Spring brakes released only when chocked: common practice, no source (common-practice, order of the passes)."""
    path = f"walk-arounds/{walk.pk}/note"
    now = timezone.now().isoformat()
    assert slugs(post(phone, path, {"at": now, "made_safe": ["springs"]})) == ["chocks_first"]
    assert post(phone, path, {"at": now, "made_safe": ["chocks"]}).status_code == 200
    for _ in range(2):
        assert post(phone, path, {"at": now, "made_safe": ["springs"], **HELD}).status_code == 200
    walk.refresh_from_db()
    assert [one["what"] for one in walk.made_safe] == ["chocks", "springs"]
    assert walk.circumstances == HELD


def test_a_pressure_that_cannot_be_read_is_refused(phone, walk):
    note = {"at": timezone.now().isoformat(), "reservoir": "90 in"}
    assert slugs(post(phone, f"walk-arounds/{walk.pk}/note", note)) == ["wrong_unit"]


def test_finishing_twice_gives_one_assessment_and_what_came_late_is_judged_once_more(phone, walk):
    post(phone, "readings", stroke(walk))
    path = f"walk-arounds/{walk.pk}/finish"
    first = post(phone, path, {})
    assert (first.status_code, first.json()["outcome"]) == (200, "unseen")
    post(phone, path, {})
    assert walk.judged.count() == 1
    post(phone, "readings", stroke(walk, "2 1/4 in", axle=3))
    assert post(phone, path, {}).json()["outcome"] == "fix"
    assert walk.judged.count() == 2


def test_a_walk_around_that_is_finished_cannot_be_given_up(phone, walk):
    post(phone, f"walk-arounds/{walk.pk}/finish", {})
    answer = post(phone, f"walk-arounds/{walk.pk}/abandon", {})
    assert (answer.status_code, slugs(answer)) == (409, ["walk_around_finished"])


# -- two on one walk


def test_what_the_other_entered_is_told_and_both_readings_are_kept(phone, walk, browser_of):
    mine, theirs = stroke(walk, "1 1/2 in"), stroke(walk, "1 5/8 in")
    post(phone, "readings", mine)
    before = phone.get(f"/api/walk-arounds/{walk.pk}/readings").json()
    other = browser_of("lead")
    post(other, "readings", theirs)
    news = phone.get(f"/api/walk-arounds/{walk.pk}/readings", {"since": before["until"]}).json()
    assert [one["id"] for one in before["readings"]] == [mine["id"]]
    assert theirs["id"] in [one["id"] for one in news["readings"]]
    assert len({one["by"] for one in news["readings"]}) == 2
    assert Reading.objects.count() == 2


def test_readings_older_than_asked_for_are_not_told_again(phone, walk):
    post(phone, "readings", stroke(walk))
    later = (timezone.now() + timedelta(minutes=1)).isoformat()
    assert phone.get(f"/api/walk-arounds/{walk.pk}/readings", {"since": later}).json()["readings"] == []


@pytest.mark.parametrize("role", ["owner", "inspector"])
def test_owner_and_inspector_read_along(browser_of, walk, role):
    assert browser_of(role).get(f"/api/walk-arounds/{walk.pk}/readings").status_code == 200


# -- limits


def test_limits_come_with_their_edition_and_are_not_sent_twice(phone, unit):
    first = phone.get("/api/limits/K-12?occasion=service")
    assert (first.status_code, first.json()["treadle"]) == (200, "limits/1")
    assert first.json()["edition"]
    again = phone.get("/api/limits/K-12?occasion=service", headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert phone.get("/api/limits/K-12?occasion=roadside").headers["ETag"] != first.headers["ETag"]


def test_limits_change_their_tag_when_a_part_is_another(phone, unit):
    first = phone.get("/api/limits/K-12?occasion=service").headers["ETag"]
    part = unit.parts.get(axle=2, side="left", slot="chamber", removed_at=None)
    part.spec |= {"stroke_class": "long", "rated_stroke": "3 in"}
    part.save()
    assert phone.get("/api/limits/K-12?occasion=service").headers["ETag"] != first


def test_sentences_of_the_limits_are_in_the_persons_language_and_leave_room_for_the_reading(browser_of, unit):
    limits = browser_of("technician", language="es").get("/api/limits/K-12?occasion=service").json()
    bands = [
        band
        for end in limits["ends"]
        for table in end["measures"]
        if table["kind"] == "applied_stroke"
        for band in table["bands"]
        if band.get("code") == "over"
    ]
    assert bands
    assert all("{measured}" in band["says"] and "{excess}" in band["says"] for band in bands)
    assert all("carrera" in band["says"].lower() for band in bands)


# -- constant work


def test_a_reading_costs_the_same_number_of_queries_however_many_there_are(phone, walk):
    def queries():
        with CaptureQueriesContext(connection) as asked:
            post(phone, "readings", stroke(walk, "1 3/8 in"))
        return len(asked)

    post(phone, "readings", stroke(walk))
    few = queries()
    for number in range(12):
        post(phone, "readings", stroke(walk, "1 1/4 in", axle=1 + number % 3, side="right"))
    assert queries() == few <= 25
