"""Operations of the API for walk-arounds: begin, read, note, picture, finish, give up, and the limits of a unit.

Each entry carries an id made where it was entered: sent again it is known, with other content it is a conflict that is
set aside for the lead.  What cannot be so is asked about before it is kept.
"""

from __future__ import annotations

from datetime import timedelta
from http import HTTPStatus
from typing import Annotated, Any, Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from ninja import File, Form, Router, Schema, Status
from ninja.files import UploadedFile
from pydantic import ConfigDict, Field

from treadle.errors import BadInput
from treadle.fleet import file_model as written
from treadle.web.people.api_guard import SignedIn
from treadle.web.people.models import Person
from treadle.web.units.models import Unit
from treadle.web.walkaround import enter, pictures
from treadle.web.walkaround.answers import (
    PhotoTaken,
    ReadingsOut,
    ReadingTaken,
    Refusal,
    WalkTaken,
    found_out,
    problems_of,
    readings_out,
    refused,
)
from treadle.web.walkaround.asking import language_of, person_of, shop_of
from treadle.web.walkaround.judge import finish, found_of
from treadle.web.walkaround.limits import limits_for
from treadle.web.walkaround.models import Reading, WalkAround
from treadle.web.walkaround.passes import CAUTIONS

router = Router(tags=["walk-arounds"])

_MEASURES = SignedIn(*enter.MAY_WALK_DAILY)
_READS = SignedIn(*enter.MAY_WALK_DAILY, "owner", "inspector")
_REFUSED: dict[int, Any] = {401: Refusal, 403: Refusal, 404: Refusal, 409: Refusal, 422: Refusal}
_OVERLAP = timedelta(seconds=10)
"""Readings are asked for again from a little before the last answer: two may be written at once (chosen)."""

Text = Annotated[str, Field(max_length=60, pattern=r"^[^\x00]*$")]
LongText = Annotated[str, Field(max_length=200, pattern=r"^[^\x00]*$")]
Number = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[^\x00]*$")]
Kind = Annotated[str, Field(json_schema_extra={"enum": sorted(written.READING_MODELS)}, max_length=40)]
Seconds = Annotated[int, Field(ge=1, le=86_400)]


class _In(Schema):
    model_config = ConfigDict(extra="forbid")


class _Stamped(_In):
    at: Annotated[
        Text, Field(description="Date and time with its offset from UTC.", examples=["2026-10-02T07:40:00-06:00"])
    ]
    zone: Annotated[Text, Field(examples=["America/Denver"])]
    by: UUID | None = None


class _Circumstances(_In):
    reservoir: Text | None = None
    engine: Literal["off", "running"] | None = None
    spring_brakes: Literal["released", "applied"] | None = None
    supply: Literal["own", "shop"] | None = None


class BeginIn(_Stamped):
    """A walk-around to begin, of a unit and what it is coupled with."""

    id: UUID
    unit: Number
    occasion: written.Occasion
    alone: bool = False
    meters: dict[Number, Text] = {}
    replaced: list[Number] = []


class ReadingIn(_Stamped, _Circumstances):
    """A reading, with the fields that its kind has in the walk-around file."""

    id: UUID
    walk_around: UUID
    unit: Number
    axle: written.AxleNumber | None = None
    side: written.Side | None = None
    kind: Kind
    value: Text | None = None
    special: Text | None = None
    place: Text | None = None
    shoe: written.Shoe | None = None
    pad: written.Pad | None = None
    state: Literal["released", "applied"] | None = None
    start: Text | None = None
    end: Text | None = None
    seconds: Seconds | None = None
    rpm: Annotated[int, Field(ge=1, le=10_000)] | None = None
    what: Text | None = None
    reason: LongText | None = None
    stated_reason: LongText | None = None
    corrects: UUID | None = None
    withdraws: bool = False
    why_corrected: LongText | None = None


class NoteIn(_Circumstances):
    """What was made safe, and the circumstances that hold from now."""

    at: Text
    by: UUID | None = None
    made_safe: list[Literal[CAUTIONS]] = []  # type: ignore[valid-type]


class EndIn(_In):
    """Who ends a walk-around; the person signed in if left out."""

    by: UUID | None = None


class PhotoIn(_Stamped):
    """Where a picture was taken."""

    id: UUID
    walk_around: UUID
    unit: Number
    axle: written.AxleNumber | None = None
    side: written.Side | None = None


