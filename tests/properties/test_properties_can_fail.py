"""Each property can fail: the judge is broken on purpose, one way at a time, and the property finds it."""

from __future__ import annotations

import json
import operator
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import Any

import pytest
import strategies
from hypothesis import find
from hypothesis import strategies as st
from properties import drawn, laws, promises
from properties.judging import examples, judged
from properties.test_junk import judged_or_refused

from treadle.assess import Assessment, judge, limits, share, unit_tests, weigh, wheel_end
from treadle.assess.comparison import MET
from treadle.assess.policy import Policy
from treadle.assess.verdict import Finding
from treadle.fleet import read
from treadle.measure import Quantity
from treadle.rules import compare
from treadle.rules.model import Rule


@pytest.fixture(autouse=True)
def no_judge_is_remembered() -> Iterator[None]:
    """A judge keeps what it worked out; one that was broken, or not yet, must not be asked again."""
    judge.judge_of.cache_clear()
    yield
    judge.judge_of.cache_clear()


def is_found(strategy: st.SearchStrategy[Any], law: Callable[[Any], list[str]]) -> bool:
    """Whether a property finds a file for which it does not hold; raises NoSuchExample where it finds none."""
    return bool(law(find(strategy, lambda example: bool(law(example)), settings=examples(400), random=Random(0))))


def thicker_is_no_worse(pair: drawn.Pair) -> list[str]:
    return laws.better_when_worse(good=pair.other, bad=pair.file)


def larger_is_no_better(pair: drawn.Pair) -> list[str]:
    return laws.better_when_worse(good=pair.file, bad=pair.other)


def same_outcomes(pair: drawn.Pair) -> list[str]:
    return laws.different_outcomes(pair.file, pair.other)


# ---- comparisons turned round


@pytest.mark.parametrize(
    ("comparator", "turned", "strategy", "law"),
    [
        ("breach_if_less_than", operator.gt, drawn.two_readings("lining", *strategies.LINING), thicker_is_no_worse),
        ("breach_if_less_than", operator.gt, drawn.two_readings("rotor_thickness", 1.4, 1.6), thicker_is_no_worse),
        (
            "breach_if_more_than",
            operator.lt,
            drawn.two_readings("applied_stroke", *strategies.STROKE),
            larger_is_no_better,
        ),
        (
            "breach_if_more_than",
            operator.lt,
            drawn.two_readings("drum_diameter", *strategies.DRUM),
            larger_is_no_better,
        ),
        ("breach_if_more_than", operator.lt, drawn.two_losses(), larger_is_no_better),
    ],
    ids=["lining", "rotor", "stroke", "drum", "loss"],
)
def test_a_comparison_turned_round_is_caught(monkeypatch, comparator, turned, strategy, law):
    monkeypatch.setitem(compare._PAST, comparator, turned)
    assert is_found(strategy, law)


def test_a_comparison_in_which_the_figure_itself_is_past_is_caught(monkeypatch):
    monkeypatch.setitem(compare._PAST, "breach_if_more_than", operator.ge)
    monkeypatch.setitem(compare._PAST, "breach_if_less_than", operator.le)
    assert is_found(drawn.near_misses(), laws.band_misjudged)


def test_a_band_that_leaves_out_its_end_is_caught(monkeypatch):
    narrower = {"applied_stroke": Fraction(1, 8), "lining": Fraction(1, 16), "drum_diameter": Fraction(1, 50)}
    bands = {kind: Quantity(size - Fraction(1, 10_000), "in") for kind, size in narrower.items()}
    monkeypatch.setattr(Policy, "near_band", lambda self, kind: bands.get(kind))
    assert is_found(drawn.near_misses(), laws.band_misjudged)


def test_a_rod_that_bottomed_and_passes_is_caught(monkeypatch):
    monkeypatch.setattr(wheel_end, "breach_of", lambda group: wheel_end.words_against(group, "bottomed"))
    assert is_found(drawn.bottomed(), larger_is_no_better)


def test_rods_whose_distance_is_not_the_stroke_are_caught(monkeypatch):
    right = wheel_end._EndJudge._rods

    def from_the_frame(self: Any, released: Any, applied: Any) -> None:
        right(self, replace(released, value=Quantity(Fraction(0), "in")), applied)

    monkeypatch.setattr(wheel_end._EndJudge, "_rods", from_the_frame)
    assert is_found(drawn.stroke_by_rods(), same_outcomes)


