"""Whatever valid file is judged: nothing is raised, and the assessment keeps its promises."""

from __future__ import annotations

import pytest
import strategies
from hypothesis import given
from properties.judging import examples, judged
from properties.promises import PROMISES, sentences_are_whole


@pytest.mark.parametrize("broken_promises", PROMISES, ids=lambda promise: promise.__name__)
@examples(40)
@given(file=strategies.files(most_units=3))
def test_any_valid_file_is_judged_and_promises_are_kept(broken_promises, file):
    assert not list(broken_promises(judged(file), file))


@examples(200)
@given(strategies.files(most_units=1))
def test_every_sentence_about_any_valid_file_can_be_said_whole_in_both_languages(file):
    assert not list(sentences_are_whole(judged(file), file))
