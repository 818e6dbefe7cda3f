"""What is proposed for one unit, as plain frozen records."""

from __future__ import annotations

from dataclasses import dataclass

from treadle.assess import Finding
from treadle.planning.hours import Hours
from treadle.procedures import Hazard, Sentence
from treadle.sources import Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One procedure on one axle, with the findings that ask for it.

    `must` is False where nothing but opportunity speaks for it: a limit that is near, the annual, an axle that is open
    anyway.  `mate_sides` are ends done only because the axle is done as a pair.
    """

    procedure: str
    unit: str
    axle: int
    sides: tuple[str, ...]
    must: bool
    because: tuple[Finding, ...]
    hours: Hours
    mate_sides: tuple[str, ...] = ()
    notes: tuple[Sentence, ...] = ()

    @property
    def id(self) -> str:
        """The task among those of its proposal."""
        return f"{self.procedure}/{self.axle}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part to have ready; `quantity` None is as found, and not `certain` is only if the work shows the need."""

    key: str
    axle: int
    sides: tuple[str, ...]
    quantity: int | None
    rule: Sentence
    certain: bool
    opportunistic: bool
    basis: str
    citation: Citation | None = None

    @property
    def says(self) -> Sentence:
        """What the part is."""
        return Sentence(f"planning.part.{self.key}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """Everything proposed for a unit; what is not good stands in one of the lists, and nothing is dropped."""

    unit: str
    tasks: tuple[Task, ...]
    measure_first: tuple[Finding, ...]
    look_and_repair: tuple[Finding, ...]
    keep_watching: tuple[Finding, ...]
    by_hand: tuple[Finding, ...]
    parts: tuple[Part, ...]
    tools: tuple[Sentence, ...]
    lifting: tuple[Sentence, ...]
    hazards: tuple[Hazard, ...]
    needs: tuple[Sentence, ...]
    cautions: tuple[Sentence, ...]
