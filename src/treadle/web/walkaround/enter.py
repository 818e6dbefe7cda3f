"""Taking entries: each has an id made where it was entered and is taken once; what conflicts is set aside whole."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction
from django.db.models import Q

from treadle.errors import BadInput, Problem
from treadle.fleet.doubts import STROKES, Doubt, doubts
from treadle.fleet.records import Reading as ReadingRecord
from treadle.measure import Quantity, read_quantity
from treadle.web.people.models import Person, Role, Shop
from treadle.web.units.couple import combination_of
from treadle.web.units.meters import note_meter, replace_meter, running_meter
from treadle.web.units.models import FittedPart, Unit
from treadle.web.units.to_core import units_as_file
from treadle.web.walkaround.judge import note_behind
from treadle.web.walkaround.models import Reading, SetAside, WalkAround, WalkedUnit
from treadle.web.walkaround.to_core import as_entry, one_at_a_time, record_of, standing

MAY_MEASURE = (Role.TECHNICIAN, Role.LEAD)
MAY_WALK_DAILY = (Role.TECHNICIAN, Role.LEAD, Role.DRIVER)
YEARS = range(2000, 2200)
"""Years a clock can show; any other is a slip (chosen)."""


class Doubtful(BadInput):
    """A reading that cannot be so and comes without a stated reason; `found` says why."""

    def __init__(self, found: list[Doubt], where: str) -> None:
        self.found = found
        super().__init__(Problem("doubtful_reading", where, {"code": one.code}) for one in found)


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of an entry."""

    row: Reading | WalkAround
    was: Literal["new", "known"]


class Conflict(BadInput):
    """It cannot be taken beside what is there: the same id came with other content, or the walk-around was given up."""


class NotTheirs(BadInput):
    """The person named as having entered it may not enter that."""


class NotHere(BadInput):
    """It belongs to a walk-around that this shop does not have."""


@transaction.atomic
def begin(
    walk_id: uuid.UUID,
    *,
    occasion: str,
    unit: Unit,
    at: datetime,
    zone: str,
    by: Person,
    sent_by: Person | None = None,
    alone: bool = False,
    circumstances: Mapping[str, str] | None = None,
    meters: Mapping[str, str] | None = None,
    replaced: Iterable[str] = (),
    touched: list[dict[str, Any]] | None = None,
    for_job: str = "",
) -> Taken:
    """Begin a walk-around of a unit and of what it is coupled with, unless `alone`; the same id begins it once.

    Parameters
    ----------
    walk_id : UUID
        Its id, made where it was begun.
    occasion : str
        What is asked of it.
    unit : Unit
        The unit it was begun at.
    at : datetime
        When, with its zone.
    zone : str
        Name of the zone it was begun in.
    by : Person
        Who walks.
    sent_by : Person, optional
        Who is signed in where it was sent, if that is somebody else.
    alone : bool
        Whether only this unit is walked, coupled or not.
    circumstances : mapping, optional
        ``reservoir``, ``engine``, ``spring_brakes``, ``supply``.
    meters : mapping, optional
        Unit number to what its meter shows; a bare number is in the meter's own measure.
    replaced : iterable of str
        Numbers of units whose meter was replaced since it was last read.
    touched : list of dict, optional
        For after work: the wheel ends worked on, as the file names them.
    for_job : str
        The job it proves.

    Raises
    ------
    NotTheirs
        `by` may not do this kind of walk-around.
    Conflict
        The id is known with another unit or occasion.
    BadInput
        A meter reading cannot be used.
    """
    known = WalkAround.objects.filter(pk=walk_id).first()
    if known is not None:
        return _known_walk(known, occasion=occasion, unit=unit, at=at, alone=alone)
    _may(by, MAY_WALK_DAILY if occasion == "daily" else MAY_MEASURE, occasion)
    line = [unit] if alone else combination_of(unit)
    row = WalkAround(
        id=walk_id,
        occasion=occasion,
        begun_at=at,
        zone=zone,
        combination=[one.number for one in line],
        circumstances=dict(circumstances or {}),
        touched=touched,
        for_job=for_job,
        entered_by=by,
        entered_zone=zone,
        sent_by=sent_by,
    )
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:
        return _known_walk(_elsewhere(WalkAround, walk_id), occasion=occasion, unit=unit, at=at, alone=alone)
    new_meters = frozenset(replaced)
    for position, one in enumerate(line):
        shown = _note_meter(one, (meters or {}).get(one.number, ""), at=at, by=by, new=one.number in new_meters)
        WalkedUnit(walk_around=row, unit=one, position=position, meter=shown).save()
    return Taken(row, "new")


