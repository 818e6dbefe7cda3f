"""Walking round a combination on a phone, as a technician in gloves does: one tap a reading, and the answer at once."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser.conftest import DESK, PHONE
from browser.test_frame import SMALLEST, TOO_SMALL
from playwright.sync_api import expect
from web.walkaround.rig import combination, post, stroke, walk_of

from treadle.web.base.scope import shop_scope
from treadle.web.walkaround.models import Reading, WalkAround

ENDS = 10
"""A 3-axle tractor and a tandem trailer: five axles."""


@pytest.fixture
def units(person, shop):
    with shop_scope(shop.pk):
        return combination(person("lead"))


@pytest.fixture
def readings(shop):
    """The readings on record, oldest first."""

    def on_record(**about):
        with shop_scope(shop.pk):
            return list(Reading.objects.filter(**about).order_by("entered_at"))

    return on_record


def faults_for_axe(page):
    return [(one["id"], one["nodes"][0]["html"]) for one in Axe().run(page).response["violations"]]


def focused(page, name):
    return page.locator(f'[data-focus="{name}"]')


def begun(page_of, *, on=PHONE, occasion="service", **how):
    page = page_of("technician", on=on, path="/walkarounds/begin/K-12/", **how)
    page.locator(f"input[value={occasion}]").check(force=True)
    page.locator(".button-main").click()
    expect(focused(page, "safe-level")).to_be_visible()
    return page


def make_safe(page, tap):
    for what in ("level", "chocks", "springs", "hands"):
        tap(focused(page, f"safe-{what}"))
    tap(focused(page, "next"))


def click(place):
    place.click()


def by_keyboard(place):
    place.focus()
    place.press("Enter")


def tap_of(how):
    return {"finger": click, "keyboard": by_keyboard}[how]


def hold(page, tap):
    tap(focused(page, "reservoir-gauge-9"))
    tap(focused(page, "hold-engine-0"))
    tap(focused(page, "hold-spring_brakes-0"))
    expect(page.locator(".pad-readout")).to_contain_text("90 psi")
    tap(focused(page, "next"))


def to_pass(page, number, tap=click):
    tap(focused(page, "map"))
    tap(focused(page, f"pass-{number}"))


def forgive(page_of, what):
    """Take out what the browser itself says of an answer that the test provoked."""
    assert all(what in said for said in page_of.complaints), page_of.complaints
    page_of.complaints.clear()


def saved(page):
    expect(page.locator(".bar-state")).to_contain_text("all saved")


@pytest.mark.parametrize("how", ["finger", "keyboard"])
def test_ten_wheel_ends_are_walked_with_one_over_stroked_brake_and_one_thin_lining(page_of, units, how, shop, readings):
    """Type 30 standard: 2 in, and a drum lining 1/4 in (us-rules A.4 and A.3): 2 1/8 in and 7/32 in are past them.

    In the roadside count a stroke less than 1/4 in past its limit is half a brake, a thin lining a whole one (us-rules
    E): one and a half of ten.
    """
    tap = tap_of(how)
    page = begun(page_of)
    expect(focused(page, "next")).to_be_disabled()
    expect(focused(page, "safe-springs")).to_be_disabled()
    make_safe(page, tap)
    for end in range(ENDS):
        tap(page.get_by_role("button", name="12/32 in"))
        tap(page.get_by_role("button", name="7/32 in" if end == 3 else "11/32 in", exact=True))
        if end == 3:
            expect(page.locator(".say-place")).to_contain_text("49 CFR 393.47(d)(2)")
            tap(page.get_by_role("button", name="7/32 in", exact=True))  # one step from the limit: measured once more
            tap(page.locator("button.row", has_text="Condition"))
        tap(focused(page, "none-seen"))
        tap(focused(page, "next"))
    hold(page, tap)
    for end in range(ENDS):
        tap(focused(page, "next"))
        tap(page.get_by_role("button", name="2 1/8 in" if end == 1 else "1 1/2 in", exact=True))
        if end == 1:
            said = page.locator(".say-place")
            expect(said).to_contain_text("fix")
            expect(said).to_contain_text("49 CFR 393.47(e)")
            expect(said).to_contain_text("measure once more")
            tap(page.get_by_role("button", name="2 1/8 in", exact=True))
            expect(page.locator(".row.is-here")).to_contain_text("read 2 times")
    saved(page)
    tap(focused(page, "map"))
    tap(focused(page, "to-finish"))
    expect(page.locator("main")).to_contain_text("40 of 40 needed readings")
    tap(focused(page, "finish"))
    page.wait_for_url(re.compile(r"/walkarounds/[0-9a-f-]+/$"))
    report = page.locator("article.report")
    expect(report).to_contain_text("Fix: not to be dispatched")
    expect(report).to_contain_text("1½ of 10 brakes defective")
    expect(report).to_contain_text("49 CFR 393.47(e)")
    expect(report).to_contain_text("49 CFR 393.47(d)")
    assert len(readings(kind="applied_stroke")) == ENDS + 1
    assert {one.fields["reservoir"] for one in readings(kind="applied_stroke")} == {"90 psi"}
    assert not [one for one in readings() if one.corrects_id]


@pytest.mark.parametrize(
    ("on", "theme", "language"),
    [(PHONE, "light", "en"), (PHONE, "dark", "es"), (DESK, "dark", "en")],
    ids=["English phone light", "Spanish phone dark", "English desk dark"],
)
def test_every_part_of_the_walk_can_be_read_aloud_seen_and_hit(page_of, units, on, theme, language):
    page = begun(page_of, on=on | {"color_scheme": theme}, language=language)
    faults = {"safe": faults_for_axe(page)}
    small = {"safe": page.evaluate(TOO_SMALL, SMALLEST)}
    make_safe(page, click)

    def look(name):
        faults[name] = faults_for_axe(page)
        small[name] = page.evaluate(TOO_SMALL, SMALLEST)
        assert page.evaluate("document.documentElement.scrollWidth") <= on["viewport"]["width"], name

    page.locator("[aria-label='7/32 in']").click()
    expect(page.locator(".say")).to_be_visible()
    look("linings")
    focused(page, "row-4").click()
    look("conditions")
    focused(page, "not-seen").click()
    look("not seen")
    focused(page, "map").click()
    look("whole vehicle")
    focused(page, "pass-3").click()
    look("hold")
    focused(page, "next").click()
    focused(page, "start-gauge-11").click()
    look("leak")
    focused(page, "next").click()
    look("stroke")
    focused(page, "measure").click()
    look("stroke in millimetres")
    focused(page, "marks").click()
    look("two marks")
    focused(page, "map").click()
    focused(page, "to-finish").click()
    look("finish")
    page.goto(page.url.replace("/walk/", "/keep/"))
    expect(focused(page, "ready")).to_be_visible()
    look("hand-over")
    focused(page, "ready").click()
    look("keeper")
    assert {name: found for name, found in faults.items() if found} == {}
    assert {name: found for name, found in small.items() if found} == {}


def test_what_is_entered_without_a_server_waits_here_and_arrives_once(page_of, units, readings):
    page = begun(page_of)
    make_safe(page, click)
    saved(page)
    page.route("**/api/readings", lambda route: route.abort())
    page.get_by_role("button", name="12/32 in").click()
    page.get_by_role("button", name="11/32 in", exact=True).click()
    expect(page.locator(".bar-state")).to_contain_text("saved here, 2 waiting")
    assert readings() == []
    page.reload()
    expect(page.locator(".bar-state")).to_contain_text("saved here, 2 waiting")
    focused(page, "map").click()
    focused(page, "to-finish").click()
    expect(focused(page, "finish")).to_be_disabled()
    page.unroute("**/api/readings")
    focused(page, "waiting").click()
    focused(page, "send-now").click()
    saved(page)
    assert [one.fields["value"] for one in readings()] == ["12/32 in", "11/32 in"]
    forgive(page_of, "net::ERR_FAILED")


def test_an_answer_that_was_lost_on_the_way_does_no_harm(page_of, units, readings):
    page = begun(page_of)
    make_safe(page, click)
    saved(page)

    def taken_but_not_heard(route):
        route.fetch()
        route.fulfill(status=502, body="")

    page.route("**/api/readings", taken_but_not_heard, times=1)
    page.get_by_role("button", name="12/32 in").click()
    expect(page.locator(".bar-state")).to_contain_text("1 waiting")
    saved(page)
    assert len(readings()) == 1
    forgive(page_of, "502")


def test_a_reading_that_cannot_be_so_asks_and_is_kept_as_unseen(page_of, units, readings):
    page = begun(page_of)
    make_safe(page, click)
    to_pass(page, 3)
    hold(page, click)
    focused(page, "next").click()
    page.get_by_role("button", name="1 in", exact=True).click()
    saved(page)
    to_pass(page, 2)
    page.get_by_role("button", name="1 1/2 in", exact=True).click()
    asked = page.get_by_role("alert")
    expect(asked).to_contain_text("A rod cannot travel less with air than by hand")
    focused(page, "again").click()
    assert readings(kind="free_stroke") == []
    page.get_by_role("button", name="1 1/2 in", exact=True).click()
    focused(page, "reason-0").click()
    expect(page.locator(".say-place")).to_contain_text("counts as unseen")
    saved(page)
    assert [(one.doubt, one.stated_reason) for one in readings(kind="free_stroke")] == [
        ("applied_less_than_free", "read twice, it is so")
    ]
    forgive(page_of, "422")


def test_a_tap_over_a_reading_corrects_it_and_undo_takes_it_back(page_of, units, readings):
    page = begun(page_of)
    make_safe(page, click)
    page.get_by_role("button", name="12/32 in").click()
    focused(page, "row-0").click()
    expect(page.locator(".rows")).to_contain_text("12")
    page.get_by_role("button", name="13/32 in").click()
    expect(page.locator(".rows")).to_contain_text("13")
    saved(page)
    first, second = readings(kind="lining")
    assert second.corrects_id == first.pk
    focused(page, "row-0").click()
    focused(page, "undo").click()
    expect(page.locator(".row.is-here .row-value")).to_have_text("")
    saved(page)
    last = readings(kind="lining")[-1]
    assert (last.withdraws, last.corrects_id) == (True, second.pk)


def test_two_marks_on_a_rod_give_the_stroke_between_them(page_of, units, readings):
    """5 1/8 in less 3 in is 2 1/8 in, past the 2 in of a type 30 standard chamber (us-rules A.4)."""
    page = begun(page_of)
    make_safe(page, click)
    to_pass(page, 2)
    focused(page, "next").click()
    focused(page, "marks").click()
    page.locator("button.row", has_text="Rod, released").click()
    focused(page, "first-3").click()
    focused(page, "second-0").click()
    to_pass(page, 3)
    hold(page, click)
    focused(page, "next").click()
    focused(page, "next").click()
    focused(page, "first-5").click()
    focused(page, "second-1").click()
    expect(page.locator(".row.is-here")).to_contain_text("mark at 5 1/8 in")
    expect(page.locator(".say-place")).to_contain_text("fix")
    saved(page)
    assert [(one.kind, one.fields["value"]) for one in readings()] == [
        ("rod_released", "3 in"),
        ("rod_applied", "5 1/8 in"),
    ]


def test_one_leaves_and_goes_on_at_the_same_place_in_the_measure_chosen(page_of, units):
    page = begun(page_of)
    make_safe(page, click)
    page.get_by_role("button", name="12/32 in").click()
    focused(page, "next").click()
    focused(page, "measure").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Axle 2, left")
    page.locator(".bar-back").click()
    page.locator("a.row").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Axle 2, left")
    expect(page.get_by_role("button", name="12 mm")).to_be_visible()


def test_on_another_device_the_walk_goes_on_at_the_first_thing_missing(page_of, units, browser_of, shop, person):
    with shop_scope(shop.pk):
        lead = person("lead", "technician")
        walk = walk_of(units[0], lead)
        walk.made_safe = [{"what": what, "at": "", "by": ""} for what in ("level", "chocks", "springs", "hands")]
        walk.save()
    client = browser_of("technician")
    for fields in (
        {"kind": "lining", "shoe": "upper", "place": "centre"},
        {"kind": "lining", "shoe": "lower", "place": "centre"},
    ):
        post(client, "readings", stroke(walk, "1/2 in", axle=1, **fields))
    post(client, "readings", stroke(walk, "none_seen", axle=1, kind="condition"))
    page = page_of("technician", on=PHONE, path=f"/walkarounds/{walk.pk}/walk/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Axle 2, left")


def test_what_the_other_enters_shows_up_with_their_name(page_of, units, browser_of, shop):
    page = begun(page_of)
    make_safe(page, click)
    saved(page)
    with shop_scope(shop.pk):
        walk = WalkAround.objects.get()
    entry = stroke(walk, "9/32 in", axle=1, kind="lining", shoe="upper", place="centre")
    post(browser_of("technician", sign_in="ivo-marsh"), "readings", entry)
    expect(page.locator(".rows")).to_contain_text("Ivo Marsh")


def test_the_keeper_hands_over_between_ends_and_reads_back_large(page_of, units, person, readings, shop):
    caller = person("technician", sign_in="ivo-marsh")
    page = page_of("technician", on=PHONE, path="/walkarounds/begin/K-12/")
    page.locator("select[name=caller]").select_option(str(caller.pk))
    page.locator(".button-main").click()
    make_safe(page, click)
    expect(page.locator(".call")).to_contain_text("Ivo Marsh goes to K-12, Axle 1, left")
    focused(page, "ready").click()
    page.get_by_role("button", name="12/32 in").click()
    expect(page.locator(".readout")).to_contain_text("in")
    expect(page.locator(".call")).to_contain_text("upper shoe")
    focused(page, "next").click()
    expect(page.locator(".call")).to_contain_text("lower shoe")
    expect(page.locator(".readout")).to_have_text("")
    page.locator("button.row", has_text="Condition").click()
    focused(page, "none-seen").click()
    focused(page, "next").click()
    expect(page.locator(".call")).to_contain_text("lower shoe")
    page.get_by_role("button", name="11/32 in").click()
    focused(page, "next").click()
    expect(page.locator(".call")).to_contain_text("Axle 2, left")
    saved(page)
    row, _ = readings(kind="lining")
    assert (row.entered_by_id, row.fields["value"]) == (caller.pk, "12/32 in")
    assert row.sent_by_id not in (None, caller.pk)


def test_a_leak_is_timed_and_judged_by_the_server(page_of, units, readings):
    """Watched for less than a minute it decides nothing (design, settled point 20)."""
    page = begun(page_of)
    make_safe(page, click)
    to_pass(page, 3)
    hold(page, click)
    focused(page, "start-gauge-11").click()
    focused(page, "clock-0").click()
    focused(page, "clock-0").click()
    focused(page, "end-fine-0").click()
    focused(page, "timed-go-2").click()
    expect(page.locator(".say-place")).to_contain_text("less than a minute")
    (row,) = readings(kind="air_loss")
    assert (row.fields["start"], row.fields["end"], row.fields["state"]) == ("100 psi", "99 psi", "applied")


def is_shown_whole(page, place):
    """Whether a part of what is said lies within its strip, and the strip within the screen."""
    inner, strip = place.bounding_box(), page.locator(".say").bounding_box()
    bottom = min(strip["y"] + strip["height"], page.viewport_size["height"])
    return strip["y"] <= inner["y"] and inner["y"] + inner["height"] <= bottom


def test_near_a_limit_the_request_to_measure_again_comes_first_and_all_of_a_hold_can_be_read(page_of, units):
    """7/32 in is 1/32 in short of the 1/4 in of a steering axle's lining (us-rules A.3)."""
    page = begun(page_of)
    make_safe(page, click)
    page.get_by_role("button", name="7/32 in", exact=True).click()
    said = page.locator(".say-text > p")
    expect(said.first).to_contain_text("measure once more")
    expect(page.locator(".say")).to_contain_text("hold")
    saved(page)
    assert [is_shown_whole(page, one) for one in said.all()] == [True, True, True]


