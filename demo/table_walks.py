"""The simulated walk-arounds as rows: readings, assessments by the real judge, drivers' reports."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import connection

from demo.records import DriverReport, History, WalkAround
from demo.table_units import Books, insert, insert_with_history, note_history
from treadle.web.walkaround import models as rows
from treadle.web.walkaround.judge import judge_file
from treadle.web.walkaround.to_core import confirmed_by

_PLACE = frozenset({"unit", "axle", "side", "kind", "at", "by"})
"""Fields of a reading that are columns; all others are kept as the file has them."""
_CIRCUMSTANCES = ("reservoir", "engine", "spring_brakes", "supply")


def enter_walks(books: Books, walks: Iterable[WalkAround], *, changes: bool = True) -> dict[UUID, list[UUID]]:
    """Enter walk-arounds with their readings, and with the history of the rows' changes where it is wanted.

    Returns the ids of the readings, by walk-around, in the file's order.
    """
    found, begun, ended, walked = [], [], [], []
    readings = _Readings(books)
    ids: dict[UUID, list[UUID]] = {}
    for walk in walks:
        row = _walk(books, walk)
        by = row.entered_by_id
        found.append(row)
        begun.append((_walk(books, walk, begun=True), walk.begun_at, by))
        ended.append((row, walk.finished_at, by))
        meters = walk.file["taken"]["meter"]
        walked += [
            rows.WalkedUnit(
                shop_id=books.shop.pk,
                walk_around_id=walk.id,
                unit_id=books.units[number].pk,
                position=position,
                meter=meters.get(number, ""),
            )
            for position, number in enumerate(walk.units)
        ]
        ids[walk.id] = readings.take(walk)
    insert_with_history(found, begun if changes else ())
    if changes:
        note_history(rows.WalkAround, ended, changed=True)
    insert(walked)
    readings.write()
    return ids


def _walk(books: Books, walk: WalkAround, *, begun: bool = False) -> rows.WalkAround:
    taken = walk.file["taken"]
    return rows.WalkAround(
        id=walk.id,
        occasion=walk.occasion,
        begun_at=walk.begun_at,
        zone=books.shop.zone,
        finished_at=None if begun else walk.finished_at,
        combination=(walk.file["combinations"] or [list(walk.units)])[0],
        circumstances={name: taken[name] for name in _CIRCUMSTANCES if name in taken},
        touched=walk.file.get("touched"),
        for_job=walk.for_job,
        **books.stamp(walk.by, walk.begun_at),
    )


class _Readings:
    """Writes readings, of which a large fleet has a million: the same rows as the model's, made ready by hand."""

    def __init__(self, books: Books) -> None:
        self.books = books
        self.columns = [str(field.column) for field in rows.Reading._meta.concrete_fields]
        self.found: list[dict[str, Any]] = []
        self.blank = {
            str(field.column): "" if field.get_internal_type() in ("CharField", "FileField") else None
            for field in rows.Reading._meta.concrete_fields
        } | {"shop_id": _uuid(books.shop.pk), "withdraws": False}
        self.texts: dict[tuple[Any, ...], Any] = {}

    def take(self, walk: WalkAround) -> list[UUID]:
        """Take the readings of a walk-around; return their ids."""
        units = {number: _uuid(self.books.units[number].pk) for number in walk.units}
        walk_id, zone, ids = _uuid(walk.id), self.books.shop.zone, []
        moments: dict[str, Any] = {"": connection.ops.adapt_datetimefield_value(walk.begun_at)}
        for reading in walk.file["readings"]:
            at = reading.get("at", "")
            if at not in moments:
                moments[at] = connection.ops.adapt_datetimefield_value(datetime.fromisoformat(at))
            pk = uuid4()
            ids.append(pk)
            self.found.append(
                self.blank
                | {
                    "id": _uuid(pk),
                    "walk_around_id": walk_id,
                    "unit_id": units[reading["unit"]],
                    "axle": reading.get("axle"),
                    "side": reading.get("side", ""),
                    "kind": reading["kind"],
                    "fields": self._text(reading),
                    "taken_at": moments[at],
                    "taken_zone": zone,
                    "entered_at": moments[at],
                    "entered_zone": zone,
                    "entered_by_id": _uuid(self.books.person(reading.get("by", walk.by)).pk),
                }
            )
        return ids

    def write(self) -> None:
        """Write what was taken."""
        names = ", ".join(connection.ops.quote_name(name) for name in self.columns)
        places = ", ".join(["%s"] * len(self.columns))
        table = connection.ops.quote_name(rows.Reading._meta.db_table)
        statement = f"INSERT INTO {table} ({names}) VALUES ({places})"  # noqa: S608 - names of the model's own columns
        with connection.cursor() as cursor:
            cursor.executemany(statement, [[row[name] for name in self.columns] for row in self.found])

    def _text(self, reading: dict[str, Any]) -> Any:
        kept = tuple((name, value) for name, value in reading.items() if name not in _PLACE)
        if kept not in self.texts:
            self.texts[kept] = connection.ops.adapt_json_value(dict(kept), None)
        return self.texts[kept]


