"""How a sentence is found and filled; that both languages say the same things with the same arguments."""

import string
from collections import Counter

import pytest

from treadle import words
from treadle.errors import BadInput, DataFault, Problem
from treadle.words import LANGUAGES, catalogue, explain, has, say, term

INVENTED = {
    "en": {
        "finding.plain": "The limit is {limit}.",
        "finding.term": "Of the {kind:term}.",
        "finding.terms": "Not known: {missing:terms}.",
        "finding.subject": "{subject:subject} {measured}.",
        "error.no_such": "{where}: '{given}' is not here.",
        "term.lining": "lining",
        "term.upper": "upper shoe",
        "term.built": "build date",
        "term.and": "and",
    },
    "es": {
        "finding.plain": "El límite es {limit}.",
        "finding.term": "Del {kind:term}.",
        "finding.terms": "No se sabe: {missing:terms}.",
        "finding.subject": "{subject:subject} {measured}.",
        "error.no_such": "{where}: '{given}' no está aquí.",
        "term.lining": "forro",
        "term.upper": "zapata superior",
        "term.built": "fecha de fabricación",
        "term.and": "y",
    },
}


@pytest.fixture
def invented(monkeypatch):
    """A catalogue of our own, so that no change of wording moves these tests."""
    monkeypatch.setattr(words, "catalogue", INVENTED.__getitem__)


# -- the shipped catalogues


def placeholders(template):
    """Each argument of a sentence with the form it is written in, and how often."""
    return Counter((name, form) for _, name, form, conversion in string.Formatter().parse(template) if name is not None)


def test_a_placeholder_is_counted_with_its_form():
    assert placeholders("{a}, {a:term} and {b!r}, {a}") == Counter({("a", ""): 2, ("a", "term"): 1, ("b", ""): 1})


def test_every_sentence_stands_in_every_language():
    lacking = {language: catalogue("en").keys() ^ catalogue(language).keys() for language in LANGUAGES}
    assert lacking == {language: set() for language in LANGUAGES}, "Add the entry to the file of the other language."


def used_by(templates):
    """Each argument of a sentence in all its languages, a label's own language left out of its name."""
    return [
        {(name.removesuffix(f"_{language}"), form) for name, form in placeholders(template)}
        for language, template in templates.items()
    ]


def test_a_sentence_takes_the_same_arguments_in_every_language():
    differing = []
    for code in catalogue("en"):
        first, *others = used_by({language: catalogue(language)[code] for language in LANGUAGES})
        if any(other != first for other in others):
            differing.append(code)
    assert differing == [], "Use the same {names} in every language, as {name:term} or plain alike."


def test_an_argument_of_one_language_alone_is_found():
    assert used_by({"en": "{a} {label_en}", "es": "{label_es} {a}"}) == [{("a", ""), ("label", "")}] * 2
    english, spanish = used_by({"en": "{a} {b}", "es": "{a}"})
    assert english != spanish
    english, spanish = used_by({"en": "{a:term}", "es": "{a}"})
    assert english != spanish


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_argument_has_a_name_and_a_form_that_is_known(language):
    forms = {"", "term", "terms", "subject"}
    odd = [
        code
        for code, template in catalogue(language).items()
        for name, form in placeholders(template)
        if not name.isidentifier() or form not in forms
    ]
    assert odd == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_sentence_is_empty_or_has_blanks_at_its_ends(language):
    assert [code for code, text in catalogue(language).items() if not text or text != text.strip()] == []


def test_the_languages_differ_in_their_sentences():
    """A file copied over its translation would pass every other test."""
    same = [code for code, text in catalogue("en").items() if text == catalogue("es")[code]]
    assert len(same) < len(catalogue("en")) / 4, f"The same in both languages: {same}"


# -- finding and filling


def test_an_argument_stands_as_it_is(invented):
    assert say("finding.plain", "en", limit="1 3/4 in") == "The limit is 1 3/4 in."
    assert say("finding.plain", "es", limit="1 3/4 in") == "El límite es 1 3/4 in."


def test_a_term_is_looked_up_in_the_language(invented):
    assert say("finding.term", "es", kind="lining") == "Del forro."


def test_a_word_without_a_term_stands_for_itself(invented):
    assert say("finding.term", "en", kind="hubodometer") == "Of the hubodometer."
    assert term("hubodometer", "es") == "hubodometer"


@pytest.mark.parametrize(
    ("missing", "said"),
    [
        ((), "Not known: ."),
        (("built",), "Not known: build date."),
        (("built", "lining"), "Not known: build date and lining."),
        (("built", "lining", "upper"), "Not known: build date, lining and upper shoe."),
    ],
)
def test_terms_are_joined_as_a_sentence_has_them(invented, missing, said):
    assert say("finding.terms", "en", missing=missing) == said


def test_terms_are_joined_with_the_languages_own_word(invented):
    assert say("finding.terms", "es", missing=("built", "lining")) == "No se sabe: fecha de fabricación y forro."


@pytest.mark.parametrize(
    ("subject", "said"),
    [
        (("lining", None), "Lining 1/4 in."),
        (("lining", "upper"), "Lining, upper shoe 1/4 in."),
        (("ABS", None), "ABS 1/4 in."),
    ],
)
def test_a_subject_begins_the_sentence(invented, subject, said):
    assert say("finding.subject", "en", subject=subject, measured="1/4 in") == said


def test_a_sentence_nobody_wrote_is_a_fault_of_the_data(invented):
    with pytest.raises(DataFault) as fault:
        say("finding.nothing", "es")
    assert fault.value.problems == (Problem("unknown_code", "words/es", {"code": "finding.nothing"}),)


def test_a_missing_argument_is_a_fault_that_names_it(invented):
    with pytest.raises(DataFault) as fault:
        say("finding.plain", "en")
    (problem,) = fault.value.problems
    assert (problem.slug, problem.where, problem.details["code"]) == ("missing_argument", "words/en", "finding.plain")
    assert "limit" in problem.details["argument"]


def test_whether_there_is_a_sentence_can_be_asked(invented):
    assert has("finding.plain")
    assert not has("finding.nothing")


def test_a_language_nobody_speaks_is_named_with_those_spoken():
    with pytest.raises(DataFault) as fault:
        say("outcome.hold", "la")
    assert fault.value.problems == (Problem("unknown_language", "language", {"language": "la", "allowed": "en, es"}),)


# -- explaining an error


def test_an_error_is_explained_one_line_a_problem_in_order(invented):
    error = BadInput([Problem("no_such", "there", {"given": "a"}), Problem("no_such", "here", {"given": "b"})])
    assert explain(error) == "there: 'a' is not here.\nhere: 'b' is not here."
    assert explain(error, "es") == "there: 'a' no está aquí.\nhere: 'b' no está aquí."


def test_an_error_without_a_sentence_is_a_fault_of_the_data(invented):
    with pytest.raises(DataFault, match=r"error\.never_written"):
        explain(BadInput(Problem("never_written", "here")))


def test_faults_of_the_data_have_sentences_themselves():
    for code, language in (("nothing.at_all", "es"), ("outcome.hold", "la")):
        with pytest.raises(DataFault) as fault:
            say(code, language)
        assert code in explain(fault.value) or language in explain(fault.value)