@router.post("/walk-arounds", auth=_MEASURES, response={201: WalkTaken, 200: WalkTaken, **_REFUSED})
def begin_walk(request: HttpRequest, entry: BeginIn) -> Any:
    """Begin a walk-around: 201 when it is new, 200 when it was begun before under the same id."""
    unit = Unit.objects.filter(number=entry.unit, left_fleet_on=None).first()
    if unit is None:
        raise Http404
    given = entry.model_dump(mode="json", exclude_none=True)

    def act(by: Person, sent_by: Person | None) -> enter.Taken:
        return enter.begin(
            entry.id,
            occasion=entry.occasion,
            unit=unit,
            at=enter.moment_of(entry.at),
            zone=enter.zone_of(entry.zone),
            by=by,
            sent_by=sent_by,
            alone=entry.alone,
            meters=entry.meters,
            replaced=entry.replaced,
        )

    taken = _take(request, given, act)
    return taken if isinstance(taken, HttpResponse) else _answer(taken, _walk_taken(taken.row, taken.was))


@router.post("/readings", auth=_MEASURES, response={201: ReadingTaken, 200: ReadingTaken, **_REFUSED})
def take_reading(request: HttpRequest, entry: ReadingIn) -> Any:
    """Take a reading: 201 when it is new, 200 when it is known; the answer repeats its id, and it is safe here."""
    given = entry.model_dump(mode="json", exclude_none=True)
    now = timezone.now()

    def act(by: Person, sent_by: Person | None) -> enter.Taken:
        return enter.take(given, by=by, sent_by=sent_by, shop=shop_of(request), now=now)

    taken = _take(request, given, act)
    if isinstance(taken, HttpResponse):
        return taken
    assert isinstance(taken.row, Reading)  # noqa: S101 - `take` gives no other
    found = found_of(taken.row, shop_of(request), at=now)
    says = [found_out(one, language_of(request)) for one in found]
    return _answer(taken, ReadingTaken(id=entry.id, was=taken.was, found=says))


@router.get("/walk-arounds/{uuid:walk_around}/readings", auth=_READS, response={200: ReadingsOut, **_REFUSED})
def readings(request: HttpRequest, walk_around: UUID, since: Text = "") -> Any:
    """Return the readings that came in since a moment: those of everybody on this walk-around, corrected ones too."""
    walk = get_object_or_404(WalkAround.objects, pk=walk_around)
    until = timezone.now()
    rows = Reading.objects.filter(walk_around=walk).select_related("unit", "entered_by", "walk_around")
    if since:
        rows = rows.filter(entered_at__gt=enter.moment_of(since) - _OVERLAP)
    return ReadingsOut(
        until=until.isoformat(),
        finished=walk.finished_at is not None,
        abandoned=walk.abandoned_at is not None,
        made_safe=[one["what"] for one in walk.made_safe],
        circumstances=walk.circumstances,
        readings=readings_out(rows, shop_of(request), at=until, language=language_of(request)),
    )


@router.post("/walk-arounds/{uuid:walk_around}/note", auth=_MEASURES, response={200: WalkTaken, **_REFUSED})
def note(request: HttpRequest, walk_around: UUID, entry: NoteIn) -> Any:
    """Note what was made safe and the circumstances that hold from now; sent again it changes nothing."""
    stated = entry.model_dump(
        mode="json", exclude_none=True, include={"reservoir", "engine", "spring_brakes", "supply"}
    )

    def act(walk: WalkAround, by: Person) -> WalkTaken:
        at = enter.moment_of(entry.at)
        return _walk_taken(enter.note(walk, by=by, at=at, made_safe=entry.made_safe, circumstances=stated), "known")

    return _act_on(request, walk_around, entry.by, act)


@router.post("/walk-arounds/{uuid:walk_around}/finish", auth=_MEASURES, response={200: WalkTaken, **_REFUSED})
def finish_walk(request: HttpRequest, walk_around: UUID, entry: EndIn) -> Any:
    """Finish a walk-around and judge it; asked again it gives the same assessment."""

    def act(walk: WalkAround, by: Person) -> WalkTaken:
        enter.may_work_on(walk, by)
        judged = finish(walk, shop=shop_of(request), by=by, at=timezone.now())
        return _walk_taken(walk, "known", judged.outcome)

    return _act_on(request, walk_around, entry.by, act)


@router.post("/walk-arounds/{uuid:walk_around}/abandon", auth=_MEASURES, response={200: WalkTaken, **_REFUSED})
def abandon_walk(request: HttpRequest, walk_around: UUID, entry: EndIn) -> Any:
    """Give a walk-around up; what was read stays on record and is judged nowhere."""

    def act(walk: WalkAround, by: Person) -> WalkTaken:
        return _walk_taken(enter.abandon(walk, by=by, at=timezone.now()), "known")

    return _act_on(request, walk_around, entry.by, act)


