"""A template says sentences, writes readings and draws outcomes in the language and zone of the page."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from datetime import UTC, date, datetime, timedelta

import pytest
from django.template import Context, Template, TemplateSyntaxError
from django.template.loader import render_to_string
from django.utils import timezone, translation

from treadle.errors import BadInput, DataFault
from treadle.measure import read_quantity
from treadle.reports.wording import runs
from treadle.rules.model import OUTCOMES
from treadle.web.base.templatetags.drawn_icons import ICONS
from treadle.words import say, term

AT = datetime(2026, 10, 2, 13, 40, tzinfo=UTC)
"""Forty past seven in the morning in Denver, by its summer time six hours behind UTC."""


def rendered(text, **context):
    return Template("{% load words %}" + text).render(Context(context))


def inches(text):
    return read_quantity(text, "length", where="here")


# -- sentences


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_sentence_is_said_in_the_language_of_the_page(language):
    said = rendered('{% say "report.tally.passed" count=n %}', language=language, n=3)
    assert said == say("report.tally.passed", language, count=3)


def test_without_a_language_in_the_context_the_active_one_is_spoken():
    with translation.override("es-mx"):
        assert rendered('{% say "outcome.hold" %}{% lang %}') == "reteneres"
    with translation.override("fr"):
        assert rendered('{% say "outcome.hold" %}{% lang %}') == "holden"


def test_a_sentence_may_be_kept_under_a_name_and_its_code_put_together():
    assert rendered('{% say "outcome."|add:o as word %}<{{ word }}>', o="fix") == "<fix>"


def test_what_people_wrote_is_escaped_inside_a_sentence():
    said = rendered('{% say "report.plan.title" unit=u %}', u="<b>K-12</b>")
    assert "<b>" not in said
    assert "&lt;b&gt;K-12&lt;/b&gt;" in said


def test_a_code_nobody_wrote_stops_the_page():
    with pytest.raises(DataFault):
        rendered('{% say "report.nonesuch" %}')


def test_a_term_is_that_of_the_active_language():
    assert rendered("{{ w|term }}", w="applied_stroke") == term("applied_stroke", "en")
    with translation.override("es-mx"):
        assert rendered("{{ w|term }}", w="applied_stroke") == term("applied_stroke", "es")


# -- quantities

SEVEN_EIGHTHS = '<span class="over">7</span>⁄<span class="under">8</span>'


@pytest.mark.parametrize("value", ["1 7/8 in", inches("1 7/8 in"), runs("1 7/8 in")])
def test_a_reading_has_a_true_fraction_whatever_it_comes_as(value):
    shown = rendered("{{ v|reading }}", v=value)
    assert shown == f'<span class="quantity">1<span class="gap"> </span>{SEVEN_EIGHTHS}\N{NO-BREAK SPACE}in</span>'


def test_read_aloud_a_reading_is_the_text_it_was_given_as():
    text = "Applied stroke 2 1/8 in: the limit is 2 in."
    spoken = "".join(ET.fromstring(f"<p>{rendered('{{ v|reading }}', v=text)}</p>").itertext())
    assert spoken.replace("⁄", "/").replace("\N{NO-BREAK SPACE}", " ") == text


def test_a_reading_without_a_fraction_stays_beside_its_unit():
    assert rendered("{{ v|reading }}", v="16.561 in") == "16.561\N{NO-BREAK SPACE}in"


def test_what_people_wrote_is_escaped_around_a_reading():
    assert rendered("{{ v|reading }}", v="<i>1/8 in").startswith('&lt;i&gt;<span class="quantity">')


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ("7/8", f'<span class="quantity">{SEVEN_EIGHTHS}</span>'),
        ("2 7/8", f'<span class="quantity">2<span class="gap"> </span>{SEVEN_EIGHTHS}</span>'),
        ("3", "3"),
        (12, "12"),
        ("<3", "&lt;3"),
    ],
)
def test_a_key_shows_its_fraction_without_the_unit(value, shown):
    assert rendered("{{ v|fraction }}", v=value) == shown


@pytest.mark.parametrize("value", ["412350 mi", inches("412350 mi")])
def test_a_distance_has_its_thousands_apart(value):
    assert rendered("{{ v|distance }}", v=value) == "412,350 mi"


def test_a_distance_without_its_unit_is_refused():
    with pytest.raises(BadInput):
        rendered("{{ v|distance }}", v="412350")


# -- days and moments


def test_a_moment_is_told_by_the_clock_of_the_active_zone_in_the_active_language():
    with timezone.override("America/Denver"):
        assert rendered("{{ at|when }}", at=AT) == "2 October 2026, 07:40"
        with translation.override("es-mx"):
            assert rendered("{{ at|when }}", at=AT) == "2 de octubre de 2026, 07:40"


def test_a_moment_may_be_told_by_the_clock_of_a_named_zone():
    assert rendered("{{ at|when:zone }}", at=AT, zone="America/New_York") == "2 October 2026, 09:40"


def test_the_day_of_a_moment_is_that_of_the_place():
    late = AT + timedelta(hours=12)
    assert rendered("{{ at|day:zone }}", at=late, zone="UTC") == "3 October 2026"
    assert rendered("{{ at|day:zone }}", at=late, zone="America/Denver") == "2 October 2026"


def test_a_plain_day_is_the_same_everywhere():
    with timezone.override("Pacific/Auckland"):
        assert rendered("{{ on|day }}", on=date(2026, 10, 2)) == "2 October 2026"


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="has no zone"):
        rendered("{{ at|when }}", at=AT.replace(tzinfo=None))


# -- marks and signs


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_an_outcome_is_drawn_with_its_word_in_either_language(outcome):
    for language in ("en", "es"):
        drawn = ET.fromstring(rendered("{% mark o %}", o=outcome, language=language))
        assert drawn.get("class") == f"outcome outcome-{outcome}"
        assert "".join(drawn.itertext()).strip() == say(f"outcome.{outcome}", language)
        assert drawn.find("svg/use").get("href") == f"#mark-{outcome}"
        assert drawn.find("svg").get("aria-hidden") == "true"


def test_a_mark_alone_carries_its_word_as_its_label():
    drawn = ET.fromstring(rendered('{% mark "fix" alone=True size=32 %}', language="es"))
    assert (drawn.tag, drawn.get("role"), drawn.get("aria-label")) == ("svg", "img", "reparar")
    assert (drawn.get("width"), drawn.get("height")) == ("32", "32")
    assert drawn.get("aria-hidden") is None


@pytest.mark.parametrize("outcome", [None, ""])
def test_where_nothing_was_asked_there_is_a_word_and_no_mark(outcome):
    drawn = rendered("{% mark o %}", o=outcome)
    assert say("report.nothing_asked") in drawn
    assert "svg" not in drawn


def test_an_outcome_nobody_knows_is_never_drawn():
    with pytest.raises(DataFault):
        rendered('{% mark "fine" %}')


def test_every_mark_and_sign_is_there_to_be_drawn():
    there = {one.get("id") for one in ET.fromstring(rendered("{% symbols %}")).iter("symbol")}
    assert there == {f"mark-{outcome}" for outcome in OUTCOMES} | {f"icon-{name}" for name in ICONS}


def test_a_sign_nobody_drew_is_refused():
    assert 'href="#icon-print"' in rendered('{% icon "print" %}')
    with pytest.raises(TemplateSyntaxError, match="no sign 'printer'"):
        rendered('{% icon "printer" %}')


# -- the pages around them


def page(name, **context):
    return render_to_string(f"{name}.html", context)


@pytest.mark.parametrize(
    ("name", "title"),
    [("403", "refused"), ("403_csrf", "not_taken"), ("404", "not_here"), ("500", "fault")],
)
@pytest.mark.parametrize("language", ["en", "es"])
def test_a_page_that_says_no_does_so_in_either_language(name, title, language):
    shown = page(name, language=language)
    assert f'<html lang="{language}">' in shown
    assert f"<h1>{say(f'web.{title}.title', language)}</h1>" in shown
    assert say(f"web.{title}.text", language) in shown


def test_a_fault_is_told_where_nothing_at_all_is_known_of_the_page():
    with translation.override("es-mx"):
        assert say("web.fault.title", "es") in page("500")


def test_a_refusal_may_say_why():
    assert "only the lead releases &lt;jobs&gt;" in page("403", why="only the lead releases <jobs>")


def test_the_bar_holds_the_places_given_and_marks_the_one_open():
    places = [{"name": "units", "url": "/units/", "here": True}, {"name": "bay", "url": "/bay/", "here": False}]
    shown = " ".join(page("404", places=places).split())
    assert f'<a href="/units/" aria-current="page">{say("web.place.units")}</a>' in shown
    assert f'<a href="/bay/">{say("web.place.bay")}</a>' in shown
    assert say("web.place.records") not in shown


def test_the_bar_leaves_out_what_is_not_given():
    shown = page("404")
    for absent in ("<nav", "<form", "<details"):
        assert absent not in shown


@pytest.mark.parametrize(
    ("cookie", "theme"), [("dark", ' data-theme="dark"'), ("light", ' data-theme="light"'), ("x", "")]
)
def test_the_theme_is_the_one_chosen_on_this_device(cookie, theme, rf):
    rf.cookies["theme"] = cookie
    shown = render_to_string("404.html", {"request": rf.get("/")})
    assert f'<html lang="en"{theme}>' in shown
