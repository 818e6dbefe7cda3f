"""The parts that screens are built of: a field with its error beside it, what was found, what a thing came to."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from django import forms
from django.core.paginator import Paginator
from django.template.loader import render_to_string
from django.utils import translation

from treadle.reports.rows import Row, Said
from treadle.reports.wording import runs
from treadle.rules.model import OUTCOMES
from treadle.words import say


class UnitForm(forms.Form):
    number = forms.CharField(label="Number on the door", help_text="As painted.")
    meter = forms.CharField(label="Odometer", required=False)
    engine = forms.ChoiceField(
        label="Engine",
        help_text="When it was read.",
        widget=forms.RadioSelect,
        choices=[("off", "off"), ("running", "running")],
    )
    chocked = forms.BooleanField(label="Chocked", help_text="Both ways.")
    token = forms.CharField(widget=forms.HiddenInput, required=False)


class Tags(HTMLParser):
    """Every tag with its attributes, in order."""

    def __init__(self, text):
        super().__init__()
        self.all = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.all.append((tag, dict(attrs)))

    def named(self, tag):
        return [attrs for name, attrs in self.all if name == tag]


def part(name, **context):
    return render_to_string(f"includes/{name}.html", context)


def shown(name, data=None, **context):
    return part("field", field=UnitForm(data)[name], **context)


# -- a field


@pytest.mark.parametrize("name", ["number", "engine", "chocked"])
def test_help_and_error_of_a_field_are_tied_to_it(name):
    tags = Tags(shown(name, {"engine": "singing"}))
    ids = {attrs["id"] for _, attrs in tags.all if "id" in attrs}
    told = [attrs["aria-describedby"].split() for _, attrs in tags.all if "aria-describedby" in attrs]
    assert [f"id_{name}_helptext", f"id_{name}_error"] in told
    assert set().union(*told) <= ids
    assert len(ids) == len([1 for _, attrs in tags.all if "id" in attrs])


@pytest.mark.parametrize("name", ["number", "meter", "engine", "chocked"])
def test_every_control_has_a_label_of_its_own(name):
    tags = Tags(shown(name))
    controls = {attrs["id"] for attrs in tags.named("input")}
    assert controls
    assert {attrs["for"] for attrs in tags.named("label")} == controls


def test_one_of_few_is_a_group_with_its_name():
    text = shown("engine")
    assert re.search(r"<legend[^>]*>Engine</legend>", text)
    assert [attrs["type"] for attrs in Tags(text).named("input")] == ["radio", "radio"]


def test_a_field_without_a_fault_shows_none():
    assert "field-wrong" not in shown("number", {"number": "K-12"})
    assert "field-wrong" in shown("number", {"number": ""})


def test_what_was_entered_stays_in_a_field_that_is_refused():
    assert "checked" in Tags(shown("engine", {"engine": "off", "number": ""})).named("input")[0]
    assert Tags(shown("meter", {"meter": "412350 mi"})).named("input")[0]["value"] == "412350 mi"


def test_a_field_that_may_stay_empty_says_so_and_no_other_does():
    assert say("web.optional") in shown("meter")
    assert say("web.optional") not in shown("number")
    with translation.override("es-mx"):
        assert say("web.optional", "es") in shown("meter")


def test_a_field_says_its_unit_where_it_has_one():
    assert '<span class="field-unit">mi</span>' in shown("meter", unit="mi")
    assert "field-unit" not in shown("meter")


def test_a_hidden_field_is_hidden():
    assert shown("token").strip() == '<input type="hidden" name="token" id="id_token">'


def test_an_error_shows_its_fraction_as_one_and_escapes_what_was_typed():
    form = UnitForm({"number": "K-12", "engine": "off", "chocked": "on"})
    form.add_error("number", "2 1/8 in <b>is no number")
    text = part("field", field=form["number"])
    assert '<span class="under">8</span>' in text
    assert "&lt;b&gt;is no number" in text


def test_a_form_with_a_fault_in_a_field_points_to_it_and_a_sound_one_says_nothing():
    assert say("web.look_at_fields") in part("form_errors", form=UnitForm({}))
    assert part("form_errors", form=UnitForm({"number": "1", "engine": "off", "chocked": "on"})).strip() == ""


def test_a_fault_of_the_form_as_a_whole_is_told_over_it():
    form = UnitForm({"number": "1", "engine": "off", "chocked": "on"})
    form.add_error(None, "Two people changed this unit.")
    assert "Two people changed this unit." in part("form_errors", form=form)


# -- what it came to


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_banner_has_the_mark_the_word_and_what_it_means(outcome, language):
    text = part("outcome", outcome=outcome, language=language)
    assert f'href="#mark-{outcome}"' in text
    assert say(f"outcome.means.{outcome}", language) in text
    assert say(f"outcome.{outcome}", language) in text


def test_a_banner_of_nothing_asked_has_no_mark():
    text = part("outcome", outcome=None, line="No unit of it was walked.")
    assert say("report.nothing_asked").capitalize() in text
    assert "No unit of it was walked." in text
    assert "<svg" not in text


def said(outcome, **more):
    given = {"rule": "49 CFR 393.47(e)", "unconfirmed": "", "limit": runs("2 in, not more")} | more
    return Said(
        outcome=outcome, word=outcome, measured=runs("2 1/8 in"), says=runs("It is 1/8 in past it."), remedy=(), **given
    )


def row(main, *also):
    return Row("K-12 axle 2 left", "applied stroke", "read 07:40", main, also, (runs("Measure once more."),))


def test_what_was_found_is_a_table_with_its_names_in_every_row():
    text = part("finding_table", rows=[row(said("fix"), said("watch")), row(said("unseen", limit=()))], language="es")
    tags = Tags(text)
    assert len(tags.named("tr")) == 3
    assert {attrs["role"] for attrs in tags.named("td")} == {"cell"}
    labels = [attrs["data-label"] for attrs in tags.named("td") if "data-label" in attrs]
    assert labels == [say(f"report.column.{name}", "es") for name in ("measured", "limit", "remedy")] * 2
    assert [word for word in ("fix", "watch", "unseen") if f"outcome-{word}" in text] == ["fix", "watch", "unseen"]
    assert text.count("49 CFR 393.47(e)") == 3


def test_a_limit_nobody_has_confirmed_is_told_beside_the_rule():
    assert '<span class="tag">limit not confirmed</span>' in part(
        "finding_table", rows=[row(said("watch", unconfirmed="limit not confirmed"))]
    )


def test_where_nothing_was_found_that_is_said():
    assert say("report.nothing_found") in part("finding_table", rows=[])


# -- around it


def test_a_pager_leads_both_ways_and_keeps_what_was_asked():
    pages = Paginator(range(30), 10)
    tags = Tags(part("pager", page=pages.page(2), query="q=K&"))
    assert [(attrs["rel"], attrs["href"]) for attrs in tags.named("a")] == [
        ("prev", "?q=K&page=1"),
        ("next", "?q=K&page=3"),
    ]
    assert [attrs["rel"] for attrs in Tags(part("pager", page=pages.page(1))).named("a")] == ["next"]
    assert part("pager", page=Paginator(range(3), 10).page(1)).strip() == ""


def test_cautions_are_listed_under_their_heading_and_none_leaves_no_frame():
    text = part("cautions", cautions=["Chock the wheels.", "Stand clear."])
    assert (text.count("<li>"), say("web.cautions") in text) == (2, True)
    assert part("cautions", cautions=[]).strip() == ""


def test_a_hold_point_says_what_it_is_and_what_it_waits_for():
    text = part("hold_band", text="second person")
    assert f"{say('web.hold_point')}: second person" in text


def test_an_empty_place_teaches_the_next_step():
    text = part("empty", title="No job is open", text="Walk a unit.", url="/units/", action="Choose a unit")
    assert '<a class="button button-main" href="/units/">Choose a unit</a>' in text
    assert "<a" not in part("empty", title="No job is open", text="Walk a unit.")
