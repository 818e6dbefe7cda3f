"""What a rule is: its dated values with their proof, what it applies to, how it compares.  Nothing is judged here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from treadle.measure import UNITS, Quantity
from treadle.sources import Citation

LAYERS: tuple[str, ...] = ("operate", "periodic", "roadside", "practice", "policy", "build", "records")
OUTCOMES: tuple[str, ...] = ("hold", "fix", "unseen", "watch", "good")
"""Outcomes of a judgement, worst first."""
BASES: tuple[str, ...] = ("found", "secondary", "derived", "chosen", "practice", "memory")
"""How a figure is known, surest first."""
COMPARATORS: tuple[str, ...] = (
    "breach_if_more_than",
    "breach_if_more_than_or_equal",
    "breach_if_less_than",
    "breach_if_less_than_or_equal",
    "breach_if_one_of",
    "breach_if_different",
    "breach_if_seen",
)
EVERYWHERE = "trade"
"""The jurisdiction of what the trade does everywhere; it speaks wherever a unit runs."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A limit as printed, in one or both unit systems; each is a limit of its own for readings in that system."""

    customary: Quantity | None = None
    metric: Quantity | None = None

    def beside(self, unit: str) -> Quantity:
        """Return the printed figure a reading in `unit` must meet: the one of its own system, else the other."""
        own, other = (self.metric, self.customary) if UNITS[unit].metric else (self.customary, self.metric)
        figure = own or other
        assert figure is not None  # noqa: S101 - the loader refuses a figure with neither
        return figure


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a rule's table: the figure, for what it holds (`when`), and how it is known."""

    when: Mapping[str, Any]
    figure: Figure | None
    basis: str
    as_printed: str


@dataclass(frozen=True, slots=True)
class Value:
    """What a rule said from one day to the next value or its end."""

    effective_from: date
    ends: date | None
    citation: Citation
    also: tuple[Citation, ...]
    basis: str
    rows: tuple[Row, ...]
    unconfirmed_from: date | None = None
    """The day from which nobody has seen that this still holds."""
    enacted_by: Citation | None = None
    published: date | None = None
    checked: tuple[tuple[date, str, str], ...] = ()
    """Our own reading trail: the day, who read it, and the copy."""

    @property
    def cited(self) -> str:
        """The citation as people read it, with any second provision behind it."""
        return "; ".join(str(citation) for citation in (self.citation, *self.also))


@dataclass(frozen=True, slots=True)
class Window:
    """The circumstances a rule asks of a measurement."""

    reservoir: tuple[Quantity, Quantity] | None = None
    engine: str | None = None
    spring_brakes: str | None = None


@dataclass(frozen=True, slots=True)
class Either:
    """A second measurement that satisfies a rule in place of its own; one alone under its figure is a watch."""

    quantity: str
    comparator: str
    figure: Figure


@dataclass(frozen=True, slots=True)
class Rule:
    """One provision.  `id` is the path of its file.

    `then` is the outcome of a breach in the rule's own layer.  `counts` says what a breach adds to the share of
    defective brakes ("whole", "by_excess" for a stroke, or nothing); `alone` on which axle a breach is out of service
    by itself ("any", "steering", or none).  `figure_from` names a fact of the wheel end that holds the maker's
    figure, `percent` of it, with `plus` added, is the limit; `or_figure_from` a second such figure, both binding.
    """

    id: str
    label: Mapping[str, str]
    quantity: str
    comparator: str
    layer: str
    then: str
    values: tuple[Value, ...]
    applies: Mapping[str, Any] = field(default_factory=dict)
    place: str | None = None
    state: str | None = None
    words: tuple[str, ...] = ()
    compares: str | None = None
    window: Window = Window()
    over: tuple[Quantity, Quantity] | None = None
    rpm_at_most: int | None = None
    least_of_half: str | None = None
    either: Either | None = None
    counts: str | None = None
    alone: str | None = None
    figure_from: str | None = None
    percent: Fraction | None = None
    plus: Quantity | None = None
    or_figure_from: str | None = None
    unless_listed_in: str | None = None
    jurisdiction: str = field(init=False)
    """Where it is the law: the first step of its id."""

    def __post_init__(self) -> None:
        """Read the jurisdiction off the id."""
        object.__setattr__(self, "jurisdiction", self.id.partition(".")[0])

    def in_force(self, on: date) -> Value | None:
        """Return the value in force on a day, or None on a day before, between or after its values."""
        for value in reversed(self.values):
            if value.effective_from <= on:
                return None if value.ends is not None and on >= value.ends else value
        return None


@dataclass(frozen=True, slots=True)
class Condition:
    """An entry of the published list of things seen.

    `part` says what it is about: brake, wheel or air.  `breaches` lists the rules that forbid it, layer by layer;
    each rule says what a breach does, and whether it counts whole in the roadside share or stands alone.  `brakes` and
    `spring_brake` say where it can be seen at all: a drum brake has no rotor to crack.
    """

    name: str
    part: str
    label: Mapping[str, str]
    breaches: tuple[str, ...]
    brakes: tuple[str, ...] = ()
    spring_brake: bool = False

    def can_be_at(self, brake: str, *, spring_brake: bool | None) -> bool:
        """Whether it can be seen at a wheel end; where the record does not say what is there, it can.

        Parameters
        ----------
        brake : str
            The brake there, as the walk-around file names it.
        spring_brake : bool or None
            Whether there is a spring brake; None if nobody wrote it down.
        """
        return (not self.brakes or brake in self.brakes) and (not self.spring_brake or spring_brake is not False)


@dataclass(frozen=True, slots=True, eq=False)
class RuleSet:
    """Every rule and condition, and the edition: a hash over the files they came from."""

    rules: Mapping[str, Rule]
    conditions: Mapping[str, Condition]
    edition: str

    @property
    def jurisdictions(self) -> frozenset[str]:
        """Every place whose rules are held."""
        return frozenset(rule.jurisdiction for rule in self.rules.values()) - {EVERYWHERE}
