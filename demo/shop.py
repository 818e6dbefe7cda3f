"""What the simulated shop does with what it finds: the work a walk-around asks for, and what each work changes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from fractions import Fraction
from functools import cache
from random import Random
from typing import Any

from demo import wear
from demo.carrier import Spec
from demo.records import Part, Task
from demo.walks import SIDES, Vehicle

RELINE_AT = 9
"""The shop relines an axle at this many 32nds or fewer. (chosen, a little above the 1/4 in of 49 CFR 393.47)"""
NO_LESS = {"steer": 6}
"""Fewer 32nds than this is a defect: 3/16 in on a steering axle, else 1/4 in. (found: 49 CFR 393.47(d))"""
NEWER_LINING = {"Larch 20": "Alder 20", "Larch 23": "Alder 23"}
"""The lining type the shop tries on some axles from the middle of the history on."""


@dataclass(frozen=True, slots=True)
class Thresholds:
    """From when on the shop does something; the strict ones leave a unit without anything to watch."""

    reline_at: int = RELINE_AT
    stroke_before_limit: int = 0
    """Sixteenths before the limit at which a stroke is looked into."""
    any_condition: bool = False


STRICT = Thresholds(reline_at=16, stroke_before_limit=5, any_condition=True)


@dataclass(frozen=True, slots=True)
class Wanted:
    """The work a unit needs, and whether it may not go before it is done."""

    tasks: tuple[Task, ...]
    must: bool


def wanted(
    vehicle: Vehicle,
    readings: Iterable[dict[str, Any]],
    thresholds: Thresholds,
    *,
    leave_alone: Iterable[tuple[int, str]] = (),
) -> Wanted:
    """Return the work that the readings of a unit ask for, axles from the front; some ends may be left alone."""
    alone = set(leave_alone)
    linings: dict[tuple[int, str, str], int] = {}
    strokes: dict[tuple[int, str], int] = {}
    seen: set[tuple[int, str, str]] = set()
    for reading in readings:
        if reading["unit"] != vehicle.number or "axle" not in reading:
            continue
        axle, side, kind = reading["axle"], reading["side"], reading["kind"]
        if vehicle.ends[axle, side].brake != "air_drum" or (axle, side) in alone:
            continue
        if kind == "lining":
            linings[axle, side, reading["shoe"]] = steps(reading["value"], 32)  # of two the later stands
        elif kind == "applied_stroke":
            strokes[axle, side] = steps(reading["value"], 16)  # here too
        elif kind == "condition":
            seen.add((axle, side, reading["value"]))
    return _work(vehicle, thresholds, linings=linings, strokes=strokes, seen=seen)


def _work(
    vehicle: Vehicle,
    thresholds: Thresholds,
    *,
    linings: dict[tuple[int, str, str], int],
    strokes: dict[tuple[int, str], int],
    seen: set[tuple[int, str, str]],
) -> Wanted:
    plan, ends = vehicle.plan, vehicle.ends
    tasks: list[Task] = []
    must = False
    lining_conditions = {"rust_jacking", "oil_at_edge"} if thresholds.any_condition else {"rust_jacking"}
    for axle in range(1, len(plan.axles) + 1):
        for side in SIDES:
            stroke, limit = strokes.get((axle, side), 0), round(ends[axle, side].limit * 16)
            if stroke > limit - thresholds.stroke_before_limit:
                must |= stroke > limit
                tasks.append(Task("find_overstroke_cause", axle, (side,), "applied_stroke"))
                tasks.append(Task("adjuster_replacement", axle, (side,), "applied_stroke"))
            if (axle, side, "chamber_leak") in seen:
                must = True
                tasks.append(Task("chamber_replacement", axle, (side,), "chamber_leak"))
        conditions = {condition for at, _, condition in seen if at == axle}
        left = min((read for (at, _, _), read in linings.items() if at == axle), default=99)
        if left <= thresholds.reline_at or conditions & lining_conditions:
            must |= left < NO_LESS.get(plan.axles[axle - 1].role, 8)
            why = "lining" if left <= thresholds.reline_at else min(conditions & lining_conditions)
            tasks.append(Task("scam_reline", axle, SIDES, why))
        if thresholds.any_condition and "drum_heat_checked" in conditions:
            tasks.append(Task("drum_replacement", axle, SIDES, "drum_heat_checked"))
    return Wanted(tuple(tasks), must)


@cache
def steps(text: str, division: int) -> int:
    """Return a length in inches as steps of a rule.

    >>> steps("1 13/16 in", 16), steps("9/32 in", 32)
    (29, 9)
    """
    return int(sum(Fraction(part) for part in text.removesuffix(" in").split()) * division)


# -- fitted parts


@dataclass(slots=True)
class Fitted:
    """All parts of a pool: those fitted now by place, and those taken off."""

    now: dict[tuple[str, int, str, str], Part] = field(default_factory=dict)
    taken_off: list[Part] = field(default_factory=list)

    def fit(self, part: Part, *, why: str = "") -> None:
        """Fit a part; the one that was there is taken off at the same moment."""
        key = (part.unit, part.axle, part.side, part.slot)
        old = self.now.get(key)
        if old is not None:
            self.taken_off.append(
                replace(
                    old,
                    removed_at=part.fitted_at,
                    removed_meter=part.fitted_meter,
                    removed_in=part.fitted_in,
                    removed_why=why,
                )
            )
        self.now[key] = part

    def all(self) -> tuple[Part, ...]:
        """Return every part there ever was, in order of place and time."""
        return tuple(
            sorted(
                [*self.taken_off, *self.now.values()],
                key=lambda part: (part.unit, part.axle, part.side, part.slot, part.fitted_at),
            )
        )


def lot(rng: Random, prefix: str, at: datetime) -> str:
    """Return an invented lot code of the parts bought about that time."""
    return f"{prefix}{at:%y%m}-{rng.randint(1, 4)}"


@dataclass(frozen=True, slots=True)
class Bench:
    """What the bay works with on one job: the moment, the meter, the job's number."""

    vehicle: Vehicle
    fitted: Fitted
    at: datetime
    meter: str
    job: str
    rng: Random
    tries_newer: bool

    def do(self, task: Task) -> None:
        """Do one task: change the parts it changes, and the state with them."""
        match task.procedure:
            case "scam_reline":
                self._reline(task.axle, task.why)
            case "adjuster_replacement":
                for side in task.sides:
                    self._new(task.axle, side, "adjuster", "A", "did not hold its stroke")
                    wear.fit_adjuster(self.vehicle.ends[task.axle, side], self.rng)
            case "chamber_replacement":
                for side in task.sides:
                    self._new(task.axle, side, "chamber", "C", "leaked")
                    end = self.vehicle.ends[task.axle, side]
                    end.conditions = [one for one in end.conditions if one != "chamber_leak"]
            case "drum_replacement":
                self._drums(task.axle, "heat checked")

    def _reline(self, axle: int, why: str) -> None:
        spec = self.vehicle.linings[axle]
        if self.tries_newer and spec["lining_type"] in NEWER_LINING:
            spec = {**spec, "lining_type": NEWER_LINING[spec["lining_type"]]}
        self.vehicle.linings[axle] = spec
        self.vehicle.entry = {}
        reason = {"lining": "worn", "rust_jacking": "rust-jacking", "oil_at_edge": "oil"}[why]
        number, kit = lot(self.rng, "L", self.at), lot(self.rng, "H", self.at)
        for side in SIDES:
            self._new(axle, side, "lining", "L", reason, spec=spec, number=number)
            self._new(axle, side, "hardware", "H", "reline", number=kit)
            end = self.vehicle.ends[axle, side]
            wear.fit_lining(end, self.rng)
            end.free = self.rng.uniform(*wear.FREE_STROKE)
            end.slack = 0.0  # set up anew with the lining; an adjuster that lets go will do so again
        if max(self.vehicle.ends[axle, side].drum_over for side in SIDES) > wear.NEW_DRUM_AT:
            self._drums(axle, "worn")

    def _drums(self, axle: int, why: str) -> None:
        """Put new drums on both ends of an axle: they are replaced in pairs (found)."""
        number = lot(self.rng, "D", self.at)
        for side in SIDES:
            self._new(axle, side, "drum", "D", why, number=number)
            wear.fit_drum(self.vehicle.ends[axle, side])

    def _new(
        self, axle: int, side: str, slot: str, prefix: str, why: str, *, spec: Spec | None = None, number: str = ""
    ) -> None:
        old = self.fitted.now[self.vehicle.number, axle, side, slot]
        part = replace(
            old,
            spec=spec or old.spec,
            lot=number or lot(self.rng, prefix, self.at),
            fitted_at=self.at,
            fitted_meter=self.meter,
            fitted_in=self.job,
        )
        self.fitted.fit(part, why=why)