@router.post("/photos", auth=_MEASURES, response={201: PhotoTaken, 200: PhotoTaken, **_REFUSED})
def take_photo(request: HttpRequest, entry: Form[PhotoIn], file: File[UploadedFile]) -> Any:
    """Keep a picture of a wheel end or unit, made upright and smaller, without what the camera wrote into it."""
    walk = get_object_or_404(WalkAround.objects, pk=entry.walk_around)
    walked = walk.walked.select_related("unit").filter(unit__number=entry.unit).first()
    if walked is None:
        raise Http404

    def act(there: WalkAround, by: Person) -> Any:
        enter.may_work_on(there, by)
        photo, new = pictures.keep_photo(
            entry.id,
            there,
            walked.unit,
            file.read(),
            axle=entry.axle,
            side=entry.side or "",
            at=enter.moment_of(entry.at),
            zone=enter.zone_of(entry.zone),
            by=by,
            sent_by=_sender(request, by),
        )
        answer = PhotoTaken(id=photo.pk, was="new" if new else "known")
        return Status(HTTPStatus.CREATED if new else HTTPStatus.OK, answer)

    return _act_on(request, walk.pk, entry.by, act)


@router.get("/limits/{path:unit}", auth=_READS, response={200: dict[str, Any], 304: None, **_REFUSED})
def limits(request: HttpRequest, response: HttpResponse, unit: str, occasion: written.Occasion) -> Any:
    """Return the resolved limits of a unit today, with its sentences; the ETag changes whenever they do."""
    row = Unit.objects.filter(number=unit).first() if "\x00" not in unit else None
    if row is None:
        raise Http404
    shop = shop_of(request)
    today = timezone.now().astimezone(ZoneInfo(shop.zone)).date()
    found, tag = limits_for(row, shop, occasion=occasion, on=today, language=language_of(request))
    etag = f'"{tag}"'
    if request.headers.get("If-None-Match") == etag:
        return HttpResponse(status=HTTPStatus.NOT_MODIFIED, headers={"ETag": etag})
    response.headers["ETag"] = etag
    response.headers["Cache-Control"] = "private, no-cache"
    return found


# -- shared


def _take(request: HttpRequest, given: dict[str, Any], act: Any) -> enter.Taken | HttpResponse:
    """Take an entry as the person it names; what conflicts is set aside and said so."""
    try:
        by = _person(request, given.get("by"))
        return act(by, _sender(request, by))  # type: ignore[no-any-return]
    except (enter.Conflict, enter.NotTheirs) as fault:
        _set_aside(request, given, fault)
        problems = problems_of(fault, language_of(request))
        return refused(problems, HTTPStatus.CONFLICT, entry=given["id"], set_aside=True)
    except enter.NotHere as fault:
        return refused(problems_of(fault, language_of(request)), HTTPStatus.NOT_FOUND, entry=given["id"])
    except BadInput as fault:
        return refused(problems_of(fault, language_of(request)), HTTPStatus.UNPROCESSABLE_ENTITY, entry=given["id"])


def _set_aside(request: HttpRequest, given: dict[str, Any], fault: BadInput) -> None:
    first = fault.problems[0]
    details = {"where": first.where, **{name: str(value) for name, value in first.details.items()}}
    enter.set_aside(given, sent_by=person_of(request), now=timezone.now(), reason=first.slug, details=details)


def _act_on(request: HttpRequest, pk: UUID, by: UUID | None, act: Any) -> Any:
    """Do something to a walk-around of this shop as the person named; nothing is set aside, it can be asked again."""
    walk = get_object_or_404(WalkAround.objects, pk=pk)
    try:
        return act(walk, _person(request, by))
    except (enter.Conflict, enter.NotTheirs) as fault:
        return refused(problems_of(fault, language_of(request)), HTTPStatus.CONFLICT)


def _person(request: HttpRequest, by: UUID | str | None) -> Person:
    """Return the person named, else the one signed in; somebody this shop does not know may enter nothing."""
    if by is None:
        return person_of(request)
    person = Person.objects.filter(pk=by, is_active=True).first()
    if person is None:
        raise enter.not_known(str(by))
    return person  # type: ignore[no-any-return]


def _sender(request: HttpRequest, by: Person) -> Person | None:
    signed_in = person_of(request)
    return None if signed_in.pk == by.pk else signed_in


def _answer(taken: enter.Taken, body: Schema) -> Any:
    return Status(HTTPStatus.CREATED if taken.was == "new" else HTTPStatus.OK, body)


def _walk_taken(walk: Any, was: str, outcome: str | None = None) -> WalkTaken:
    return WalkTaken(id=walk.pk, was=was, combination=walk.combination, outcome=outcome)