def _known_walk(known: WalkAround, *, occasion: str, unit: Unit, at: datetime, alone: bool) -> Taken:
    """Return a walk-around begun before; what it was coupled with may have changed since."""
    same = (known.occasion, known.begun_at) == (occasion, at) and unit.number in known.combination
    if not same or (alone and len(known.combination) > 1):
        raise Conflict(Problem("id_taken", str(known.pk)))
    return Taken(known, "known")


def _note_meter(unit: Unit, text: str, *, at: datetime, by: Person, new: bool) -> str:
    """Note what a unit's meter shows, of a new meter as the first of its own run; return it with its unit."""
    if not text.strip():
        return ""
    running = running_meter(unit)
    if running is not None and new:
        return replace_meter(unit, kind=running.kind, measure=running.measure, reading=text, at=at, by=by).began_reading  # type: ignore[no-any-return]
    return note_meter(unit, text, at=at, by=by).reading  # type: ignore[no-any-return]


@transaction.atomic
def take(entry: Mapping[str, Any], *, by: Person, sent_by: Person | None, shop: Shop, now: datetime) -> Taken:
    """Take one reading.

    Parameters
    ----------
    entry : mapping
        ``id``, ``walk_around``, ``unit``, ``kind``, ``at`` and ``zone``, the other fields of a reading of that kind,
        and where they apply ``stated_reason``, ``corrects``, ``withdraws`` and ``why_corrected``.
    by : Person
        Who read it.
    sent_by : Person or None
        Who is signed in where it was sent, if that is somebody else.
    shop : Shop
        The shop.
    now : datetime
        The server's time.

    Raises
    ------
    NotTheirs
        `by` may not enter it.
    Conflict
        The id is known with other content, or the walk-around was given up.
    NotHere
        This shop has no such walk-around.
    Doubtful
        It cannot be so, and no reason is stated.
    BadInput
        It cannot be read, or names a unit or reading that is not there.
    """
    known = Reading.objects.filter(pk=entry["id"]).select_related("unit").first()
    if known is not None:
        return _known_reading(known, entry)
    walk = _walk(entry)
    _may(by, _who_may(walk), walk.occasion)
    row = Reading(
        id=entry["id"],
        walk_around=walk,
        unit=_unit_of(walk, entry),
        axle=entry.get("axle"),
        side=entry.get("side") or "",
        kind=entry["kind"],
        fields=_fields(entry),
        taken_at=moment_of(entry["at"]),
        taken_zone=zone_of(entry["zone"]),
        stated_reason=entry.get("stated_reason") or "",
        withdraws=bool(entry.get("withdraws")),
        why_corrected=entry.get("why_corrected") or "",
        entered_by=by,
        entered_zone=shop.zone,
        sent_by=sent_by,
    )
    row.corrects = _corrected(entry, row)
    if not row.withdraws:
        row.doubt = _doubt_of(row, now=now)
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:
        return _known_reading(_elsewhere(Reading, row.pk), entry)
    note_behind(row.unit)
    return Taken(row, "new")


@transaction.atomic
def note(
    walk_around: WalkAround,
    *,
    by: Person,
    at: datetime,
    made_safe: Iterable[str] = (),
    circumstances: Mapping[str, str] | None = None,
) -> WalkAround:
    """Note what was made safe, once each, and the circumstances that hold from now; noted again it changes nothing.

    Raises
    ------
    NotTheirs
        `by` may not do this kind of walk-around.
    Conflict
        The walk-around was given up.
    BadInput
        Spring brakes would be released at a vehicle not chocked, or a pressure cannot be read.
    """
    walk = WalkAround.objects.select_for_update().get(pk=walk_around.pk)
    may_work_on(walk, by)
    done = {one["what"] for one in walk.made_safe}
    for what in made_safe:
        if what == "springs" and "chocks" not in done:
            raise BadInput(Problem("chocks_first", " + ".join(walk.combination)))
        if what not in done:
            walk.made_safe.append({"what": what, "at": at.isoformat(), "by": by.name})
            done.add(what)
    stated = {name: value for name, value in (circumstances or {}).items() if value}
    if "reservoir" in stated:
        stated["reservoir"] = str(read_quantity(stated["reservoir"], "pressure", where="reservoir"))
    walk.circumstances |= stated
    walk.save(update_fields=["made_safe", "circumstances"])
    return walk  # type: ignore[no-any-return]