def _uuid(value: UUID) -> UUID | str:
    """Return an id as this database keeps it."""
    return value if connection.features.has_native_uuid_field else value.hex


def judge_walks(books: Books, walks: Iterable[WalkAround], ids: dict[UUID, list[UUID]]) -> dict[UUID, rows.Judged]:
    """Judge walk-arounds by the rules and the shop's policy of their day, and keep the assessments as the app does."""
    found = {}
    policy = {"policy": books.shop.policy, "confirmed": confirmed_by(books.shop)}
    for walk in walks:
        file = _with_ids(walk, ids[walk.id])
        _, assessment = judge_file(file, books.shop, at=walk.finished_at)
        found[walk.id] = rows.Judged(
            about=rows.Judged.About.WALK_AROUND,
            walk_around_id=walk.id,
            on=assessment.on,
            occasion=assessment.occasion,
            edition=assessment.edition,
            outcome=assessment.outcome,
            inputs=file,
            result=assessment.as_json(books.shop.language),
            policy=policy,
            **books.stamp(walk.by, walk.finished_at),
        )
    insert(list(found.values()))
    link = rows.Judged.units.through
    link.objects.bulk_create(
        [
            link(judged_id=row.pk, unit_id=books.units[unit["number"]].pk)
            for row in found.values()
            for unit in row.inputs["units"]
        ],
        batch_size=2000,
    )
    return found


def _with_ids(walk: WalkAround, ids: list[UUID]) -> dict[str, Any]:
    """Return the file with the ids of its rows, and with every moment stated, as the app writes it."""
    at = walk.begun_at.isoformat()
    readings = [
        {"id": str(pk), "at": at, "by": walk.by, **reading}
        for pk, reading in zip(ids, walk.file["readings"], strict=True)
    ]
    return {**walk.file, "readings": readings}


def last_walks(history: History, *, daily: bool) -> list[WalkAround]:
    """Return the last whole walk-around of each unit; with `daily`, its last daily one too."""
    last: dict[tuple[str, bool], WalkAround] = {}
    for walk in history.walk_arounds:
        is_daily = walk.occasion == "daily"
        if walk.is_part or (is_daily and not daily):
            continue
        for number in walk.units:
            last[number, is_daily] = walk
    return list({walk.id: walk for walk in last.values()}.values())


def enter_reports(books: Books, reports: Iterable[DriverReport]) -> None:
    """Enter what drivers reported and what was answered."""
    found, answers = [], []
    for report in reports:
        row = rows.DriverReport(
            id=report.id,
            unit=books.units[report.unit],
            at=report.at,
            zone=books.shop.zone,
            where=report.where,
            meter=report.meter,
            axle=report.axle,
            side=report.side,
            condition=report.condition,
            said=report.said,
            **books.stamp(report.by, report.at),
        )
        found.append(row)
        answers += [
            rows.DriverReportAnswer(report=row, what=one.what, said=one.said, **books.stamp(one.by, one.at))
            for one in report.answers
        ]
    insert(found)
    insert(answers)
