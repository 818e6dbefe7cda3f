"""The units' screens: who sees and who changes, what is typed is kept, and two people do not overwrite each other."""

from __future__ import annotations

from datetime import timedelta
from html import unescape
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from treadle.web.units.couple import couple
from treadle.web.units.models import FittedPart, MeterReading, Unit
from treadle.web.units.panels import _ACTIONS, _PANELS, Action, Panel, register_action, register_panel
from treadle.web.units.register import FirstMeter
from treadle.words import say

ROLES = ("technician", "lead", "dispatcher", "driver", "owner", "inspector")
SEEN = ("list", "unit", "label", "meter", "end")
FOR_SHOP = ("documents", "correct", "another")
FOR_LEAD = ("register", "edit", "leave")
ARGUMENTS = {
    "list": [],
    "register": [],
    "end": ["K-12", 2, "left"],
    "correct": ["K-12", 2, "left", "chamber"],
    "another": ["K-12", 2, "left", "chamber"],
    "copy": ["K-12", 2, "left"],
}


def address(name):
    return reverse(f"units:{name}", args=ARGUMENTS.get(name, ["K-12"]))


def text_of(answer):
    return unescape(answer.content.decode())


@pytest.mark.parametrize("role", ROLES)
def test_everybody_of_the_shop_sees_units_and_only_some_change_them(make, browser_of, role):
    make()
    browser = browser_of(role)
    assert {browser.get(address(name)).status_code for name in SEEN} == {200}
    shop = 200 if role in ("technician", "lead") else 403
    assert {browser.get(address(name)).status_code for name in FOR_SHOP} == {shop}
    lead = 200 if role == "lead" else 403
    assert {browser.get(address(name)).status_code for name in FOR_LEAD} == {lead}
    meter = browser.post(address("meter"), {"act": "begin", "new_reading": ""}).status_code
    assert meter == shop
    assert browser.post(address("copy"), {}).status_code == shop


def test_a_stranger_is_asked_to_sign_in(make, client):
    make()
    for name in (*SEEN, *FOR_SHOP, *FOR_LEAD):
        answer = client.get(address(name))
        assert answer.status_code == 302
        assert answer.url.startswith("/sign-in/")


def test_another_shop_sees_nothing_of_it(make, browser_of, other_shop):
    make(owner="Saltgrass")
    theirs = browser_of("lead", at=other_shop)
    assert {theirs.get(address(name)).status_code for name in (*SEEN[1:], *FOR_SHOP, *FOR_LEAD[1:])} == {404}
    assert "K-12" not in text_of(theirs.get(address("list")))


def test_looking_changes_nothing(make, browser_of):
    make(meter=FirstMeter("100"))
    browser = browser_of("lead")
    before = [Unit.history.count(), FittedPart.history.count(), MeterReading.objects.count()]
    for name in (*SEEN, *FOR_SHOP, *FOR_LEAD):
        browser.get(address(name))
    assert [Unit.history.count(), FittedPart.history.count(), MeterReading.objects.count()] == before
    assert browser.get(address("return")).status_code == 405
    assert browser.get(address("copy")).status_code == 405


def test_a_wheel_end_the_unit_does_not_have_is_not_there(make, browser_of):
    make()
    browser = browser_of("lead")
    for axle, side, slot in ((4, "left", "drum"), (1, "middle", "drum"), (1, "left", "teapot")):
        assert browser.get(reverse("units:correct", args=["K-12", axle, side, slot])).status_code == 404


# -- the list


def test_an_empty_list_says_what_to_do_next(in_shop, browser_of):
    assert say("units.list.empty_text") in text_of(browser_of("lead").get(address("list")))
    driver = text_of(browser_of("driver").get(address("list")))
    assert say("units.list.empty_ask") in driver
    assert address("register") not in driver


def test_units_are_found_by_number_vin_and_owner(make, browser_of):
    make("K-12", owner="Saltgrass", vin="1ZZBA48X0KZ123456")
    make("K-13", owner="Nine Mile")
    browser = browser_of("lead")
    for typed, found in (("k-1", {"K-12", "K-13"}), ("saltg", {"K-12"}), ("1zzba4", {"K-12"}), ("xyxy", set())):
        shown = text_of(browser.get(address("list"), {"q": typed}))
        assert {number for number in ("K-12", "K-13") if f"/units/{number}/" in shown} == found


def test_a_number_typed_in_full_leads_to_its_page(make, browser_of):
    make("K-12")
    answer = browser_of("driver").get(address("list"), {"q": "k-12"})
    assert (answer.status_code, answer.url) == (302, "/units/K-12/")


