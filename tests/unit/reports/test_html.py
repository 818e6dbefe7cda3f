"""The page: whole, fit for a strict content policy, hostile text harmless, both languages, both themes readable."""

import base64
import copy
import hashlib
import re
from html.parser import HTMLParser
from importlib.resources import files
from itertools import pairwise

import pytest

from treadle.assess.policy import Policy
from treadle.reports.html import html_fragment, html_page
from treadle.rules.model import OUTCOMES
from treadle.words import LANGUAGES, say

EMPTY = {"meta"}
SLASH = "\N{FRACTION SLASH}"
THEMES = {"light": ".report,\n.report-page {", "dark": ':root[data-theme="dark"] .report,'}


class Page(HTMLParser):
    """A page taken apart: its elements, its ids, where it points, and its text without style."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.elements, self.words, self.text = [], [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "style" not in self.open:
            self.text.append(data)

    @property
    def said(self):
        return " ".join("".join(self.text).replace("\u00a0", " ").replace("\u200b", "").split())

    def having(self, name):
        return [attrs[name] for _, attrs in self.elements if name in attrs]


def plain(sentence):
    return re.sub(r"(\d+)/(\d+) in\b", rf"\1{SLASH}\2 in", sentence)


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_fragment_says_every_finding_with_citation_limit_and_remedy(demo, language):
    said = Page(html_fragment(*demo, language)).said
    for finding in demo.assessment.findings:
        if finding.outcome != "good":
            assert plain(finding.says(language)) in said
            assert plain(finding.remedy(language)) in said
        if finding.verdict.citation:
            assert finding.verdict.citation in said
        if finding.verdict.limit:
            assert plain(str(finding.verdict.limit)) in said


def test_it_says_what_is_judged_when_by_whom_how_and_by_which_edition(demo):
    said = Page(html_fragment(*demo)).said
    for expected in (
        "K-12 + T-7",
        "2 October 2026, 07:40 to 08:52 (UTC-06:00)",
        "R. Quill and J. Amsel",
        "service",
        "91 psi to 98 psi",
        "412,350 mi",
        f"rules of 2 October 2026, edition {demo.assessment.edition}",
        "Fix: not to be dispatched",
        "Roadside count: ½ of 10 brakes defective. Counted: T-7 axle 1 right (half)",
        "read in a secondary copy",
        "limit not confirmed",
        "read 08:09, 94 psi",
        "3-axle tractor, built March 2019",
    ):
        assert expected in said


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_mark_has_its_word_beside_it(pair, language):
    for number in ("20", "22", "28", "01"):
        text = html_fragment(*pair(number), language)
        marks = re.findall(r'<use href="#report-mark-(\w+)"/></svg>\s*(.{0,60})', text, re.S)
        assert marks
        for outcome, beside in marks:
            word = say(f"outcome.{outcome}", language)
            assert word in beside.lower()


def test_every_caution_is_said_in_both_languages(demo):
    for language in LANGUAGES:
        said = Page(html_fragment(*demo, language)).said
        for caution in ("kills", "scope", "first", "clear", "chocks", "caged"):
            assert say(f"report.caution.{caution}", language) in said


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_fragment_may_stand_under_a_strict_content_policy(demo, language):
    page = Page(html_fragment(*demo, language))
    assert not page.open
    tags = {tag for tag, _ in page.elements}
    assert not tags & {"html", "head", "body", "script", "style", "link", "iframe", "img"}
    for _, attributes in page.elements:
        assert "style" not in attributes
        assert not [name for name in attributes if name.startswith("on")]


def test_every_id_is_there_once_and_every_pointer_finds_its_own(demo, pair):
    for judged in (demo, pair("27")):
        page = Page(html_fragment(*judged, name="here"))
        ids = page.having("id")
        assert len(set(ids)) == len(ids)
        assert all(one.startswith("here-") for one in ids)
        pointed = [href.removeprefix("#") for href in page.having("href")]
        labels = [one for names in page.having("aria-labelledby") for one in names.split()]
        assert set(pointed + labels) <= set(ids)


def test_headings_follow_each_other_from_the_level_asked_for(demo):
    for level in (1, 2, 4):
        page = Page(html_fragment(*demo, level=level))
        levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h\d", tag)]
        assert levels[0] == level
        assert set(levels) == {level, level + 1, level + 2}
        assert all(after - before <= 1 for before, after in pairwise(levels))


def test_hostile_text_stays_text(hostile):
    for language in LANGUAGES:
        text = html_page(*hostile, language)
        page = Page(text)
        assert not page.open
        assert not {"script", "img", "b"} & {tag for tag, _ in page.elements}
        assert hostile.walk_around.taken.by in page.said
        assert hostile.walk_around.units[1].number in page.said
        assert "<img src=x onerror=alert(2)> #emph[strong] @ref `raw`" in page.said


def test_a_page_needs_nothing_from_anywhere(demo):
    text = html_page(*demo)
    (style,) = re.findall(r"<style>(.*?)</style>", text, re.S)
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]*)"', text)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert f"sha256-{digest}" in policy
    assert policy.startswith("default-src 'none'")
    assert {url[:20] for url in re.findall(r"url\(([^)]*)\)", style)} == {"data:font/ttf;base64"}
    namespace = "http://www.w3.org/2000/svg"
    assert "://" not in text.replace(namespace, "")
    assert text.startswith("<!doctype html>")


def test_the_page_names_its_language_and_its_units(demo):
    for language in LANGUAGES:
        page = Page(html_page(*demo, language))
        assert ("html", {"lang": language}) in page.elements
        assert f"{say('report.title', language)}: K-12 + T-7" in page.said


def test_the_same_assessment_gives_the_same_page(demo):
    assert html_page(*demo) == html_page(*demo)


def test_where_nothing_was_found_it_says_so(pair):
    said = Page(html_fragment(*pair("01"))).said
    assert say("report.nothing_found", "en") in said
    assert "Good: measured, judged, within" in said


def test_several_findings_on_one_reading_stand_in_one_row_worst_first(pair):
    text = html_fragment(*pair("22"))
    rows = re.findall(r'<tr role="row" class="row-(\w+)">(.*?)</tr>', text, re.S)
    assert [outcome for outcome, _ in rows] == ["hold", "fix", "fix"]
    assert all(row.count('<div class="also">') == (1 if outcome == "fix" else 0) for outcome, row in rows)


def test_each_of_several_combinations_has_its_own_count(fields, judge):
    fields["combinations"] = []
    for reading in fields["readings"]:
        if reading["unit"] == "T-7" and reading["kind"] == "applied_stroke":
            reading["value"] = "2 1/2 in"
    judged = judge(fields)
    said = Page(html_fragment(*judged)).said
    assert "Wheel end by wheel end: T-7" in said
    assert "Roadside count: 4 of 4 brakes defective." in said
    assert "Roadside count: 0 of 6 brakes defective." in said
    text = html_fragment(*judged)
    (place,) = re.findall(r'row-hold">.*?cell-where">(.*?) <span', text, re.S)
    assert place == "T-7"


def test_what_the_shop_makes_of_unseen_is_said_only_where_it_has_a_policy(demo, fields, judge):
    keeps = say("report.policy_keeps_in", "en")
    lets_go = say("report.policy_lets_go", "en")
    assert keeps not in Page(html_fragment(*demo)).said
    for blocks, expected in ((True, keeps), (False, lets_go)):
        judged = judge(copy.deepcopy(fields), Policy(unseen_blocks={"service": blocks}))
        assert expected in Page(html_fragment(*judged)).said


def test_a_reading_no_rule_has_a_figure_for_is_still_shown_as_read(pair):
    text = html_fragment(*pair("32"))
    cells = re.findall(r'cell-measured" data-name="measured"><span class="value">(.*?)</span>', text)
    assert "0.8\u00a0mm" in cells


# -- the style sheet -------------------------------------------------------------------------------------------------


def style():
    return files("treadle.reports").joinpath("report.css").read_text(encoding="utf-8")


def hues_of(theme):
    block = style().partition(THEMES[theme])[2].partition("}")[0]
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", block))


@pytest.mark.parametrize("theme", THEMES)
def test_every_word_can_be_read_in_both_themes(theme, contrast):
    hues = hues_of(theme)
    for ground in ("card", "paper"):
        for text in (*OUTCOMES, "ink", "soft"):
            assert contrast(hues[text], hues[ground]) >= 4.5, (theme, text, ground)
        for drawn in ("body",):
            assert contrast(hues[drawn], hues[ground]) >= 2.7, (theme, drawn, ground)


def test_the_dark_theme_is_the_same_chosen_or_from_the_system():
    chosen = hues_of("dark")
    by_system = style().partition("prefers-color-scheme: dark")[2].partition("}")[0]
    assert dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", by_system)) == chosen


def test_the_five_hues_are_told_apart_in_each_theme():
    for theme in THEMES:
        hues = hues_of(theme)
        assert len({hues[outcome] for outcome in OUTCOMES}) == 5


def test_it_has_styles_for_print_for_a_phone_and_for_the_keyboard():
    for needed in ("@media print", "@media screen and (max-width", ":focus-visible"):
        assert needed in style()


def test_every_face_it_names_is_shipped():
    for name in re.findall(r'url\("(fonts/[^"]+)"\)', style()):
        assert files("treadle.reports").joinpath(name).is_file()
