"""Templates say only sentences that are written and hold nothing a strict page forbids; no sentence is for nobody."""

from __future__ import annotations

import ast
import string
from collections.abc import Iterable
from pathlib import Path

import pytest
from contracts.templates import SaidIn, is_code, sentences_said_in, templates_below, unfit_in
from contracts.tree import SOURCE, modules_below, parsed

from treadle.words import LANGUAGES, catalogue

CORE = frozenset({"cli", "error", "finding", "not_judged", "outcome", "remedy", "report", "term"})
"""Files of words that belong to the core; `test_sentences.py` looks after them."""


@pytest.fixture
def template(tmp_path):
    """Write a template to be read."""

    def written(text):
        path = tmp_path / "page.html"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def arguments_of(sentence: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(sentence) if name is not None}


# -- what is said is written, and given what it takes


def sentences_amiss(said: Iterable[SaidIn], language: str) -> list[str]:
    codes, found = catalogue(language), []
    for one in said:
        begins = [code for code in codes if code.startswith(one.code[:-1])] if one.code.endswith("*") else []
        if not is_code(one.code):
            found.append(f"{one.place} says {one.code}, which nobody can look up. Say a code outright.")
        elif not begins and one.code not in codes:
            found.append(f"{one.place} says '{one.code}'. Write it in words/{language}.")
        for code in begins or [one.code]:
            asked = arguments_of(codes.get(code, ""))
            if code in codes and asked - one.arguments:
                found.append(f"{one.place}: {code} ({language}) takes {', '.join(sorted(asked - one.arguments))}.")
        spare = one.arguments.difference(*(arguments_of(codes.get(code, "")) for code in begins or [one.code]))
        if spare and is_code(one.code):
            found.append(f"{one.place}: {one.code} ({language}) does not take {', '.join(sorted(spare))}.")
    return found


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_a_template_says_is_written_and_given_what_it_takes(language):
    said = sentences_said_in(templates_below())
    assert {"web.skip", "web.place.*", "report.headline"} <= {one.code for one in said}
    assert sentences_amiss(said, language) == []


SAYING = """{% load words %}{# {% say "nobody.hears_this" %} #}
{% comment %}{% say "nor.this" %}{% endcomment %}
<p title="{% say 'web.menu' %}">{% say "report.page" page=page.number pages=3 as text %}</p>
{% say "web.place."|add:place.name %}{% say "web.sign_out"
   who="a name=b" %}
{% say code %}{% say "web.mneu" %}{% say "report.page" page=1 %}{% say "nowhere."|add:x %}
"""


def test_sentences_are_found_in_every_form_they_are_said_in(template):
    assert sentences_said_in([template(SAYING)]) == [
        SaidIn("web.menu", frozenset(), "page.html:3"),
        SaidIn("report.page", frozenset({"page", "pages"}), "page.html:3"),
        SaidIn("web.place.*", frozenset(), "page.html:4"),
        SaidIn("web.sign_out", frozenset({"who"}), "page.html:4"),
        SaidIn("code", frozenset(), "page.html:6"),
        SaidIn("web.mneu", frozenset(), "page.html:6"),
        SaidIn("report.page", frozenset({"page"}), "page.html:6"),
        SaidIn("nowhere.*", frozenset(), "page.html:6"),
    ]


def test_a_sentence_not_written_or_short_of_an_argument_is_found(template):
    assert sentences_amiss(sentences_said_in([template(SAYING)]), "en") == [
        "page.html:4: web.sign_out (en) does not take who.",
        "page.html:6 says code, which nobody can look up. Say a code outright.",
        "page.html:6 says 'web.mneu'. Write it in words/en.",
        "page.html:6: report.page (en) takes pages.",
        "page.html:6 says 'nowhere.*'. Write it in words/en.",
    ]


# -- no sentence is written for nobody