def test_the_list_is_narrowed_by_kind_and_by_what_was_not_seen(make, browser_of):
    make("K-12")
    make("T-7", layout="trailer_tandem_drum")
    browser = browser_of("lead")
    trailers = text_of(browser.get(address("list"), {"kind": "trailer"}))
    assert ("/units/T-7/" in trailers, "/units/K-12/" in trailers) == (True, False)
    assert "/units/K-12/" in text_of(browser.get(address("list"), {"days": "90"}))  # nobody ever looked
    assert "/units/K-12/" in text_of(browser.get(address("list"), {"kind": "boat", "days": "x", "page": "x"}))


def test_a_small_update_brings_the_rows_alone(make, browser_of):
    make()
    rows = text_of(browser_of("lead").get(address("list"), {"q": "K-12"}, headers={"HX-Request": "true"}))
    assert "/units/K-12/" in rows
    assert "<html" not in rows


def test_a_long_list_costs_no_more_queries_than_a_short_one(make, browser_of, django_assert_num_queries):
    browser = browser_of("lead")
    make("K-1")
    browser.get(address("list"))
    with CaptureQueriesContext(connection) as few:
        browser.get(address("list"))
    for number in range(2, 22):
        make(f"K-{number}", layout="trailer_single_drum")
    with django_assert_num_queries(len(few)):
        shown = text_of(browser.get(address("list")))
    assert shown.count('class="row"') == 21


def test_a_unit_out_of_the_fleet_is_listed_apart(make, browser_of):
    make()
    browser = browser_of("lead")
    browser.post(address("leave"), {"left_on": "2026-05-01"})
    assert "/units/K-12/" not in text_of(browser.get(address("list")))
    assert "/units/K-12/" in text_of(browser.get(address("list"), {"left": "1"}))
    browser.post(address("return"))
    assert "/units/K-12/" in text_of(browser.get(address("list")))


# -- registering and facts


def facts(**other):
    given = {
        "layout": "tractor_2_drum",
        "numbers": "K-1, K-2",
        "built": "2019-03",
        "runs_in": ["us"],
        "suspension": "air",
        "measure": "mi",
    }
    return given | other


def test_two_units_of_one_layout_are_registered_at_once(in_shop, browser_of):
    answer = browser_of("lead").post(address("register"), facts())
    assert answer.status_code == 302
    assert [(unit.number, unit.parts.filter(slot="drum").count()) for unit in Unit.objects.all()] == [
        ("K-1", 4),
        ("K-2", 4),
    ]


def test_one_unit_is_registered_with_its_meter_and_its_page_follows(in_shop, browser_of):
    answer = browser_of("lead").post(address("register"), facts(numbers="K-1", meter="412,35 0", measure="km"))
    assert answer.status_code == 200  # no number that can be read for certain
    answer = browser_of("lead").post(address("register"), facts(numbers="K-1", meter="412,350", measure="km"))
    assert (answer.status_code, answer.url) == (302, "/units/K-1/")
    assert Unit.objects.get().meter_segments.get().began_reading == "412350 km"


def test_what_was_typed_stays_when_it_cannot_be_taken(make, browser_of):
    make("K-2")
    answer = browser_of("lead").post(address("register"), facts(built="1998-77", owner="Saltgrass", vin="SHORT"))
    page = text_of(answer)
    assert Unit.objects.count() == 1
    for kept in ("K-1, K-2", "1998-77", "Saltgrass", "SHORT"):
        assert f'value="{kept}"' in page
    assert say("units.for_one_alone") in page
    again = text_of(browser_of("lead").post(address("register"), facts(built="1998-77")))
    where = say("units.field.numbers")
    assert say("error.unit_number_taken", where=where, given="K-2") in again
    assert say("error.unreadable_build_date", where=say("units.field.built"), given="1998-77") in again


def test_facts_are_edited_and_their_history_kept(make, browser_of):
    unit = make()
    browser = browser_of("lead")
    version = browser.get(address("edit")).context["form"]["version"].value()
    edited = facts(owner="Nine Mile", runs_in=["us", "ca-qc"], version=version)
    assert browser.post(address("edit"), edited).status_code == 302
    unit.refresh_from_db()
    assert (unit.owner, unit.runs_in, unit.suspension) == ("Nine Mile", ["us", "ca-qc"], "air")
    assert unit.history.count() == 2


def test_two_people_editing_one_unit_see_both_and_neither_is_lost(make, browser_of):
    make()
    one, other = browser_of("lead"), browser_of("lead")
    version = one.get(address("edit")).context["form"]["version"].value()
    assert one.post(address("edit"), facts(owner="From one", version=version)).status_code == 302
    refused = other.post(address("edit"), facts(owner="From the other", version=version))
    page = text_of(refused)
    assert refused.status_code == 200
    assert "From one" in page
    assert 'value="From the other"' in page
    assert Unit.objects.get().owner == "From one"
    version = refused.context["form"]["version"].value()
    assert other.post(address("edit"), facts(owner="From the other", version=version)).status_code == 302
    assert Unit.objects.get().owner == "From the other"


