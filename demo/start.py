"""How the simulation begins: vehicles with worn brakes, the parts they came with; and how its records are closed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

from demo import wear
from demo.carrier import UnitPlan
from demo.people import OUTSIDE_SHOP
from demo.records import Job, Part, ReCheck
from demo.walks import SIDES, Vehicle

ODOMETER_REPLACED = 351_900
"""What the odometer showed at the start that is replaced with the instrument panel: K-8's."""
HUB_STOPS = 97_505
"""What the hub odometer showed at the start that stops: T-4's."""
TRAILER_MILES_A_WEEK = 600
"""To date the parts of a trailer at the start. (chosen)"""


def vehicle(plan: UnitPlan, rng: Random) -> Vehicle:
    """Return a vehicle as the history finds it: linings, drums and adjusters part of the way through their lives."""
    unit_spread = rng.gauss(0, wear.SPREAD["unit"])
    ends = {}
    for number, axle in enumerate(plan.axles, start=1):
        axle_spread = unit_spread + rng.gauss(0, wear.SPREAD["axle"])
        disc = axle.brake == "air_disc"
        used = rng.uniform(0.05, 0.75)
        for side in SIDES:
            end = _end(plan, number, rng, disc=disc, spread=axle_spread)
            wear.fit_lining(end, rng, end.new - used * rng.uniform(0.9, 1.1) * (end.new - 0.25))
            end.drum_over = used * 0.045 + rng.choice((0.0, 0.045))
            wear.fit_adjuster(end, rng)
            ends[number, side] = end
    linings = {number: axle.fitted["lining"] for number, axle in enumerate(plan.axles, start=1)}
    return Vehicle(plan, ends, linings)


def _end(plan: UnitPlan, number: int, rng: Random, *, disc: bool, spread: float) -> wear.End:
    axle = plan.axles[number - 1]
    chamber, arm = axle.fitted["chamber"], axle.fitted["adjuster"].get("arm", "5.5 in")
    return wear.End(
        brake=axle.brake,
        new=19 / 25.4 if disc else _inches(axle.fitted["lining"]["new_thickness"]),
        rate=wear.rate_of(rng, duty=plan.duty, role=axle.role, disc=disc, spread=spread),
        area=float(chamber["type"]),
        rated=_inches(chamber.get("rated_stroke", "2.5 in")),
        gain=wear.GAIN[arm],
    )


def _inches(text: str) -> float:
    """Return a size in inches.

    >>> _inches("5/8 in"), _inches("2.25 in")
    (0.625, 2.25)
    """
    over, _, under = text.removesuffix(" in").partition("/")
    return float(over) / float(under or 1)


def parts(unit: Vehicle, begin: datetime, rng: Random) -> Iterator[Part]:
    """Give the parts a vehicle came with; linings and drums since about as long as their wear took.

    What was fitted before the history begins has no meter reading and no job.
    """
    plan = unit.plan
    year, month = (int(part) for part in plan.built.split("-"))
    in_service = min(begin.replace(year=year, month=month, day=20), begin)
    weekly = plan.miles_a_week or TRAILER_MILES_A_WEEK
    for number, axle in enumerate(plan.axles, start=1):
        end = unit.ends[number, "left"]
        weeks = (end.new - end.thinnest) / end.rate / weekly
        since = max(begin - timedelta(weeks=weeks), in_service).replace(hour=12, minute=0)
        since = min(since, begin)
        for side in SIDES:
            for slot, spec in axle.fitted.items():
                worn = slot in ("lining", "drum", "hardware", "rotor")
                yield Part(
                    plan.number,
                    number,
                    side,
                    slot,
                    _copy(spec),
                    _lot(slot, since, rng),
                    since if worn else in_service,
                    "",
                )


def _copy(spec: dict[str, Any]) -> dict[str, Any]:
    return dict(spec)


def _lot(slot: str, since: datetime, rng: Random) -> str:
    prefix = {"lining": "L", "drum": "D", "hardware": "H"}.get(slot)
    return f"{prefix}{since:%y%m}-{rng.randint(1, 4)}" if prefix else ""


def released(job: Job, *, accepted: datetime, begun: datetime, released: datetime, proof: UUID) -> Job:
    """Return a job as released."""
    return replace(job, state="released", accepted_at=accepted, begun_at=begun, released_at=released, proof=proof)


def rechecked(
    recheck: ReCheck, *, at: datetime, by: str, outside: bool, meter: str, moved: int, walk: UUID | None
) -> ReCheck:
    """Return a re-check as done."""
    return replace(
        recheck,
        done_at=at,
        done_by=by,
        outside_shop=OUTSIDE_SHOP if outside else "",
        meter=meter,
        moved=moved,
        walk_around=walk,
    )