# ---- orders and places


def test_the_first_drum_reading_taken_for_the_largest_is_caught(monkeypatch):
    right = wheel_end._EndJudge._size_that_decides
    monkeypatch.setattr(
        wheel_end._EndJudge,
        "_size_that_decides",
        lambda self, kind, pick: right(self, kind, lambda sizes, key: sizes[0]),
    )
    assert is_found(drawn.shuffled_file(), same_outcomes)


def test_an_id_read_as_something_else_is_caught(monkeypatch):
    right = read._Builder._reading

    def by_its_id(self: Any, entry: Any, *rest: Any) -> Any:
        reading = right(self, entry, *rest)
        return replace(reading, kind="end_play") if reading.id and reading.kind == "free_stroke" else reading

    monkeypatch.setattr(read._Builder, "_reading", by_its_id)
    assert is_found(drawn.renamed_file(), same_outcomes)


def test_a_place_that_displaces_another_is_caught(monkeypatch):
    right = limits.limits_for
    for module in (wheel_end, unit_tests):
        monkeypatch.setattr(
            module, "limits_for", lambda *rest, runs_in, **named: right(*rest, runs_in=runs_in[-1:], **named)
        )
    assert is_found(drawn.one_more_jurisdiction(), lambda pair: laws.improved_by_a_jurisdiction(pair.file, pair.other))


# ---- what is not known


def test_a_need_nobody_misses_at_an_end_is_caught(monkeypatch):
    monkeypatch.setattr(wheel_end._EndJudge, "_missing", lambda self: None)
    assert is_found(drawn.without_a_need(), laws.passes_unmeasured)


def test_a_need_nobody_misses_of_a_unit_is_caught(monkeypatch):
    monkeypatch.setattr(unit_tests.UnitTests, "_missing", lambda self, out: None)
    assert is_found(drawn.without_a_need(), laws.passes_unmeasured)


@pytest.mark.parametrize("fact", ["stroke_class", "rated_stroke", "type"])
def test_an_unknown_chamber_taken_for_the_longest_is_caught(monkeypatch, fact):
    right = limits.matching_rows
    monkeypatch.setattr(limits, "matching_rows", lambda value, facts: right(value, facts)[-1:])
    assert is_found(drawn.without_a_fact(fact), laws.excused_by_ignorance)


@pytest.mark.parametrize(("fact", "loosest"), [("lining_form", "continuous"), ("lining_attachment", "bonded")])
def test_an_unknown_lining_held_to_the_loosest_limit_is_caught(monkeypatch, fact, loosest):
    def only_the_loosest(entries: Any) -> limits.Group:
        candidates = [candidate for candidate, _ in entries]
        return limits.Group((next((one for one in candidates if loosest in one.rule.id), candidates[0]),))

    monkeypatch.setattr(limits, "_alternatives", only_the_loosest)
    where_it_decides = {"kinds": ("truck",), "brakes": ("air_drum",), "most_units": 1}
    assert is_found(drawn.without_a_fact(fact, **where_it_decides), laws.excused_by_ignorance)


@pytest.mark.parametrize("fact", ["reservoir", "engine", "spring_brakes"])
def test_unknown_circumstances_that_let_everything_stand_are_caught(monkeypatch, fact):
    right = wheel_end.compare

    def lenient(group: Any, measured: Any, given: Any = MET) -> Any:
        result = right(group, measured)
        passes = given.standing == "unknown" and result.state == "breach"
        return replace(result, state="within") if passes else right(group, measured, given)

    monkeypatch.setattr(wheel_end, "compare", lenient)
    assert is_found(drawn.without_a_fact(fact), laws.excused_by_ignorance)


@pytest.mark.parametrize("fact", drawn.FACTS_THAT_DECIDE_A_LIMIT)
def test_a_doubt_nobody_mentions_is_caught(monkeypatch, fact):
    monkeypatch.setattr(weigh, "_weigh_doubt", lambda *rest: None)
    assert is_found(drawn.with_a_doubt(fact), laws.good_in_doubt)


