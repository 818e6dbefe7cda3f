"""What the simulation gives: plain frozen records, in the words of the walk-around file, knowing no database."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from demo.carrier import UnitPlan


@dataclass(frozen=True, slots=True)
class Part:
    """A part fitted at a place, from a moment to a moment; `fitted_in` is empty for what stood there at the start."""

    unit: str
    axle: int
    side: str
    slot: str
    spec: dict[str, Any]
    lot: str
    fitted_at: datetime
    fitted_meter: str
    fitted_in: str = ""
    removed_at: datetime | None = None
    removed_meter: str = ""
    removed_in: str = ""
    removed_why: str = ""


@dataclass(frozen=True, slots=True)
class Shown:
    """What a meter showed."""

    at: datetime
    reading: str
    by: str


@dataclass(frozen=True, slots=True)
class MeterSegment:
    """A run of a meter, with what it showed in between."""

    unit: str
    kind: str
    measure: str
    began_at: datetime
    began_reading: str
    readings: tuple[Shown, ...]
    ended_at: datetime | None = None
    ended_reading: str = ""
    ended_why: str = ""


@dataclass(frozen=True, slots=True)
class Coupling:
    """Which unit pulled which."""

    towing: str
    towed: str
    coupled_at: datetime
    uncoupled_at: datetime | None
    by: str


@dataclass(frozen=True, slots=True)
class WalkAround:
    """One going-round; `file` is it as walkaround/1."""

    id: UUID
    begun_at: datetime
    finished_at: datetime
    by: str
    file: dict[str, Any]
    for_job: str = ""
    is_part: bool = False
    """Whether it looked at some wheel ends only: the strokes of a re-check."""

    @property
    def occasion(self) -> str:
        """What it was for."""
        return str(self.file["occasion"])

    @property
    def units(self) -> tuple[str, ...]:
        """The units walked, from the front."""
        return tuple(unit["number"] for unit in self.file["units"])


@dataclass(frozen=True, slots=True)
class Task:
    """One procedure of a job on one axle, for which reason."""

    procedure: str
    axle: int
    sides: tuple[str, ...]
    why: str
    found: tuple[str, ...] = ()
    """For finding the cause of a long stroke: as found, free stroke, measured again."""


WHEELS_OFF = frozenset({"scam_reline", "drum_replacement"})
"""Procedures that take the wheels off, so that nuts are checked again after the first miles."""


@dataclass(frozen=True, slots=True)
class Job:
    """Work on one unit; moments that have not come are None."""

    number: str
    unit: str
    tasks: tuple[Task, ...]
    from_walk_around: UUID
    proposed_at: datetime
    proposed_by: str
    hands: tuple[str, ...]
    bay: str
    state: str
    accepted_at: datetime | None = None
    begun_at: datetime | None = None
    released_at: datetime | None = None
    proof: UUID | None = None

    @property
    def wheels_off(self) -> tuple[tuple[int, str], ...]:
        """The ends whose wheels came off."""
        return tuple(
            sorted({(task.axle, side) for task in self.tasks if task.procedure in WHEELS_OFF for side in task.sides})
        )


@dataclass(frozen=True, slots=True)
class ReCheck:
    """A re-check after a job: due between two distances and by a day; `done_at` is None while it waits."""

    job: str
    unit: str
    ends: tuple[tuple[int, str], ...]
    strokes: bool
    set_at: datetime
    due_from: str
    due_by: str
    due_on: str
    done_at: datetime | None = None
    done_by: str = ""
    outside_shop: str = ""
    meter: str = ""
    moved: int = 0
    """How many nuts turned before they came to torque."""
    walk_around: UUID | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """What was done about a driver's report: repaired, not_needed or reviewed."""

    what: str
    said: str
    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class DriverReport:
    """What a driver reported; unanswered while `answers` is empty."""

    id: UUID
    unit: str
    at: datetime
    by: str
    where: str
    meter: str
    said: str
    axle: int | None = None
    side: str = ""
    condition: str = ""
    answers: tuple[Answer, ...] = ()


@dataclass(frozen=True, slots=True)
class History:
    """All of one pool: vehicles that share tractors and trailers, and nothing with another pool."""

    pool: int
    began_at: datetime
    now: datetime
    units: tuple[UnitPlan, ...]
    parts: tuple[Part, ...]
    meters: tuple[MeterSegment, ...]
    couplings: tuple[Coupling, ...]
    walk_arounds: tuple[WalkAround, ...]
    jobs: tuple[Job, ...]
    re_checks: tuple[ReCheck, ...]
    reports: tuple[DriverReport, ...]
    coupled_now: tuple[tuple[str, ...], ...] = field(default=())
    """Combinations as they stand at the end, from the front."""
