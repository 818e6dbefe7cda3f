"""Answers of the API: what was taken and what the judge says of it, or why it was not, in the person's language."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.http import HttpResponse, JsonResponse
from ninja import Schema

from treadle.assess import Finding
from treadle.errors import Problem, TreadleError
from treadle.web.people.models import Shop
from treadle.web.walkaround.enter import Doubtful
from treadle.web.walkaround.judge import found_of
from treadle.web.walkaround.models import Reading
from treadle.words import say


class ProblemOut(Schema):
    """One thing that is wrong: which, where, in words, and the particulars."""

    slug: str
    where: str
    says: str
    details: dict[str, Any]


class Refusal(Schema):
    """Why something was not taken; `set_aside` says that it is kept here until the lead settles it."""

    id: UUID | None = None
    problems: list[ProblemOut]
    set_aside: bool = False


class Found(Schema):
    """What the judge says of a reading where it stands."""

    outcome: str
    says: str
    does: str
    rule: str | None
    citation: str | None
    unconfirmed: bool


class ReadingTaken(Schema):
    """A reading that is safe here; `was` says whether this was the first time it came."""

    id: UUID
    was: str
    found: list[Found]


class WalkTaken(Schema):
    """A walk-around that is begun, changed or ended."""

    id: UUID
    was: str
    combination: list[str]
    outcome: str | None = None


class ReadingOut(Schema):
    """A reading as it is on record."""

    id: UUID
    unit: str
    axle: int | None
    side: str
    kind: str
    fields: dict[str, Any]
    at: str
    by: UUID
    by_name: str
    doubt: str
    stated_reason: str
    corrects: UUID | None
    withdraws: bool
    found: list[Found] = []


class ReadingsOut(Schema):
    """The readings that came in since a moment, and the moment to ask from next time."""

    until: str
    finished: bool
    abandoned: bool
    made_safe: list[str]
    circumstances: dict[str, str]
    readings: list[ReadingOut]


class PhotoTaken(Schema):
    """A picture that is safe here."""

    id: UUID
    was: str


def problem(slug: str, says: str, *, where: str = "", details: dict[str, Any] | None = None) -> ProblemOut:
    """Return a problem that is none of the core's."""
    return ProblemOut(slug=slug, where=where, says=says, details=details or {})


def problems_of(error: TreadleError, language: str) -> list[ProblemOut]:
    """Return the problems of an error, each with its sentence."""
    if isinstance(error, Doubtful):
        where = error.problems[0].where
        return [
            ProblemOut(
                slug="doubtful_reading",
                where=where,
                says=say(f"doubt.{one.code}", language, **one.details),
                details={"code": one.code, **one.details},
            )
            for one in error.found
        ]
    return [_problem(one, language) for one in error.problems]


def _problem(one: Problem, language: str) -> ProblemOut:
    says = say(f"error.{one.slug}", language, where=one.where, **one.details)
    return ProblemOut(slug=one.slug, where=one.where, says=says, details={k: str(v) for k, v in one.details.items()})


def refused(
    problems: list[ProblemOut], status: int, *, entry: str | UUID | None = None, set_aside: bool = False
) -> HttpResponse:
    """Return the answer that something was not taken."""
    found = Refusal(id=entry if isinstance(entry, UUID | None) else UUID(entry), problems=problems, set_aside=set_aside)
    return JsonResponse(found.model_dump(mode="json"), status=status)


def found_out(finding: Finding, language: str) -> Found:
    """Return a finding as the screen shows it."""
    verdict = finding.verdict
    return Found(
        outcome=verdict.outcome,
        says=finding.says(language),
        does=finding.remedy(language),
        rule=verdict.rule,
        citation=verdict.citation,
        unconfirmed=verdict.unconfirmed,
    )


def readings_out(rows: Iterable[Reading], shop: Shop, *, at: datetime, language: str) -> list[ReadingOut]:
    """Return readings as the screen shows them; what the judge says stands beside those it has no limits for."""
    return [
        _reading(row, [] if _is_looked_up(row) else [found_out(one, language) for one in found_of(row, shop, at=at)])
        for row in rows
    ]


def _is_looked_up(row: Reading) -> bool:
    return row.kind in LOOKED_UP or (row.kind == "condition" and row.axle is not None)


LOOKED_UP = frozenset(
    {
        "applied_stroke",
        "free_stroke",
        "rod_released",
        "rod_applied",
        "lining",
        "running_clearance",
        "drum_diameter",
        "rotor_thickness",
        "wear_indicator",
        "not_seen",
    }
)
"""Kinds whose outcome the screen finds in the resolved limits."""


def _reading(row: Reading, found: list[Found]) -> ReadingOut:
    return ReadingOut(
        id=row.pk,
        unit=row.unit.number,
        axle=row.axle,
        side=row.side,
        kind=row.kind,
        fields=row.fields,
        at=row.taken_at.isoformat(),
        by=row.entered_by_id,
        by_name=row.entered_by.name,
        doubt=row.doubt,
        stated_reason=row.stated_reason,
        corrects=row.corrects_id,
        withdraws=row.withdraws,
        found=found,
    )
