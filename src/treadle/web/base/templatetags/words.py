"""Tags and filters by which a template says a sentence, writes a quantity as read, and draws an outcome's mark.

A tag takes the language from the context, a filter the active one, which the middleware has set to the same; nothing
here adds up, compares or judges.
"""

from __future__ import annotations

from datetime import date, datetime
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.template.context import Context
from django.utils import timezone, translation
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from treadle.measure import Quantity, read_quantity
from treadle.reports import marks
from treadle.reports.wording import Run, day_of, distance_of, moment_of, runs
from treadle.web.base.templatetags import drawn_icons
from treadle.words import LANGUAGES, say, term

register = template.Library()

_SLASH, _NO_BREAK = "\N{FRACTION SLASH}", "\N{NO-BREAK SPACE}"


# -- in which language


def spoken(context: Context | None = None) -> str:
    """Return the language of the page, "en" or "es": the context's where it has one, else the active one."""
    given = None if context is None else context.get("language")
    language = (given or translation.get_language() or LANGUAGES[0]).partition("-")[0]
    return language if language in LANGUAGES else LANGUAGES[0]


@register.simple_tag(takes_context=True, name="lang")
def language_tag(context: Context) -> str:
    """Return the language of the page, for its ``lang`` attribute."""
    return spoken(context)


# -- sentences and terms


@register.simple_tag(takes_context=True, name="say")
def say_tag(context: Context, code: str, **arguments: Any) -> str:
    """Return the sentence of a code, filled with arguments; it is escaped like any text."""
    return say(code, spoken(context), **arguments)


@register.filter(name="term")
def term_filter(word: object) -> str:
    """Return the trade term of a word of the file contract."""
    return term(str(word), spoken())


# -- quantities


@register.filter
def reading(value: str | Quantity | tuple[Run, ...]) -> SafeString:
    """Return a text, a quantity or a line of a report with each fraction of an inch set as a true one."""
    line = value if isinstance(value, tuple) else runs(str(value))
    return format_html_join("", "{}", ((_run(run),) for run in line))


@register.filter
def fraction(value: object) -> SafeString:
    """Return a number of inches without its unit, as on a key: "2 1/8"."""
    line = runs(f"{value} in")
    if line and line[0].under:
        return _fraction(line[0], unit="")
    return format_html("{}", str(value))


def _run(run: Run) -> str:
    return _fraction(run, unit=f"{_NO_BREAK}{run.text}") if run.under else run.text


def _fraction(run: Run, *, unit: str) -> SafeString:
    whole = format_html('{}<span class="gap"> </span>', run.whole) if run.whole else ""
    return format_html(
        '<span class="quantity">{}<span class="over">{}</span>{}<span class="under">{}</span>{}</span>',
        whole,
        run.over,
        _SLASH,
        run.under,
        unit,
    )


@register.filter
def distance(value: str | Quantity) -> str:
    """Return a meter's reading with its thousands apart: "412,350 mi"; a text carries its unit."""
    read = value if isinstance(value, Quantity) else read_quantity(value, "length", where="meter")
    return distance_of(read, spoken())


# -- days and moments


@register.filter
def when(at: datetime, zone: str = "") -> str:
    """Return a moment by the clock of the shop, or of a zone given by name: "2 October 2026, 07:40".

    Raises
    ------
    ValueError
        The moment has no zone, so nobody can say when it was.
    """
    return moment_of(_there(at, zone), spoken())


@register.filter
def day(on: date, zone: str = "") -> str:
    """Return a day, or the day of a moment by the clock of the shop: "2 October 2026"."""
    return day_of(_there(on, zone).date() if isinstance(on, datetime) else on, spoken())


def _there(at: datetime, zone: str) -> datetime:
    if at.tzinfo is None:
        raise ValueError(f"{at.isoformat()} has no zone; give an aware moment")
    return at.astimezone(ZoneInfo(zone) if zone else timezone.get_current_timezone())


# -- marks and signs


@register.simple_tag(takes_context=True)
def mark(context: Context, outcome: str | None, *, size: int = 24, alone: bool = False) -> SafeString:
    """Draw an outcome: its mark with its word, or the mark alone with the word as its label.

    What nothing was asked of (None) has a word and no mark.
    """
    language = spoken(context)
    if not outcome:
        return format_html('<span class="outcome outcome-none">{}</span>', say("report.nothing_asked", language))
    word = say(f"outcome.{outcome}", language)
    drawing = '<svg class="mark mark-{0}" width="{1}" height="{1}" {2} focusable="false"><use href="#mark-{0}"/></svg>'
    if alone:
        return format_html(drawing, outcome, size, format_html('role="img" aria-label="{}"', word))
    drawn = format_html(drawing, outcome, size, format_html('aria-hidden="{}"', "true"))
    return format_html('<span class="outcome outcome-{}">{} <span class="word">{}</span></span>', outcome, drawn, word)


@register.simple_tag
def icon(name: str) -> SafeString:
    """Draw one of our signs; a word beside it says what it means."""
    if name not in drawn_icons.ICONS:
        raise template.TemplateSyntaxError(f"no sign '{name}'; there are {', '.join(drawn_icons.ICONS)}")
    return format_html(
        '<svg class="icon" width="24" height="24" aria-hidden="true" focusable="false"><use href="#icon-{}"/></svg>',
        name,
    )


@register.simple_tag
@cache
def symbols() -> SafeString:
    """Return every mark and sign once, for the page to draw from."""
    drawn = [marks.symbol(outcome) for outcome in marks.MARKS] + [
        drawn_icons.symbol(name) for name in drawn_icons.ICONS
    ]
    return format_html(
        '<svg class="symbols" width="0" height="0" aria-hidden="true" focusable="false"><defs>{}</defs></svg>',
        mark_safe("".join(drawn)),  # noqa: S308  # nosec B308 B703
    )
