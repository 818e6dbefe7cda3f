"""Every sentence the code asks for is written, with the arguments it is given; and none is written for nobody."""

from __future__ import annotations

import string

import pytest
from contracts.codes import Asked, Raised, asked_for, sentences_said_outright, slugs_raised

from treadle.fleet.read import DIMENSIONS, READING_KINDS
from treadle.rules.compare import asks_for_less, is_limit
from treadle.rules.load import shipped
from treadle.words import LANGUAGES, catalogue

RULES = shipped().rules.values()
NEVER_NONE = {"kind", "power_unit", "role", "steering", "brake", "air_braked", "units_coupled"}
"""What is always known, or is of the test and not of the unit, so that no sentence asks anybody to identify it."""
OF_THE_CHAMBER = {"design", "type", "stroke_class", "rated_stroke"}


def entries(group, language="en"):
    return {
        code.removeprefix(f"{group}."): text
        for code, text in catalogue(language).items()
        if code.startswith(f"{group}.")
    }


def arguments_of(template):
    return {name for _, name, _, _ in string.Formatter().parse(template) if name is not None}


# -- errors


def slugs_without_a_message(raised: list[Raised], language: str) -> list[str]:
    messages = entries("error", language)
    return [
        f"{one.place} raises '{one.slug}'. Add it to words/{language}/error.toml."
        for one in raised
        if one.slug not in messages
    ]


def messages_nobody_raises(raised: list[Raised]) -> list[str]:
    slugs = {one.slug for one in raised}
    return [f"error.{slug} is never raised. Remove it." for slug in entries("error") if slug not in slugs]


def messages_short_of_an_argument(raised: list[Raised], language: str) -> list[str]:
    messages = entries("error", language)
    return [
        f"{one.place}: error.{one.slug} ({language}) takes {name}. Give it among the details."
        for one in raised
        if one.details is not None and one.slug in messages
        for name in sorted(arguments_of(messages[one.slug]) - one.details - {"where"})
    ]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_slug_that_is_raised_has_its_message(language):
    assert slugs_without_a_message(slugs_raised(), language) == []


def test_every_message_is_raised_somewhere():
    assert messages_nobody_raises(slugs_raised()) == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_message_is_given_the_arguments_it_takes(language):
    raised = slugs_raised()
    assert messages_short_of_an_argument(raised, language) == []
    assert len([one for one in raised if one.details is not None]) > len(raised) * 3 / 4, "too few could be told"


RAISING = """
def one(problems, path):
    raise BadInput(Problem("no_unit", path, {"text": "1", "allowed": "in", "unit": "in"}))

def two(self, path):
    details = {"given": 1}
    self._refuse("a_new_slug", path)
    raise BadInput(Problem("unknown_unit" if path else "unit_twice", path, details))

class File:
    def three(self, **details):
        self.refuse("unknown_source", "key", source="x")
        raise self.fault("bad_data_entry", "key", **details)
"""


@pytest.fixture
def module(tmp_path):
    """Write a module to be read."""

    def written(text):
        path = tmp_path / "module.py"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def test_slugs_are_found_in_every_form_they_are_raised_in(module):
    assert slugs_raised([module(RAISING)]) == [
        Raised("no_unit", frozenset({"text", "allowed", "unit"}), "module.py:3"),
        Raised("a_new_slug", frozenset(), "module.py:7"),
        Raised("unknown_unit", frozenset({"given"}), "module.py:8"),
        Raised("unit_twice", frozenset({"given"}), "module.py:8"),
        Raised("unknown_source", frozenset({"source"}), "module.py:12"),
        Raised("bad_data_entry", None, "module.py:13"),
    ]


def test_a_slug_without_a_message_and_a_message_without_its_argument_are_found(module):
    raised = slugs_raised([module(RAISING)])
    assert slugs_without_a_message(raised, "en") == ["module.py:7 raises 'a_new_slug'. Add it to words/en/error.toml."]
    assert messages_short_of_an_argument(raised, "es") == [
        "module.py:8: error.unknown_unit (es) takes allowed. Give it among the details."
    ]


def test_a_message_nobody_raises_is_found(module):
    found = messages_nobody_raises(slugs_raised([module(RAISING)]))
    assert "error.time_without_offset is never raised. Remove it." in found
    assert "error.no_unit is never raised. Remove it." not in found


# -- findings, remedies, reasons


def kinds_forbidden(asked: Asked) -> set[str]:
    """What may be found that no number decides: a word, a difference, a thing seen, a stroke that shows one."""
    return asked.kinds_seen | {rule.compares or rule.quantity for rule in RULES if not is_limit(rule.comparator)}


def facts_to_identify() -> set[str]:
    """Each fact that rules ask about and that may not be known."""
    tables = [
        table for rule in RULES for table in (rule.applies, *(row.when for one in rule.values for row in one.rows))
    ]
    asked = {key.removesuffix("_from").removesuffix("_before") for table in tables for key in table} - NEVER_NONE
    return {"chamber" if fact in OF_THE_CHAMBER else fact for fact in asked}


def breaches_of_limits() -> set[str]:
    """How a number may be past a limit: over or under it, at the figure itself, or past any reading."""
    ways = {"over" if asks_for_less(rule.comparator) else "under" for rule in RULES if is_limit(rule.comparator)}
    return ways | {f"{way}_at_figure" for way in ways} | {"past_reading"}


def codes_of_findings(asked: Asked) -> set[str]:
    """Every code that a finding may have, those put together of parts among them."""
    return (
        asked.codes
        | {f"unseen_{why}" for why in all_whys(asked)}
        | {f"forbidden_{kind}" for kind in kinds_forbidden(asked)}
        | {f"identify_{fact}" for fact in facts_to_identify()}
        | breaches_of_limits()
        | tails(asked)
    )


