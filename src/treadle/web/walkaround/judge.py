"""Judging what was entered: one reading, a walk-around, units as they were last seen, and how each unit stands."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone

from treadle.assess import Assessment, Finding, assess
from treadle.fleet.records import WalkAround as Record
from treadle.rules.load import shipped
from treadle.web.base.jobs import ask_for, kind_of_job
from treadle.web.people.models import Person, Shop
from treadle.web.units.couple import combinations_of
from treadle.web.units.models import Unit
from treadle.web.walkaround.models import Judged, Reading, Standing, WalkAround
from treadle.web.walkaround.outlook import ends_kept, reasons_kept
from treadle.web.walkaround.to_core import as_file, as_file_of_place, as_last_seen, confirmed_by, policy_of, record_of

DISPATCH_OCCASION = "service"
"""What a unit must have shown, within the shop's interval, before it is let go."""


def judge_file(file: dict[str, Any], shop: Shop, *, at: datetime) -> tuple[Record, Assessment]:
    """Judge a walk-around file by the shop's policy and the rules of the day it is in the shop's zone."""
    day = at.astimezone(ZoneInfo(shop.zone)).date()
    record = record_of(file)
    return record, assess(record, shipped(), on=day, policy=policy_of(shop, day))


def judge_as_last_seen(
    units: Sequence[Unit], shop: Shop, *, at: datetime, by: Person, occasion: str = DISPATCH_OCCASION
) -> tuple[dict[str, Any], Record, Assessment]:
    """Judge units coupled in the order given by their last readings; return file, record and assessment."""
    file = as_last_seen(units, at=at, occasion=occasion, by=by.name, zone=shop.zone)
    record, assessment = judge_file(file, shop, at=at)
    return file, record, assessment


def found_of(row: Reading, shop: Shop, *, at: datetime) -> list[Finding]:
    """Return what the judge says of one reading where it stands, worst first; nothing of one that is not judged.

    The share over a combination and the match across an axle wait for the whole walk-around.
    """
    if row.withdraws or row.doubt:
        return []
    file = as_file_of_place(row)
    _, assessment = judge_file(file, shop, at=at)
    return [one for one in assessment.findings if _is_about(one, row)]


def _is_about(finding: Finding, row: Reading) -> bool:
    args = finding.verdict.args
    place = (row.unit.number, row.axle, row.side or None)
    if (finding.unit, finding.axle, finding.side) != place or finding.verdict.code in ("missing", "not_seen"):
        return False
    part = row.fields.get("shoe") or row.fields.get("pad")
    if row.kind == "condition" and row.fields.get("value") != "none_seen":
        return bool(args.get("condition") == row.fields.get("value"))
    kind = "applied_stroke" if row.kind in ("rod_released", "rod_applied") else row.kind
    asked = (kind, row.fields.get("state"))
    return (args.get("kind"), args.get("state")) == asked and (part is None or args.get("part") in (part, None))


@transaction.atomic
def keep(
    about: str,
    file: dict[str, Any],
    assessment: Assessment,
    units: Iterable[Unit],
    *,
    shop: Shop,
    by: Person,
    walk_around: WalkAround | None = None,
) -> Judged:
    """Keep an assessment with what it was made from."""
    row = Judged(
        about=about,
        walk_around=walk_around,
        on=assessment.on,
        occasion=assessment.occasion,
        edition=assessment.edition,
        outcome=assessment.outcome,
        inputs=file,
        result={**assessment.as_json(shop.language), "language": shop.language},
        policy=_policy_kept(shop),
        entered_by=by,
        entered_zone=shop.zone,
    )
    row.save()
    row.units.set(units)
    return row