def test_all_that_is_to_be_done_about_an_over_stroked_brake_can_be_read(page_of, units):
    """Type 30 standard: 2 1/8 in is past 2 in (us-rules A.4)."""
    page = begun(page_of)
    make_safe(page, click)
    to_pass(page, 3)
    hold(page, click)
    focused(page, "next").click()
    focused(page, "next").click()
    page.get_by_role("button", name="2 1/8 in", exact=True).click()
    said = page.locator(".say-text > p")
    expect(said.last).to_contain_text("do not turn it up")
    saved(page)
    assert [is_shown_whole(page, one) for one in said.all()] == [True, True, True]


def test_a_bare_number_typed_for_a_lining_is_asked_about_before_it_goes(page_of, units, readings):
    page = begun(page_of)
    make_safe(page, click)
    expect(page.locator(".pad-head")).to_contain_text("thirty-seconds")
    focused(page, "typed").click()
    expect(page.locator(".pad-head")).to_contain_text("write 7/32, 0.22 or 5.6 mm")
    focused(page, "typed-value").fill("7")
    focused(page, "typed-enter").click()
    expect(page.get_by_role("alert")).to_contain_text("'7' alone is 7 inches")
    saved(page)
    assert readings() == []
    focused(page, "typed-guess").click()
    saved(page)
    assert [one.fields["value"] for one in readings()] == ["7/32 in"]


