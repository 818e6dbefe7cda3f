"""How units stand, as the walk-around app tells the units' pages: outcome, reasons, drawing, tags."""

from __future__ import annotations

from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from treadle.web.units.amend import correct_part, version_of
from treadle.web.units.fit import fit
from treadle.web.units.outlook import first_reasons, outlooks, tags_confirmed
from treadle.web.walkaround.judge import work_out_standing
from treadle.web.walkaround.models import Reading, Standing, WalkAround
from treadle.words import say

TAKEN = {"reservoir": "95 psi", "engine": "off", "spring_brakes": "released"}


@pytest.fixture
def unit(make):
    return make("T-7", layout="trailer_single_drum", at=timezone.now() - timedelta(days=9))


@pytest.fixture
def entered(unit, lead, shop):
    """Enter readings of one walk-around, taken some days ago."""

    def enter(*readings, days_ago=1):
        at = timezone.now() - timedelta(days=days_ago)
        walk = WalkAround(
            occasion="service",
            begun_at=at,
            zone=shop.zone,
            combination=[unit.number],
            circumstances={},
            entered_by=lead,
        )
        walk.save()
        for side, kind, fields in readings:
            Reading(
                walk_around=walk,
                unit=unit,
                axle=1,
                side=side,
                kind=kind,
                fields=fields,
                taken_at=at,
                taken_zone=shop.zone,
                entered_by=lead,
            ).save()

    return enter


def whole(stroke="1 1/2 in", sides=("left", "right")):
    """Everything a service inspection asks of these ends."""
    linings = [
        ("lining", {"shoe": shoe, "place": place, "value": "1/2 in"})
        for shoe in ("upper", "lower")
        for place in ("centre", "thinnest")
    ]
    at_each = [*linings, ("condition", {"value": "none_seen"}), ("applied_stroke", {"value": stroke, **TAKEN})]
    return [(side, kind, fields) for side in sides for kind, fields in at_each]


def stand(unit, shop, lead):
    return work_out_standing(unit, shop=shop, by=lead, at=timezone.now())


def test_an_over_stroked_end_holds_a_single_axle_and_its_page_says_so(unit, entered, shop, lead, browser_of):
    # 393.47(e): type 30 standard, 2 in.  One of two brakes is half of them, past the 20 percent of the criterion.
    entered(*whole(), *whole("2 1/4 in", sides=("right",))[-1:], days_ago=1)
    entered(("right", "applied_stroke", {"value": "2 1/4 in", **TAKEN}), days_ago=0)
    stand(unit, shop, lead)
    outlook = outlooks([unit.pk], "en")[unit.pk]
    assert outlook.outcome == "hold"
    assert outlook.ends[1, "right"].value == "2 1/4 in"
    assert outlook.ends[1, "left"].outcome == "good"
    page = unescape(browser_of("driver").get(reverse("units:unit", args=["T-7"])).content.decode())
    assert "393.47(e)" in page
    assert say("outcome.means.hold") in page


def test_the_first_reason_of_a_list_is_one_that_decided_the_units_own_outcome(unit, entered, shop, lead):
    entered(*whole(sides=("left",)))
    stand(unit, shop, lead)
    first, more = first_reasons([unit.pk], "en")[unit.pk]
    every = outlooks([unit.pk], "en")[unit.pk].reasons
    assert (first.outcome, first.where) == ("unseen", "Axle 1, right")
    assert first == every[0]
    assert more == len(Standing.objects.get(unit=unit).reasons) - 1


def test_reasons_are_told_in_the_language_of_who_reads(unit, shop, lead):
    stand(unit, shop, lead)
    english, spanish = (outlooks([unit.pk], language)[unit.pk].reasons[0].says for language in ("en", "es"))
    assert english != spanish


@pytest.fixture
def judged_well(unit, entered, shop, lead):
    """The unit with everything seen and within."""
    entered(*whole(), days_ago=0)
    assert stand(unit, shop, lead).outcome in ("good", "watch")
    return unit


@pytest.mark.usefixtures("judged_well")
def test_the_list_groups_by_what_holds_each_unit_and_tells_who_was_not_seen(make, browser_of):
    make("K-1")
    browser = browser_of("lead")
    groups = browser.get(reverse("units:list")).context["groups"]
    assert [[row["number"] for row in group["rows"]] for group in groups] == [["K-1"], ["T-7"]]
    not_seen = browser.get(reverse("units:list"), {"days": "30"}).context["groups"]
    assert [[row["number"] for row in group["rows"]] for group in not_seen] == [["K-1"]]


# -- tags


def tags(value, *sides):
    return [(side, "tags", {"value": value}) for side in sides]


def test_tags_are_confirmed_once_both_ends_were_read_and_agreed(unit, entered):
    assert tags_confirmed(unit.pk) is None
    entered(*tags("confirmed", "left"), days_ago=3)
    assert tags_confirmed(unit.pk) is None
    entered(*tags("confirmed", "right"), days_ago=2)
    assert abs(tags_confirmed(unit.pk) - (timezone.now() - timedelta(days=3))) < timedelta(minutes=1)


def test_a_later_tag_that_differs_takes_the_confirmation_back(unit, entered):
    entered(*tags("confirmed", "left", "right"), days_ago=3)
    entered(*tags("differ", "left"), days_ago=2)
    assert tags_confirmed(unit.pk) is None


def test_a_chamber_fitted_since_is_not_confirmed_by_an_older_reading(unit, entered, lead):
    entered(*tags("confirmed", "left", "right"), days_ago=3)
    spec = {"design": "clamp", "type": "30"}
    fit(unit, axle=1, side="left", slot="chamber", spec=spec, at=timezone.now() - timedelta(days=1), by=lead)
    assert tags_confirmed(unit.pk) is None


def test_a_corrected_part_has_the_unit_worked_out_anew(unit, shop, lead, fitted):
    stand(unit, shop, lead)
    part = fitted(unit, 1, "left", "drum")
    correct_part(part, {"nominal": "16.5 in"}, lot="", version=version_of(part))
    assert Standing.objects.get(unit=unit).behind
    assert outlooks([unit.pk], "en")[unit.pk].behind