# -- the page of a unit


def test_the_page_leads_to_every_wheel_end_from_its_drawing(make, browser_of):
    make()
    page = text_of(browser_of("driver").get(address("unit")))
    for axle in (1, 2, 3):
        for side in ("left", "right"):
            assert f'<a class="end" href="/units/K-12/axle/{axle}/{side}/"' in page


def test_a_unit_nobody_measured_is_unseen_and_its_tags_are_not_confirmed(make, browser_of):
    make()
    answer = browser_of("driver").get(address("unit"))
    assert answer.context["outlook"].outcome == "unseen"
    assert say("units.defaults.not_confirmed") in text_of(answer)


def test_a_trailer_without_a_meter_says_how_its_distance_is_known(make, lead, browser_of):
    tractor, trailer = make("K-1", meter=FirstMeter("1000")), make("T-7", layout="trailer_tandem_drum")
    browser = browser_of("lead")
    page = reverse("units:unit", args=["T-7"])
    assert say("units.meter.none_towed") in text_of(browser.get(page))
    couple(tractor, trailer, at=timezone.now() - timedelta(days=3), by=lead)
    shown = text_of(browser.get(page))
    assert say("units.meter.none_towed") not in shown
    assert '<a href="/units/K-1/">' in shown


@pytest.fixture
def clean_panels():
    panels, actions = dict(_PANELS), dict(_ACTIONS)
    yield
    for kept, now in ((panels, _PANELS), (actions, _ACTIONS)):
        now.clear()
        now.update(kept)


def test_higher_apps_show_their_panels_and_actions_in_order(make, browser_of, clean_panels):
    make()
    for name, order in (("late", 2), ("early", 1)):
        register_panel(
            Panel(name, order, "units.page.facts", "includes/empty.html", lambda _, unit: {"title": unit.number})
        )
        register_action(Action(name, order, "units.save", lambda _, unit, name=name: f"/{name}/{unit.number}"))
    register_panel(Panel("nothing", 0, "units.page.facts", "includes/empty.html", lambda *_: None))
    register_action(Action("nothing", 0, "units.save", lambda *_: None))
    answer = browser_of("driver").get(address("unit"))
    page = text_of(answer)
    assert page.index("panel-early") < page.index("panel-late")
    assert page.index("/early/K-12") < page.index("/late/K-12")
    assert "panel-nothing" not in page


def test_the_label_holds_a_code_and_the_address_it_leads_to(make, browser_of):
    make()
    answer = browser_of("driver").get(address("label"))
    assert answer.context["there"] == "http://testserver/units/K-12/"
    assert "viewBox" in answer.context["code"]


# -- a wheel end


def test_a_part_is_corrected_and_a_bare_size_is_in_the_shops_measure(make, fitted, browser_of):
    unit = make()
    browser = browser_of("technician")
    form = browser.get(address("correct")).context["form"]
    given = {"design": "clamp", "type": "30", "stroke_class": "long", "rated_stroke": "3", "lot": "C-1"}
    answer = browser.post(address("correct"), given | {"version": form["version"].value()})
    assert answer.status_code == 302
    assert fitted(unit, 2, "left", "chamber").spec == {
        "design": "clamp",
        "type": "30",
        "stroke_class": "long",
        "rated_stroke": "3 in",
    }


def test_a_size_that_cannot_be_read_is_said_beside_its_field(make, browser_of):
    make()
    browser = browser_of("technician")
    version = browser.get(address("correct")).context["form"]["version"].value()
    given = {"design": "clamp", "type": "30L", "rated_stroke": "three", "version": version}
    answer = browser.post(address("correct"), given)
    assert set(answer.context["form"].errors) == {"rated_stroke"}
    given["rated_stroke"] = ""
    assert set(browser.post(address("correct"), given).context["form"].errors) == {"type"}


def test_a_stale_correction_shows_what_is_on_record_now(make, fitted, browser_of):
    unit = make()
    one, other = browser_of("technician"), browser_of("technician")
    version = one.get(address("correct")).context["form"]["version"].value()
    first = {"design": "clamp", "type": "24", "version": version}
    assert one.post(address("correct"), first).status_code == 302
    refused = other.post(address("correct"), {"design": "clamp", "type": "36", "version": version})
    assert (say("units.spec.chamber.type"), "24") in refused.context["theirs"]
    assert refused.context["form"]["type"].value() == "36"
    assert fitted(unit, 2, "left", "chamber").spec["type"] == "24"


