"""Which limits apply at a wheel end or unit on a day: rules resolved against facts, doubt kept as alternatives."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from treadle.assess.facts import CHOICES, Facts, unknown_in
from treadle.measure import Quantity
from treadle.rules.compare import is_limit
from treadle.rules.model import EVERYWHERE, Figure, Row, Rule, RuleSet, Value


@dataclass(frozen=True, slots=True)
class Candidate:
    """One figure, or two binding together, that a rule may set here; without figures the maker's is not known."""

    rule: Rule
    value: Value
    figures: tuple[Figure, ...]
    basis: str


@dataclass(frozen=True, slots=True)
class Group:
    """The alternatives of which one holds here; `unknown` names the facts that would say which.

    With `maybe_none` it is also possible that no rule of the group applies.
    """

    candidates: tuple[Candidate, ...]
    unknown: frozenset[str] = frozenset()
    maybe_none: bool = False

    @property
    def rule(self) -> Rule:
        """The rule, or the first of the alternatives."""
        return self.candidates[0].rule

    @property
    def in_doubt(self) -> bool:
        """Whether a fact is missing that decides between different figures."""
        figures = {candidate.figures for candidate in self.candidates}
        return self.maybe_none or (bool(self.unknown) and len(figures) > 1)


@dataclass(frozen=True, slots=True)
class Limits:
    """Everything the rules say about one kind of reading at one place on one day."""

    groups: tuple[Group, ...]
    silent: tuple[str, ...]
    """Jurisdictions the unit runs in whose rules do not speak of this kind here."""
    too_early: bool
    """Whether rules speak of it, but none was in force on the day."""
    known_at_all: bool
    """Whether any rule of any place speaks of this kind of reading."""


def limits_for(
    quantity: str,
    rules: Iterable[Rule],
    *,
    rule_set: RuleSet,
    on: date,
    runs_in: tuple[str, ...],
    facts: Facts,
    part_figures: Mapping[str, Quantity | None],
) -> Limits:
    """Resolve every rule on a kind of reading.

    Parameters
    ----------
    quantity : str
        The kind of reading, as a rule names it.
    rules : iterable of Rule
        Rules to look through: the rule set's, and the shop's policy as rules.
    rule_set : RuleSet
        Where a rule that yields to another's table finds it.
    on : date
        The day judged.
    runs_in : tuple of str
        Jurisdictions of the unit.
    facts : mapping
        What is known of the place.
    part_figures : mapping
        Makers' figures by the name a rule uses: ``drum.discard``, ``chamber.rated_stroke``.
    """
    certain: list[Group] = []
    doubtful: dict[tuple[str, ...], list[tuple[Candidate, frozenset[str]]]] = {}
    speaking: set[str] = set()
    too_early = known_at_all = False
    for rule in rules:
        if rule.quantity != quantity:
            continue
        known_at_all = True
        if rule.jurisdiction not in (*runs_in, EVERYWHERE, "shop"):
            continue
        unknown = unknown_in(rule.applies, facts)
        if unknown is None or _yields(rule, rule_set, on, facts):
            continue
        value = rule.in_force(on)
        if value is None:
            too_early = True
            continue
        rows = matching_rows(value, facts)
        if not rows:
            continue
        if rule.layer != "policy":
            speaking.add(rule.jurisdiction)
        candidates = tuple(_candidate(rule, value, row, part_figures) for row, _ in rows)
        row_unknown = frozenset().union(*(names for _, names in rows)) if len(rows) > 1 else frozenset()
        if not unknown:
            certain.append(Group(candidates, row_unknown))
        else:
            key = (rule.jurisdiction, rule.layer, rule.place or "", rule.comparator)
            doubtful.setdefault(key, []).extend((candidate, unknown | row_unknown) for candidate in candidates)
    groups = certain + [_alternatives(entries) for entries in doubtful.values()]
    silent = () if EVERYWHERE in speaking else tuple(place for place in runs_in if place not in speaking)
    return Limits(tuple(groups), silent, too_early and not groups, known_at_all)


def _alternatives(entries: list[tuple[Candidate, frozenset[str]]]) -> Group:
    unknown = frozenset().union(*(names for _, names in entries))
    return Group(tuple(candidate for candidate, _ in entries), unknown, maybe_none=bool(unknown - CHOICES))


def _yields(rule: Rule, rule_set: RuleSet, on: date, facts: Facts) -> bool:
    """Whether another rule's table lists what this rule speaks of only when unlisted."""
    if rule.unless_listed_in is None:
        return False
    table = rule_set.rules[rule.unless_listed_in]
    value = table.in_force(on)
    return value is not None and unknown_in(table.applies, facts) is not None and bool(matching_rows(value, facts))


def matching_rows(value: Value, facts: Facts) -> list[tuple[Row, frozenset[str]]]:
    """Return the rows of a table that hold, or may hold, with the unknown facts each depends on.

    A chamber whose stated class and rated stroke contradict each other may be any of its type.
    """
    size = facts.get("type")
    of_size = [row for row in value.rows if size is None or size in row.when.get("type", (size,))]
    rows = [(row, unknown) for row in of_size if (unknown := unknown_in(row.when, facts)) is not None]
    if rows or size is None:
        return rows
    doubted = {**facts, "stroke_class": None, "rated_stroke": None}
    return [(row, unknown) for row in of_size if (unknown := unknown_in(row.when, doubted)) is not None]


def _candidate(rule: Rule, value: Value, row: Row, part_figures: Mapping[str, Quantity | None]) -> Candidate:
    if not is_limit(rule.comparator) or row.figure is not None:
        return Candidate(rule, value, (row.figure,) if row.figure else (), row.basis)
    figures = []
    for name, percent in ((rule.figure_from, rule.percent), (rule.or_figure_from, None)):
        size = part_figures.get(name) if name else None
        if size is not None:
            figures.append(Figure(customary=_derived(size, percent, rule.plus)))
    return Candidate(rule, value, tuple(figures), row.basis)


def _derived(size: Quantity, percent: Fraction | None, plus: Quantity | None) -> Quantity:
    """Return a maker's figure, a part of it, or it with something added, in the unit of what is added."""
    if percent is not None:
        size = Quantity(size.value * percent, size.unit)
    return size if plus is None else Quantity(size.in_unit(plus.unit) + plus.value, plus.unit)