def tails(asked: Asked) -> set[str]:
    """What a sentence goes on to say where its code begins so: `annual_` and the breach."""
    return {f"tail.{beginning.removesuffix('_')}" for beginning in asked.beginnings}


def all_whys(asked: Asked) -> set[str]:
    return asked.whys | {"measure_centre", "measure_thinnest"}  # `measure_` and the place a rule asks for


def remedies_needed(asked: Asked) -> set[str]:
    """Every remedy that there must be; a breach of a limit without one of its own takes that of any."""
    forbidden = {f"{kind}_forbidden" for kind in kinds_forbidden(asked)}
    breaches = breaches_of_limits() | {f"forbidden_{kind}" for kind in kinds_forbidden(asked)}
    plain = codes_of_findings(asked) - tails(asked) - breaches
    return (plain - {"none_seen"}) | asked.remedies | forbidden | {"over", "under", "past_reading"}


def remedies_possible(asked: Asked) -> set[str]:
    """Every remedy that can be asked for: those needed, and one of its own for each kind of reading."""
    kinds = set(DIMENSIONS) | READING_KINDS | {"scribe_movement_sum"}
    return remedies_needed(asked) | {f"{kind}_{way}" for kind in kinds for way in ("over", "under", "past_reading")}


def reasons_not_judged(asked: Asked) -> set[str]:
    return asked.not_judged | all_whys(asked) | {"no_rule_yet", "no_rule_here"}


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(
    ("group", "needed"),
    [("finding", codes_of_findings), ("remedy", remedies_needed), ("not_judged", reasons_not_judged)],
)
def test_everything_the_judge_may_say_has_its_sentence(group, needed, language):
    lacking = needed(asked_for()) - entries(group, language).keys()
    assert lacking == set(), f"Add these to words/{language}/{group}.toml."


@pytest.mark.parametrize(
    ("group", "possible"),
    [("finding", codes_of_findings), ("remedy", remedies_possible), ("not_judged", reasons_not_judged)],
)
def test_no_sentence_of_the_judge_is_written_for_nobody(group, possible):
    unused = entries(group).keys() - possible(asked_for())
    assert unused == set(), f"Remove these from words/*/{group}.toml."


JUDGING = """
def judge(one, out, kind, needed):
    outcome, code = "hold", "count_over"
    if needed:
        outcome, code = "unseen", "count_open"
    for which, code in ((near(one), "near"), (unsure(one), "not_confirmed")):
        out.append(_verdict("watch", code, one))
    out.append(_verdict("watch", "under_one", one))
    out.append(_verdict("watch", f"annual_{code}", one))
    out.append(Verdict(outcome="good", code="none_seen", remedy="within"))
    out.append(Verdict(outcome="unseen", code="not_seen" if needed else "missing", remedy=code))
    self._unseen("tags_differ", "tags")
    self._condition_of("no_braking_action", "applied_stroke")
    opened = Comparison(one, "open", why="in_doubt"), changed("open", "no_height")
    return opened, Circumstances("void", "engine_running")

def left_out(out, kind, weighed):
    out.not_judged.append((kind, "not_seen" if kind in weighed else "optional"))
    return Weighed(not_judged=[(kind, "too_old")] if kind else [])
"""


def test_codes_are_found_in_every_form_the_judge_gives_them_in(module):
    found = asked_for([module(JUDGING)])
    assert found.codes == {
        "count_over",
        "count_open",
        "near",
        "not_confirmed",
        "under_one",
        "none_seen",
        "not_seen",
        "missing",
        "tags_differ",
    }
    assert (found.beginnings, found.kinds_seen) == ({"annual_"}, {"applied_stroke"})
    assert found.remedies == {"within"}
    assert found.whys == {"in_doubt", "engine_running", "no_height"}
    assert found.not_judged == {"not_seen", "optional", "too_old"}


def test_a_code_nobody_wrote_a_sentence_for_is_found(module):
    made_up = JUDGING.replace("count_over", "count_doubled").replace("engine_running", "engine_singing")
    lacking = codes_of_findings(asked_for([module(made_up)])) - entries("finding").keys()
    assert lacking == {"count_doubled", "unseen_engine_singing"}


def test_a_sentence_nobody_asks_for_is_found(module):
    unused = entries("finding").keys() - codes_of_findings(asked_for([module(JUDGING)]))
    assert {"rods_backwards", "count_rests_on_halves", "unseen_no_figure", "tail.alone"} <= unused
    assert not {"near", "unseen_in_doubt", "forbidden_abs", "tail.annual"} & unused


# -- all other sentences


def sentences_said_and_not_written(said: dict[str, str], language: str) -> list[str]:
    codes = catalogue(language)
    return [
        f"{place} says '{code}'. Write it in words/{language}."
        for code, place in said.items()
        if not (any(one.startswith(code[:-1]) for one in codes) if code.endswith("*") else code in codes)
    ]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_that_is_said_is_written(language):
    said = sentences_said_outright()
    assert {"cli.passed", "outcome.*"} <= said.keys()
    assert sentences_said_and_not_written(said, language) == []


def test_a_sentence_said_and_not_written_is_found(module):
    path = module('say("cli.pased", language)\nsay(f"outcom.{word}")\nsay("cli.passed")\nsay(f"outcome.{word}")\n')
    said = sentences_said_outright([path])
    assert sentences_said_and_not_written(said, "en") == [
        "module.py:1 says 'cli.pased'. Write it in words/en.",
        "module.py:2 says 'outcom.*'. Write it in words/en.",
    ]