def test_another_part_is_fitted_with_its_reason_and_never_in_the_future(make, fitted, browser_of):
    unit = make(at=timezone.now() - timedelta(days=9))
    browser = browser_of("technician")
    given = {"design": "clamp", "type": "30", "why": "leak", "lot": "C-2", "at": "2199-01-01T08:00"}
    refused = browser.post(address("another"), given)
    assert set(refused.context["form"].errors) == {"at"}
    given["at"] = moment()
    assert browser.post(address("another"), given).status_code == 302
    now = fitted(unit, 2, "left", "chamber")
    assert now.lot == "C-2"
    gone = FittedPart.objects.get(unit=unit, axle=2, side="left", slot="chamber", removed_why="leak")
    assert gone.removed_at == now.fitted_at


def test_the_parts_of_an_end_are_copied_across_its_axle(make, fitted, browser_of):
    unit = make(overrides={(2, "left", "chamber"): {"type": "36", "rated_stroke": "3 in"}})
    answer = browser_of("technician").post(address("copy"), {"slots": ["chamber"], "ends": ["2-right"]})
    assert answer.status_code == 302
    assert fitted(unit, 2, "right", "chamber").spec["type"] == "36"
    wrong = browser_of("technician").post(address("copy"), {"slots": ["chamber"], "ends": ["9-right"]})
    assert set(wrong.context["copying"].errors) == {"ends"}


# -- the meter


def moment(**ago):
    """A moment as a browser in the shop sends it: by the shop's clock, without a zone."""
    return f"{timezone.localtime(timezone=ZoneInfo('America/Denver')) - timedelta(**ago):%Y-%m-%dT%H:%M}"


def test_a_reading_is_noted(make, browser_of):
    make(meter=FirstMeter("1000"), at=timezone.now() - timedelta(days=9))
    browser = browser_of("technician")
    answer = browser.post(address("meter"), {"act": "note", "reading": "1500", "at": moment(days=1)})
    assert answer.status_code == 302
    assert MeterReading.objects.get().reading == "1500 mi"


def test_a_meter_that_went_back_offers_a_new_one_with_both_numbers_kept(make, browser_of):
    unit = make(meter=FirstMeter("1000"), at=timezone.now() - timedelta(days=9))
    browser = browser_of("technician")
    refused = browser.post(address("meter"), {"act": "note", "reading": "120", "at": moment(days=1)})
    offered = refused.context["forms"]["replace"]
    assert refused.context["forms"]["note"]["reading"].value() == "120"
    assert (offered["last_reading"].value(), offered["new_reading"].value()) == ("1000 mi", "120")
    assert say("units.meter.went_back") in text_of(refused)
    assert MeterReading.objects.count() == 0
    given = {"act": "replace", "last_reading": "1040", "new_reading": "120", "ended_why": "replaced"}
    given |= {"kind_of_meter": "odometer", "measure": "mi", "at": moment(days=1)}
    assert browser.post(address("meter"), given).status_code == 302
    ended, running = unit.meter_segments.all()
    assert (ended.ended_reading, running.began_reading, running.ended_at) == ("1040 mi", "120 mi", None)


def test_a_meter_begins_stops_and_begins_again(make, browser_of):
    unit = make(at=timezone.now() - timedelta(days=9))
    browser = browser_of("technician")
    begun = {"act": "begin", "new_reading": "5", "kind_of_meter": "hub_odometer", "measure": "mi", "at": moment(days=5)}
    assert browser.post(address("meter"), begun).status_code == 302
    assert (
        browser.post(address("meter"), {"act": "stop", "last_reading": "90", "at": moment(days=3)}).status_code == 302
    )
    assert unit.meter_segments.get().ended_why == "stopped"
    assert browser.post(address("meter"), begun | {"at": moment(days=2)}).status_code == 302
    assert unit.meter_segments.count() == 2
    assert browser.post(address("meter"), {"act": "melt"}).status_code == 302


def test_a_doubtful_reading_says_that_it_is_not_counted(make, browser_of):
    make(meter=FirstMeter("1000"), at=timezone.now() - timedelta(days=2))
    browser = browser_of("technician")
    answer = browser.post(address("meter"), {"act": "note", "reading": "9000", "at": moment(days=1)}, follow=True)
    page = text_of(answer)
    assert say("units.meter.doubted", reading="9000 mi") in page
    assert say("units.meter.in_doubt") in page


@pytest.mark.parametrize("name", [*SEEN, *FOR_SHOP, *FOR_LEAD])
def test_every_screen_speaks_spanish(make, browser_of, name):
    make(meter=FirstMeter("1000"))
    answer = browser_of("lead", language="es").get(address(name))
    assert answer.status_code == 200
    assert '<html lang="es"' in text_of(answer)