@transaction.atomic
def abandon(walk_around: WalkAround, *, by: Person, at: datetime) -> WalkAround:
    """Give a walk-around up: its readings stay on record and are judged nowhere; one that is finished stays finished.

    Raises
    ------
    NotTheirs
        `by` may not do this kind of walk-around.
    Conflict
        It is finished.
    """
    walk = WalkAround.objects.select_for_update().get(pk=walk_around.pk)
    _may(by, _who_may(walk), walk.occasion)
    if walk.finished_at is not None:
        raise Conflict(Problem("walk_around_finished", " + ".join(walk.combination)))
    if walk.abandoned_at is None:
        walk.abandoned_at = at
        walk.save(update_fields=["abandoned_at"])
        for unit in [one.unit for one in walk.walked.select_related("unit")]:
            note_behind(unit)
    return walk  # type: ignore[no-any-return]


def may_work_on(walk: WalkAround, by: Person) -> None:
    """Refuse somebody who may not do this kind of walk-around, and anything that comes after it was given up."""
    _may(by, _who_may(walk), walk.occasion)
    if walk.abandoned_at is not None:
        raise Conflict(Problem("walk_around_abandoned", " + ".join(walk.combination)))


def _who_may(walk: WalkAround) -> tuple[str, ...]:
    return MAY_WALK_DAILY if walk.occasion == "daily" else MAY_MEASURE


def set_aside(
    entry: Mapping[str, Any], *, sent_by: Person, now: datetime, reason: str, details: dict[str, Any]
) -> SetAside:
    """Keep an entry that could not be taken, whole, until somebody settles it; the same one is kept once."""
    for known in SetAside.objects.filter(id_of_entry=entry["id"]):
        if known.entry == dict(entry):
            return known  # type: ignore[no-any-return]
    row = SetAside(
        id_of_entry=entry["id"], arrived_at=now, sent_by=sent_by, entry=dict(entry), reason=reason, details=details
    )
    row.save()
    return row


_STAMPS = frozenset(
    {
        "id",
        "walk_around",
        "unit",
        "axle",
        "side",
        "kind",
        "at",
        "zone",
        "by",
        "stated_reason",
        "corrects",
        "withdraws",
        "why_corrected",
    }
)


def _fields(entry: Mapping[str, Any]) -> dict[str, Any]:
    """Return the fields of an entry that say what was read."""
    return {name: value for name, value in entry.items() if name not in _STAMPS and value not in (None, "")}


def not_known(given: str) -> NotTheirs:
    """Return the refusal of an entry by somebody this shop does not know."""
    return NotTheirs(Problem("unknown_person", given))


def _may(by: Person, roles: tuple[str, ...], occasion: str) -> None:
    if not by.may(*roles):
        raise NotTheirs(Problem("not_theirs", by.name, {"occasion": occasion}))


def _elsewhere(model: type[Reading] | type[WalkAround], pk: uuid.UUID) -> Any:
    """Return the row that took an id in the meantime; what another shop has under it is told to nobody."""
    row = model.objects.filter(pk=pk).first()
    if row is None:
        raise Conflict(Problem("id_taken", str(pk)))
    return row


def _known_reading(known: Reading, entry: Mapping[str, Any]) -> Taken:
    """Return a reading taken before under its id, if the entry says what it says; sent again it changes nothing."""
    by = entry.get("by")
    same = (
        str(known.walk_around_id) == str(entry["walk_around"])
        and known.unit.number == entry["unit"]
        and (known.axle, known.side, known.kind) == (entry.get("axle"), entry.get("side") or "", entry["kind"])
        and known.fields == _fields(entry)
        and (known.taken_at, known.taken_zone) == (moment_of(entry["at"]), entry["zone"])
        and str(known.corrects_id or "") == str(entry.get("corrects") or "")
        and known.withdraws == bool(entry.get("withdraws"))
        and known.stated_reason == (entry.get("stated_reason") or "")
        and known.why_corrected == (entry.get("why_corrected") or "")
        and (not by or str(by) == str(known.entered_by_id))
    )
    if not same:
        raise Conflict(Problem("id_taken", str(entry["id"])))
    return Taken(known, "known")


def moment_of(text: str) -> datetime:
    """Return the moment a text states, with its offset.

    Raises
    ------
    BadInput
        It is no date and time, has no offset, or no clock shows that year.
    """
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as fault:
        raise BadInput(Problem("unreadable_time", "at", {"given": text})) from fault
    if moment.tzinfo is None:
        raise BadInput(Problem("time_without_offset", "at", {"given": text}))
    if moment.year not in YEARS:
        raise BadInput(Problem("unreadable_time", "at", {"given": text}))
    return moment


