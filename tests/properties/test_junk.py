"""Whatever is given as a walk-around file: it is judged, or refused by name; nothing else is raised."""

from __future__ import annotations

import json

import strategies
from hypothesis import given
from hypothesis import strategies as st
from properties.judging import RULES, WORDS, examples

from treadle.assess import assess
from treadle.errors import BadInput
from treadle.fleet.read import read_walkaround
from treadle.words import LANGUAGES, explain


def judged_or_refused(text: str) -> bool:
    """Whether a text is a walk-around that can be judged; one that is refused is refused in sentences."""
    try:
        walk_around = read_walkaround(text, WORDS)
    except BadInput as refused:
        for language in LANGUAGES:
            lines = explain(refused, language).splitlines()
            assert lines
            assert all(line.strip() for line in lines)
        return False
    assessment = assess(walk_around, RULES)
    for language in LANGUAGES:
        json.dumps(assessment.as_json(language))
    return True


@examples(150)
@given(strategies.mangled())
def test_a_mangled_file_is_judged_or_refused_by_name(text):
    judged_or_refused(text)


@examples(100)
@given(strategies.junk)
def test_any_other_json_is_refused_by_name(value):
    assert not judged_or_refused(json.dumps(value))


@examples(60)
@given(st.text(max_size=40))
def test_any_other_text_is_refused_by_name(text):
    assert not judged_or_refused(text)


def test_a_file_that_is_not_mangled_is_judged():
    assert judged_or_refused(json.dumps(strategies.a_file(b"")))
