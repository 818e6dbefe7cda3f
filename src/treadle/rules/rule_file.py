"""How a rule or condition stands in its file; `rules.load` turns it into a record."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Outcome = Literal["hold", "fix", "watch"]
Basis = Literal["found", "secondary", "derived", "chosen", "practice", "memory"]
_LimitComparator = Literal[
    "breach_if_more_than",
    "breach_if_more_than_or_equal",
    "breach_if_less_than",
    "breach_if_less_than_or_equal",
]

_Brake = Literal["air_drum", "air_disc", "air_wedge", "hydraulic_drum", "hydraulic_disc", "electric"]

Pair = Annotated[list[str], Field(min_length=2, max_length=2)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class FigureEntry(_Strict):
    """A figure in one unit system."""

    value: str | int | Decimal
    unit: str


class CitationEntry(_Strict):
    """A further provision behind a value."""

    source: str
    locator: str


class EnactedBy(_Strict):
    """The act that brought a value in, and the day it was published."""

    source: str
    published: date


class Checked(_Strict):
    """Who read the text, when, in which copy."""

    on: date
    by: str
    copy_: str = Field(alias="copy")


class RowEntry(_Strict):
    """One line of a table."""

    when: dict[str, Any] = {}
    as_printed: str
    metric: FigureEntry | None = None
    customary: FigureEntry | None = None
    basis: Basis | None = None


class ValueEntry(_Strict):
    """What a rule says from one day on."""

    as_printed: str
    metric: FigureEntry | None = None
    customary: FigureEntry | None = None
    basis: Basis | None = None
    source: str
    locator: str
    also: list[CitationEntry] = []
    effective_from: date
    ends: date | None = None
    unconfirmed_from: date | None = None
    enacted_by: EnactedBy | None = None
    checked: list[Checked] = []
    row: list[RowEntry] = []


class WindowEntry(_Strict):
    """The circumstances of a measurement."""

    reservoir: Pair | None = None
    engine: Literal["off"] | None = None
    spring_brakes: Literal["released"] | None = None


class EitherEntry(_Strict):
    """A second measurement that satisfies a rule in place of its own."""

    quantity: str
    comparator: _LimitComparator
    metric: FigureEntry | None = None
    customary: FigureEntry | None = None


class Label(_Strict):
    """What a rule or condition is about, in each language."""

    en: str
    es: str


class RuleFile(_Strict):
    """A rule."""

    label: Label
    quantity: str
    place: Literal["centre", "thinnest"] | None = None
    state: Literal["released", "applied"] | None = None
    comparator: _LimitComparator | Literal["breach_if_one_of", "breach_if_different", "breach_if_seen"]
    words: list[str] = []
    compares: Literal["chamber_type", "arm", "lining_type", "stroke_class"] | None = None
    applies: dict[str, Any] = {}
    layer: Literal["operate", "roadside", "periodic", "build", "practice", "records"]
    then: Outcome
    basis: Basis
    needs: WindowEntry = WindowEntry()
    over: Pair | None = None
    rpm_at_most: int | None = None
    least_of_half: str | None = None
    either: EitherEntry | None = None
    counts: Literal["whole", "by_excess"] | None = None
    alone: Literal["any", "steering"] | None = None
    figure_from: str | None = None
    percent: int | None = None
    plus: str | None = None
    or_figure_from: str | None = None
    unless_listed_in: str | None = None
    same_limit_as: str | None = None
    value: list[ValueEntry] = Field(min_length=1)


class ConditionFile(_Strict):
    """An entry of the published list of things seen."""

    label: Label
    part: Literal["brake", "wheel", "air", "none"]
    brakes: list[_Brake] = []
    """The brakes it can be seen at; left out: any."""
    spring_brake: bool = False
    """Whether it can only be seen where there is a spring brake."""
    breaches: list[str] = []


APPLIES = frozenset(
    {
        "kind",
        "power_unit",
        "role",
        "steering",
        "brake",
        "lining_form",
        "lining_attachment",
        "design",
        "type",
        "stroke_class",
        "rated_stroke",
        "spring_brake",
        "wear_mark",
        "air_braked",
        "units_coupled",
        "units_coupled_from",
        "built_from",
        "built_before",
    }
)
"""What `applies` and `when` may ask about."""
