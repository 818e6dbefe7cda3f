"""What a procedure is made of, as plain frozen records: steps, hazards, figures with their source, hold points."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from treadle.fleet.read import READING_KINDS
from treadle.measure import Quantity
from treadle.sources import Citation
from treadle.words import say

PHASES = ("make_safe", "find", "strip", "inspect", "rebuild", "refit", "lower", "prove", "after")
"""The phases of a job in the order of work."""

HOLD_KINDS = ("measurement", "confirm", "second_person", "torque", "note")
"""What a hold point may ask for."""

LUBRICATION_OPEN = "open"
"""The lubrication of a torque record whose source, as we have it, does not state one."""


class Sentence(NamedTuple):
    """A code of `treadle.words` with its arguments, which may be sentences themselves."""

    code: str
    arguments: Mapping[str, Any] = {}

    def says(self, language: str = "en") -> str:
        """Return the sentence in a language, with any sentence among its arguments in the same."""
        filled = {
            name: value.says(language) if isinstance(value, Sentence) else value
            for name, value in self.arguments.items()
        }
        return say(self.code, language, **filled)


@dataclass(frozen=True, slots=True)
class Hazard:
    """What can hurt someone at a step and how that is kept off, with where it is written."""

    key: str
    basis: str
    citations: tuple[Citation, ...] = ()

    @property
    def says(self) -> Sentence:
        """The hazard and its control, in one sentence or two."""
        return Sentence(f"procedure.hazard.{self.key}")


@dataclass(frozen=True, slots=True)
class Figure:
    """A number a step works by, with where it is from; `high` is None for a single number."""

    key: str
    low: Quantity
    high: Quantity | None
    citation: Citation
    basis: str

    @property
    def says(self) -> Sentence:
        """What the number is of, with the number."""
        return Sentence(f"procedure.figure.{self.key}", {"low": self.low, "high": self.high})


@dataclass(frozen=True, slots=True)
class TorqueRecord:
    """A wheel torque as one thing: the band, the lubrication it belongs to, and the paper both stand in.

    The clamp a torque gives hangs on the lubrication, so a band of one record never goes with the lubrication of
    another.  `lubrication` is a key, or ``open`` where the source we have states none.
    """

    key: str
    mounting: str
    fastener: str
    low: Quantity
    high: Quantity
    lubrication: str
    source: str
    basis: str

    @property
    def lubrication_says(self) -> Sentence:
        """The state of threads and seats the band belongs to."""
        return Sentence(f"procedure.lubrication.{self.lubrication}")

    @property
    def says(self) -> Sentence:
        """Band, fastener, lubrication and source in one breath."""
        arguments = {
            "low": self.low,
            "high": self.high,
            "fastener": self.fastener,
            "lubrication": self.lubrication_says,
            "source": self.source,
        }
        return Sentence("procedure.torque.record", arguments)

    @property
    def band_says(self) -> Sentence:
        """The band alone, for a column of a table that names the record beside it."""
        return Sentence("procedure.torque.band", {"low": self.low, "high": self.high})


@dataclass(frozen=True, slots=True)
class Measurement:
    """Something a hold point wants measured or looked at; whether it passes is for the judge to say.

    `count` readings are wanted, of different shoes where `parts_differ`.  Only what no rule judges, the system
    pressure before spring brakes are released, carries its own `at_least`.
    """

    key: str
    kind: str
    dimension: str | None
    count: int = 1
    parts_differ: bool = False
    place: str | None = None
    state: str | None = None
    side: str | None = None
    at_least: Figure | None = None
    kept: bool = False
    """Whether it says how things were found or on the way, and so stays with the step and proves nothing."""

    @property
    def is_reading(self) -> bool:
        """Whether it is a reading of the after-work walk-around, and not only of the step."""
        return self.kind in READING_KINDS and not self.kept

    @property
    def says(self) -> Sentence:
        """What is to be measured, as a label."""
        return Sentence(f"procedure.measurement.{self.key}")


@dataclass(frozen=True, slots=True)
class Hold:
    """A point the work does not pass until what it asks for is there."""

    kinds: tuple[str, ...]
    confirm: Sentence | None = None
    measurements: tuple[Measurement, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StepPlan:
    """A step as a procedure has it, before it is known which axle it is for.

    One that `goes_round` is done at every end before anything else is done at any.  `when` names facts and the words
    under which the step belongs to the work; ``unknown`` is one of the words.
    """

    key: str
    like: str
    """The step that says why, what good looks like and what if not; mostly itself."""
    phase: str
    each_end: bool
    goes_round: bool
    when: Mapping[str, tuple[str, ...]]
    tools: tuple[str, ...]
    hazards: tuple[Hazard, ...]
    figures: tuple[Figure, ...]
    hold_kinds: tuple[str, ...]
    measurements: tuple[Measurement, ...]
    shows_order: bool
    shows_torque: bool


@dataclass(frozen=True, slots=True)
class Procedure:
    """A kind of job: its cautions and its steps in the order of work."""

    key: str
    cautions: tuple[Sentence, ...]
    plans: tuple[StepPlan, ...]

    @property
    def title(self) -> Sentence:
        """The name of the job."""
        return Sentence(f"procedure.title.{self.key}")

    @property
    def does(self) -> Sentence:
        """What is done, in one sentence."""
        return Sentence(f"procedure.does.{self.key}")

    @property
    def wheels_off(self) -> bool:
        """Whether wheels come off, so that the axle is lifted and nuts are torqued."""
        return any(plan.shows_torque for plan in self.plans)

    @property
    def proves(self) -> bool:
        """Whether the work ends in a proof; finding a cause repairs nothing and proves nothing."""
        return any(plan.phase == "prove" for plan in self.plans)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A step of one job on one axle; `side` is None where it is done once for the axle or the unit."""

    number: int
    key: str
    like: str
    phase: str
    side: str | None
    arguments: Mapping[str, Any] = field(default_factory=dict)
    tools: tuple[Sentence, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    figures: tuple[Figure, ...] = ()
    torque: tuple[TorqueRecord, ...] = ()
    order: tuple[int, ...] = ()
    hold: Hold | None = None

    @property
    def id(self) -> str:
        """The step among those of its job: the key, and the side where there is one."""
        return self.key if self.side is None else f"{self.key}/{self.side}"

    @property
    def phase_title(self) -> Sentence:
        """The name of the phase."""
        return Sentence(f"procedure.phase.{self.phase}")

    @property
    def action(self) -> Sentence:
        """What to do."""
        return Sentence(f"procedure.{self.key}.action", self.arguments)

    @property
    def purpose(self) -> Sentence:
        """Why it is done."""
        return Sentence(f"procedure.{self.like}.purpose", self.arguments)

    @property
    def good(self) -> Sentence:
        """What good looks like."""
        return Sentence(f"procedure.{self.like}.good", self.arguments)

    @property
    def otherwise(self) -> Sentence:
        """What to do if it is not so."""
        return Sentence(f"procedure.{self.like}.otherwise", self.arguments)
