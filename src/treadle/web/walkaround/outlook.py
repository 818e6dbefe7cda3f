"""How units stand, told to the units' pages: from what was worked out last, never judged inside a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F, Func, IntegerField, QuerySet, Value
from django.db.models.functions import Coalesce

from treadle.assess import Assessment
from treadle.assess.verdict import worst
from treadle.fleet.records import AIR_BRAKES, Unit
from treadle.reports.plan_view import Shown, ends_shown
from treadle.web.units.models import FittedPart
from treadle.web.units.outlook import Outlook, Reason
from treadle.web.walkaround.models import Reading, Standing
from treadle.words import LANGUAGES, say

_TAGGED = ("chamber", "adjuster")


# -- kept when it is worked out


def ends_kept(unit: Unit, assessment: Assessment) -> list[dict[str, Any]]:
    """Return what the drawing says beside each wheel end, as it is kept with how a unit stands."""
    shown = ends_shown(unit, assessment)
    return [{"axle": axle, "side": side, **asdict(end)} for (axle, side), end in shown.items()]


def reasons_kept(unit: Unit, assessment: Assessment) -> list[dict[str, Any]]:
    """Return the findings that hold a unit, each sentence in every language.

    What decided the unit's own outcome comes first, the nearest to a wheel end of it before what is said of the whole
    combination; then the worst of the rest.
    """
    own = next(one.outcome for one in assessment.units if one.number == unit.number)
    kept = [
        {
            **finding.as_json(LANGUAGES[0]),
            "said": {language: finding.says(language) for language in LANGUAGES},
        }
        for finding in assessment.findings
        if finding.unit in (unit.number, None) and finding.outcome != "good"
    ]
    return sorted(kept, key=lambda reason: (reason["outcome"] != own, reason["unit"] is None))


# -- told to the pages


class _Entries(Func):  # type: ignore[misc]
    """How many entries a list kept as JSON has, counted where it lies."""

    function = "JSON_ARRAY_LENGTH"
    output_field = IntegerField()

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        return self.as_sql(compiler, connection, function="JSONB_ARRAY_LENGTH", **context)


class Standings:
    """Answers the units' pages from the standings kept."""

    def annotate(self, units: QuerySet[Any]) -> QuerySet[Any]:
        """Add `outcome` and `seen_at`; a unit never worked out is unseen."""
        outcome = Coalesce("standing__outcome", Value("unseen"))
        return units.annotate(outcome=outcome, seen_at=F("standing__seen_at"))  # type: ignore[no-any-return]

    def of(self, ids: Sequence[UUID], language: str) -> Mapping[UUID, Outlook]:
        """Return how units stand."""
        return {row.unit_id: _outlook(row, language) for row in Standing.objects.filter(unit__in=ids)}

    def first_reasons(self, ids: Sequence[UUID], language: str) -> Mapping[UUID, tuple[Reason, int]]:
        """Return the first reason of each unit that has any, and how many more there are."""
        rows = Standing.objects.filter(unit__in=ids).annotate(first=F("reasons__0"), count=_Entries("reasons"))
        return {
            unit: (_reason(first, language), count - 1)
            for unit, first, count in rows.values_list("unit_id", "first", "count")
            if first
        }

    def tags_confirmed(self, unit: UUID) -> datetime | None:
        """Return when the tags of every chamber and adjuster fitted now had been read and agreed."""
        return _tags_confirmed(unit)

    def changed(self, unit: Any) -> None:
        """Have it worked out anew how a unit stands."""
        from treadle.web.walkaround.judge import note_behind  # noqa: PLC0415 - the judge keeps what this module tells

        note_behind(unit)


def _outlook(row: Standing, language: str) -> Outlook:
    ends = {
        (end["axle"], end["side"]): Shown(end["outcome"], end.get("what", ""), end.get("value", ""), end.get("cause"))
        for end in row.ends
    }
    of_axles: dict[int, list[str]] = {}
    for reason in row.reasons:
        if reason["axle"] is not None and reason["side"] is None:
            of_axles.setdefault(reason["axle"], []).append(reason["outcome"])
    joints = {axle: outcome for axle, outcomes in of_axles.items() if (outcome := worst(outcomes)) is not None}
    reasons = tuple(dict.fromkeys(_reason(reason, language) for reason in row.reasons))
    return Outlook(row.outcome, row.seen_at, reasons, ends, joints, row.worked_out_on, row.behind)


def _reason(reason: dict[str, Any], language: str) -> Reason:
    if reason["axle"] is None:
        where = say("units.reason.combination" if reason["unit"] is None else "units.reason.unit", language)
    elif reason["side"] is None:
        where = say("units.reason.axle", language, axle=reason["axle"])
    else:
        where = say("units.end", language, axle=reason["axle"], side=reason["side"])
    return Reason(reason["outcome"], where, reason["said"][language])


def _tags_confirmed(unit: UUID) -> datetime | None:
    """Return the earliest of the latest confirmations; None where an air-braked end has none since its parts came on.

    A later reading that they differ takes a confirmation back.
    """
    since: dict[tuple[int, str], datetime] = {}
    air = set()
    for part in FittedPart.objects.filter(unit=unit, removed_at=None):
        place = (part.axle, part.side)
        if part.slot in _TAGGED:
            since[place] = max(part.fitted_at, since.get(place, part.fitted_at))
        elif part.slot == "foundation" and part.spec.get("brake") in AIR_BRAKES:
            air.add(place)
    last: dict[tuple[int, str], Reading] = {}
    rows = Reading.objects.filter(unit=unit, kind="tags", withdraws=False, doubt="", corrected_by=None)
    for row in rows.exclude(walk_around__abandoned_at__isnull=False).order_by("taken_at"):
        last[row.axle, row.side] = row
    confirmed = [
        last[place].taken_at
        for place in air
        if place in last and last[place].fields.get("value") == "confirmed" and last[place].taken_at >= since[place]
    ]
    return min(confirmed) if air and len(confirmed) == len(air) else None