def test_a_size_typed_with_its_unit_goes_as_it_is_written(page_of, units, readings):
    page = begun(page_of)
    make_safe(page, click)
    for shown in ("3/8", "10 mm"):
        focused(page, "typed").click()
        focused(page, "typed-value").fill(shown)
        focused(page, "typed-enter").click()
    saved(page)
    assert [one.fields["value"] for one in readings()] == ["3/8 in", "10 mm"]


def test_only_what_a_wheel_end_can_have_is_offered_and_what_stands_there_always(page_of, units, browser_of, shop):
    """A steer axle with drum brakes has neither rotor nor spring brake (brake-mechanics; common practice)."""
    page = begun(page_of)
    make_safe(page, click)
    page.locator("button.row", has_text="Condition").click()
    expect(focused(page, "seen-drum_cracked")).to_be_visible()
    for name in ("rotor_cracked", "slide_seized", "spring_brake_caged", "spring_housing_holed"):
        expect(focused(page, f"seen-{name}")).to_have_count(0)
    with shop_scope(shop.pk):
        walk = WalkAround.objects.get()
    post(browser_of("technician"), "readings", stroke(walk, "rotor_cracked", axle=1, kind="condition"))
    expect(focused(page, "seen-rotor_cracked")).to_have_attribute("aria-pressed", "true")
    focused(page, "next").click()
    page.locator("button.row", has_text="Condition").click()
    expect(focused(page, "seen-spring_brake_caged")).to_have_count(1)
    assert page.locator(".bar").bounding_box()["y"] == 0