@transaction.atomic
def finish(walk_around: WalkAround, *, shop: Shop, by: Person, at: datetime) -> Judged:
    """End a walk-around, judge it and keep the assessment; how its units stand is worked out anew.

    Asked again it gives the same assessment, unless something was entered since, or the day, the rules or the shop's
    policy are others: then it is judged once more, and both assessments are kept.
    """
    walk = WalkAround.objects.select_for_update().get(pk=walk_around.pk)
    if walk.finished_at is None:
        walk.finished_at = at
        walk.save(update_fields=["finished_at"])
    walk_around.finished_at = walk.finished_at
    last = last_judged(walk)
    if last is not None and _still_holds(last, walk, shop, at=at):
        return last
    file = as_file(walk)
    _, assessment = judge_file(file, shop, at=at)
    units = [one.unit for one in walk.walked.select_related("unit")]
    row = keep(Judged.About.WALK_AROUND, file, assessment, units, shop=shop, by=by, walk_around=walk)
    work_out_standings(units, shop=shop, by=by, at=at)
    return row


def last_judged(walk_around: WalkAround) -> Judged | None:
    """Return the last assessment of a walk-around; None while it is under way."""
    return walk_around.judged.order_by("-entered_at").first()  # type: ignore[no-any-return]


def arrived_since(judged: Judged) -> int:
    """Return how many readings of its walk-around came in after it was judged."""
    if judged.walk_around is None:
        return 0
    return judged.walk_around.readings.filter(entered_at__gt=judged.entered_at).count()  # type: ignore[no-any-return]


def _still_holds(judged: Judged, walk_around: WalkAround, shop: Shop, *, at: datetime) -> bool:
    return (
        judged.on == at.astimezone(ZoneInfo(shop.zone)).date()
        and judged.edition == shipped().edition
        and judged.policy == _policy_kept(shop)
        and not walk_around.readings.filter(entered_at__gt=judged.entered_at).exists()
    )


def _policy_kept(shop: Shop) -> dict[str, Any]:
    return {"policy": shop.policy, "confirmed": confirmed_by(shop)}


def work_out_standing(unit: Unit, *, shop: Shop, by: Person, at: datetime) -> Standing:
    """Work out how a unit stands by its last readings, in the combination it is coupled in, and keep it for lists."""
    return work_out_standings([unit], shop=shop, by=by, at=at)[0]


@transaction.atomic
def work_out_standings(units: Sequence[Unit], *, shop: Shop, by: Person, at: datetime) -> list[Standing]:
    """Work out how units stand; a combination is judged once for all of its units."""
    done: dict[UUID, Standing] = {}
    for combination in combinations_of(units):
        if all(unit.pk in done for unit in combination):
            continue
        _, record, assessment = judge_as_last_seen(combination, shop, at=at, by=by)
        for unit in combination:
            seen = [reading.taken.at for reading in record.readings if reading.unit == unit.number]
            done[unit.pk] = _keep_standing(unit, record, assessment, at, seen_at=max(seen, default=None))
    return [done[unit.pk] for unit in units]


def _keep_standing(
    unit: Unit, record: Record, assessment: Assessment, at: datetime, *, seen_at: datetime | None
) -> Standing:
    judged = next(one for one in assessment.units if one.number == unit.number)
    walked = next(one for one in record.units if one.number == unit.number)
    row, _ = Standing.objects.update_or_create(
        unit=unit,
        defaults={
            "shop_id": unit.shop_id,
            "outcome": judged.outcome or "unseen",
            "together": assessment.outcome,
            "ends": ends_kept(walked, assessment),
            "reasons": reasons_kept(walked, assessment),
            "seen_at": seen_at,
            "worked_out_at": at,
            "worked_out_on": assessment.on,
            "edition": assessment.edition,
            "behind": False,
        },
    )
    return row  # type: ignore[no-any-return]


def note_behind(unit: Unit) -> None:
    """Note that something was entered for a unit since it was last worked out, and ask the worker to do it."""
    Standing.objects.filter(unit=unit).update(behind=True)
    ask_for("standing", unit=str(unit.pk))


@kind_of_job("standing")
def _standing_job(unit: str) -> None:
    row = Unit.objects.select_related("shop").get(pk=unit)
    work_out_standing(row, shop=row.shop, by=row.entered_by, at=timezone.now())


@kind_of_job("standings")
def _standings_job() -> None:
    """Work out every unit anew: readings age, and rules change by the day."""
    for row in Unit.objects.filter(left_fleet_on=None).select_related("shop", "entered_by"):
        work_out_standing(row, shop=row.shop, by=row.entered_by, at=timezone.now())