def test_a_rule_in_force_on_odd_days_alone_is_caught(monkeypatch):
    right = Rule.in_force
    monkeypatch.setattr(Rule, "in_force", lambda self, on: right(self, on) if on.day % 2 else None)
    strategy = st.tuples(strategies.files(), laws.two_days_between_changes())
    assert is_found(strategy, lambda drawn_days: laws.moved_by_the_day(drawn_days[0], *drawn_days[1]))


# ---- promises


def test_a_share_that_must_be_passed_and_not_only_reached_is_caught(monkeypatch):
    monkeypatch.setattr(
        share,
        "_reaches",
        lambda rule, halves, brakes: halves * rule.percent.denominator > rule.percent.numerator * 2 * brakes,
    )
    assert is_found(strategies.files(), lambda file: list(promises.shares_are_counted(judged(file), file)))


def a_thin_lining() -> strategies.Fields:
    """A trailer of which one axle of three was read, and one lining is far too thin: fix, one brake of six counted."""
    file = strategies.a_file(b"", kinds=("trailer",), occasions=("service",), whole=True, plain=True)
    file["units"][0]["axles"] *= 3
    centre = strategies.readings_where(file, kind="lining", place="centre")
    return strategies.changed(file, centre[0], value="1/64 in")


THIN = a_thin_lining()


def tampered(assessment: Assessment, **changes: Any) -> Assessment:
    """An assessment whose first finding, a fix at a wheel end, says something else."""
    first, *rest = assessment.findings
    here = {name: changes.pop(name) for name in ("unit", "axle", "side") if name in changes}
    verdict = replace(first.verdict, **changes)
    return replace(assessment, findings=(Finding(verdict, **{**_place_of(first), **here}), *rest))


def _place_of(found: Finding) -> dict[str, Any]:
    return {"unit": found.unit, "axle": found.axle, "side": found.side}


COUNTS_ALONE = "us.roadside.stroke"
TAMPERINGS: list[tuple[Any, Callable[[Assessment], Assessment]]] = [
    (promises.outcomes_roll_up, lambda one: replace(one, outcome="good")),
    (promises.outcomes_roll_up, lambda one: replace(one, units=(replace(one.units[0], outcome="watch"),))),
    (promises.outcomes_roll_up, lambda one: tampered(one, outcome="hold")),
    (promises.outcomes_roll_up, lambda one: tampered(one, side="right")),
    (promises.outcomes_roll_up, lambda one: replace(one, combinations=(replace(one.combinations[0], outcome="good"),))),
    (promises.findings_are_in_order, lambda one: replace(one, findings=one.findings[::-1])),
    (promises.findings_have_proof, lambda one: tampered(one, rule=None)),
    (promises.holds_are_earned, lambda one: tampered(one, outcome="hold")),
    (promises.holds_are_earned, lambda one: tampered(one, outcome="hold", rule=COUNTS_ALONE)),
    (promises.excesses_are_exact, lambda one: tampered(one, excess=Quantity(Fraction(1), "in"))),
    (promises.excesses_are_exact, lambda one: tampered(one, excess=None)),
    (promises.excesses_are_exact, lambda one: tampered(one, measured=Quantity(Fraction(1, 64), "in", shown="1 in"))),
    (promises.excesses_are_exact, lambda one: tampered(one, outcome="good")),
    (promises.shares_are_counted, lambda one: replace(one, combinations=(replace(one.combinations[0], halves=0),))),
    (promises.shares_are_counted, lambda one: replace(one, combinations=(replace(one.combinations[0], brakes=99),))),
    (promises.sentences_are_whole, lambda one: tampered(one, limit=Quantity(Fraction(1), "in", shown="{limit}"))),
]


@pytest.mark.parametrize(("promise", "tamper"), TAMPERINGS)
def test_a_broken_promise_is_seen(promise, tamper):
    kept = judged(THIN)
    assert kept.findings[0].outcome == "fix"
    assert [end.halves for end in kept.combinations[0].counted] == [2]
    assert not list(promise(kept, THIN))
    assert list(promise(tamper(kept), THIN))


# ---- junk


def test_a_file_that_breaks_the_reader_is_caught(monkeypatch):
    def careless(text: str, *rest: Any, **named: Any) -> Any:
        return Fraction(text)

    monkeypatch.setattr(read, "read_quantity", careless)
    with pytest.raises(ValueError, match="literal"):
        judged_or_refused(json.dumps(strategies.a_file(b"")))