def test_two_values_for_one_shoe_are_both_shown_and_asked_about(page_of, units, browser_of, shop):
    page = begun(page_of)
    make_safe(page, click)
    page.get_by_role("button", name="14/32 in").click()
    saved(page)
    with shop_scope(shop.pk):
        walk = WalkAround.objects.get()
    other = browser_of("technician", sign_in="ivo-marsh")
    post(other, "readings", stroke(walk, "9/32 in", axle=1, kind="lining", shoe="upper", place="centre"))
    said = page.locator(".say-place")
    expect(said).to_contain_text("Two readings")
    expect(said.locator("p").first).to_contain_text("Ivo Marsh. The later counts. Measure again")
    expect(said).not_to_contain_text("good")
    expect(page.locator(".rows")).to_contain_text("14/32 in by Technician")
    focused(page, "row-0").click()
    page.get_by_role("button", name="9/32 in", exact=True).click()
    expect(said).not_to_contain_text("Two readings")


def test_a_wheel_end_is_unseen_until_all_that_is_needed_there_was_read(page_of, units):
    page = begun(page_of)
    make_safe(page, click)
    page.get_by_role("button", name="12/32 in").click()
    page.get_by_role("button", name="11/32 in", exact=True).click()
    focused(page, "none-seen").click()
    focused(page, "map").click()
    end = focused(page, "end-K-12-1-left")
    expect(end).to_contain_text("3 of 4 read")
    expect(end.get_by_role("img", name="unseen")).to_be_visible()


def test_the_keeper_comes_back_as_keeper(page_of, units, person, readings):
    """From the list: known from what was sent; where nothing was sent yet, this device asks."""
    caller = person("technician", sign_in="ivo-marsh")
    page = page_of("technician", on=PHONE, path="/walkarounds/begin/K-12/")
    page.locator("select[name=caller]").select_option(str(caller.pk))
    page.locator(".button-main").click()
    make_safe(page, click)
    expect(page.locator(".call")).to_contain_text("Ivo Marsh goes to K-12")
    saved(page)
    page.locator(".bar-back").click()
    page.locator("a.row").click()
    expect(page.locator("main")).to_contain_text("On this device you kept for Ivo Marsh")
    focused(page, "go-on-keep").click()
    focused(page, "ready").click()
    page.get_by_role("button", name="12/32 in").click()
    saved(page)
    page.locator(".bar-back").click()
    page.locator("a.row").click()
    page.wait_for_url(re.compile(f"/keep/.caller={caller.pk}"))
    expect(page.locator(".call")).to_contain_text("Ivo Marsh goes to K-12")
    assert [one.entered_by_id for one in readings()] == [caller.pk]