def zone_of(name: str) -> str:
    """Return the name of a zone, if there is one of that name."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as fault:
        raise BadInput(Problem("unknown_zone", "zone", {"given": name})) from fault
    return name


def _walk(entry: Mapping[str, Any]) -> WalkAround:
    walk = WalkAround.objects.filter(pk=entry["walk_around"]).first()
    if walk is None:
        raise NotHere(Problem("unknown_walk_around", str(entry["walk_around"])))
    if walk.abandoned_at is not None:
        raise Conflict(Problem("walk_around_abandoned", " + ".join(walk.combination)))
    return walk  # type: ignore[no-any-return]


def _unit_of(walk: WalkAround, entry: Mapping[str, Any]) -> Unit:
    walked = walk.walked.select_related("unit").filter(unit__number=entry["unit"]).first()
    if walked is None:
        details = {"given": entry["unit"], "allowed": ", ".join(walk.combination)}
        raise BadInput(Problem("unknown_unit", "unit", details))
    return walked.unit  # type: ignore[no-any-return]


def _corrected(entry: Mapping[str, Any], row: Reading) -> Reading | None:
    """Return the reading that a row corrects or takes back: of the same walk-around, wheel end and kind."""
    if not entry.get("corrects"):
        if row.withdraws:
            raise BadInput(Problem("missing_field", place_of(row), {"field": "corrects"}))
        return None
    old = Reading.objects.filter(
        pk=entry["corrects"],
        walk_around=row.walk_around_id,
        unit=row.unit,
        axle=row.axle,
        side=row.side,
        kind=row.kind,
        withdraws=False,
    ).first()
    if old is None:
        raise BadInput(Problem("unknown_reading", str(entry["corrects"])))
    return old  # type: ignore[no-any-return]


def _doubt_of(row: Reading, *, now: datetime) -> str:
    """Return why a reading cannot be so; refuse it unless a reason is stated."""
    record, *beside = _read([row, *_strokes_beside(row)])
    found = doubts(record, at_the_same_end=beside, new_thickness=_new_thickness(row), now=now)
    if found and not row.stated_reason:
        raise Doubtful(found, place_of(row))
    return found[0].code if found else ""


def _strokes_beside(row: Reading) -> list[Reading]:
    """Return the strokes of other kinds that stand at the same wheel end on this walk-around."""
    if row.kind not in STROKES:
        return []
    here = {"walk_around": row.walk_around_id, "unit": row.unit, "axle": row.axle, "side": row.side}
    taken = Reading.objects.filter(**here, kind__in=STROKES).exclude(kind=row.kind)
    standing_there = standing(taken.select_related("unit", "entered_by", "walk_around"))
    return one_at_a_time(one for one in standing_there if not one.doubt)


def _read(rows: Sequence[Reading]) -> list[ReadingRecord]:
    """Read rows of one place as the core does, in their order; whatever is wrong with one is named.

    Rows that another of their kind replaces are left out, but for the first, which is the one at hand.
    """
    first = rows[0]
    file = {
        "treadle": "walkaround/1",
        "occasion": "service",
        "units": units_as_file([first.unit], only_axle=first.axle or 0),
        "taken": {"at": first.taken_at.astimezone(ZoneInfo(first.taken_zone)).isoformat(), "by": first.entered_by.name},
        "readings": [as_entry(row) for row in rows],
    }
    try:
        by_id = {reading.id: reading for reading in record_of(file).readings}
    except BadInput as fault:  # a line of a file nobody sees says nothing to whoever reads at the wheel
        raise BadInput(replace(one, where=place_of(first)) for one in fault.problems) from fault
    return [by_id[str(row.pk)] for row in rows if str(row.pk) in by_id]


def _new_thickness(row: Reading) -> Quantity | None:
    """Return how thick the linings fitted there at that moment were when new, where that is on file."""
    if row.kind != "lining":
        return None
    fitted = Q(removed_at=None) | Q(removed_at__gt=row.taken_at)
    part = FittedPart.objects.filter(
        fitted, unit=row.unit, axle=row.axle, side=row.side, slot="lining", fitted_at__lte=row.taken_at
    ).first()
    text = None if part is None else part.spec.get("new_thickness")
    return None if text is None else read_quantity(text, "length", where="new_thickness")


def place_of(row: Reading) -> str:
    """Return where a reading was taken, as messages name a place: ``K-12, axle 2, left``."""
    return ", ".join(filter(None, (row.unit.number, f"axle {row.axle}" if row.axle else "", row.side)))