def asked_for_in_code(paths: Iterable[Path]) -> set[str]:
    """Every text of the code that may be a code, and with a star what one put together begins with."""
    found = set()
    for path in paths:
        for node in ast.walk(parsed(path)):
            match node:
                case ast.JoinedStr(values=[ast.Constant(value=str(begins)), _, *_]) if "." in begins:
                    found.add(f"{begins}*")
                case ast.BinOp(left=ast.Constant(value=str(begins)), op=ast.Add()) if "." in begins:
                    found.add(f"{begins}*")
                case ast.Constant(value=str(text)):
                    found.add(text)
    return found


def sentences_nobody_says(codes: Iterable[str], asked: set[str]) -> list[str]:
    begins = tuple(one[:-1] for one in asked if one.endswith("*"))
    return [
        f"Nobody says {code}. Remove it from words/*/{code.partition('.')[0]}.toml."
        for code in codes
        if code not in asked and not code.startswith(begins)
    ]


def test_every_sentence_of_the_screens_is_said_somewhere():
    codes = [code for code in catalogue("en") if code.partition(".")[0] not in CORE]
    asked = {one.code for one in sentences_said_in(templates_below())} | asked_for_in_code(modules_below(SOURCE))
    assert "web.skip" in codes
    assert sentences_nobody_says(codes, asked) == []


def test_a_sentence_nobody_says_is_found(tmp_path):
    path = tmp_path / "views.py"
    path.write_text('a = say("web.menu")\nb = f"web.theme.{theme}"\nc = "web.place." + name\nd = f"{x}.y"\n')
    asked = asked_for_in_code([path])
    codes = ["web.menu", "web.theme.dark", "web.place.bay", "web.skip", "x.y"]
    assert sentences_nobody_says(codes, asked) == [
        "Nobody says web.skip. Remove it from words/*/web.toml.",
        "Nobody says x.y. Remove it from words/*/x.toml.",
    ]


# -- nothing a strict page forbids, and no words outside the catalogue


def test_no_template_holds_what_a_screen_may_not():
    templates = templates_below()
    assert len(templates) > 10
    assert [fault for path in templates for fault in unfit_in(path)] == []


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('<p style="color: red">', "has style=. Give"),
        ('<button onclick="go()">', "has onclick=. Listen"),
        ('<button hx-on:click="go()">', "has hx-on:click=, which runs"),
        ('<p hx-vals="js:{a: b()}">', "has hx-vals=, which runs"),
        ("<script>go()</script>", "has a <script> without src"),
        ("<style>p { margin: 0 }</style>", "has a <style>"),
        ('<script src="https://elsewhere.example/x.js"></script>', "has src='https://elsewhere.example/x.js'"),
        ('<a href="javascript:go()">', "has href='javascript:go()'"),
        ('<link href="//elsewhere.example/x.css">', "has href='//elsewhere.example/x.css'"),
        ("<p>Open the <b>{{ x }}</b></p>", "has the words 'Open the'"),
        ("<p>{% if a %}Jobs{% endif %}</p>", "has the words 'Jobs'"),
        ("<p>Treadle is open</p>", "has the words 'Treadle is open'"),
        ('<input placeholder="Find a unit">', "has the words 'Find a unit' in placeholder="),
        ('<p aria-label="{{ n }} jobs">', "has the words ' jobs' in aria-label="),
    ],
)
def test_what_a_screen_may_not_hold_is_found(template, text, fault):
    found = unfit_in(template(f"{{% load words %}}\n{text}"))
    assert any(one.startswith(f"page.html:2 {fault}") for one in found), found


def test_what_a_screen_may_hold_is_let_be(template):
    clean = """{% extends "base.html" %}{# Words for whoever reads the template. #}
{% comment %}More words.{% endcomment %}
{% block page_class %}page-narrow{% endblock %}
<a href="{% url 'units:unit' number=unit.number %}"{% if here %} aria-current="page"{% endif %}>Treadle</a>
<p class="say say-{{ outcome }}" title="{% say 'web.menu' %}">{{ said|reading }} · {{ 12 }}–3 &nbsp;</p>
<script src="{% static 'treadle/treadle.js' %}" type="module"></script>
"""
    assert unfit_in(template(clean)) == []
