"""Walk-around files handed in for the shop's units: read by the core, held against what is on file, then entered."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import asdict, is_dataclass
from datetime import datetime
from fractions import Fraction
from pathlib import PurePath
from typing import Any

from django.db import transaction

from treadle.assess import vocabulary
from treadle.errors import BadInput, Problem
from treadle.fleet.read import read_walkaround
from treadle.fleet.records import SIDES, Reading, Taken, WheelEnd
from treadle.fleet.records import Unit as UnitRecord
from treadle.fleet.records import WalkAround as Record
from treadle.fleet.tables import TABLES, walkaround_from_csv, walkaround_from_xlsx
from treadle.measure import Quantity, show_number
from treadle.rules.load import shipped
from treadle.web.people.models import Person, Role, Shop
from treadle.web.units.models import Unit
from treadle.web.units.to_core import record_from, units_as_file
from treadle.web.walkaround import enter
from treadle.web.walkaround.judge import judge_file, keep, work_out_standings
from treadle.web.walkaround.models import Judged, WalkAround, WalkedUnit
from treadle.web.walkaround.to_core import as_file

_PADS = ("inner", "outer")


def read_files(files: Mapping[str, bytes], *, occasion: str | None) -> Record:
    """Read a walk-around from one .json or .xlsx file, or from the three .csv tables together.

    Parameters
    ----------
    files : mapping
        Name to content.
    occasion : str or None
        The occasion of tables that state none.

    Raises
    ------
    BadInput
        It is none of these, or what stands in it cannot be used.
    """
    words = vocabulary(shipped())
    kinds = {PurePath(name).suffix.lower() for name in files}
    if kinds == {".csv"}:
        texts = {PurePath(name).stem: _text(name, content) for name, content in files.items()}
        missing = next((table for table in TABLES if table not in texts), None)
        if missing is not None:
            details = {"given": f"{missing}.csv", "allowed": ", ".join(f"{table}.csv" for table in TABLES)}
            raise BadInput(Problem("missing_table", ", ".join(files), details))
        return walkaround_from_csv(texts, words, occasion=occasion)
    (name, content), *more = files.items()
    if more or not kinds <= {".json", ".xlsx"}:
        raise BadInput(Problem("unknown_file_type", ", ".join(files), {"given": ", ".join(sorted(kinds))}))
    if kinds == {".json"}:
        return read_walkaround(_text(name, content), words)
    return walkaround_from_xlsx(content, words, occasion=occasion, name=name)


def _text(name: str, content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise BadInput(Problem("unreadable_file", name, {"reason": "not UTF-8 text"})) from fault


@transaction.atomic
def hand_in(record: Record, *, shop: Shop, by: Person, now: datetime) -> Judged:
    """Enter a walk-around that was read from a file, judge it by the rules of its day and keep both; once.

    Raises
    ------
    BadInput
        A unit is not registered or differs from what is on file, more than one combination stands in the file, or a
        reading cannot be so.
    """
    units = _registered(record)
    walk_id = uuid.uuid5(shop.pk, _written(record))
    known = Judged.objects.filter(walk_around=walk_id).order_by("-entered_at").first()
    if known is not None:
        return known  # type: ignore[no-any-return]
    walker = _walker(record.taken.by, by)
    sent_by = None if walker == by else by
    walk = WalkAround(
        id=walk_id,
        occasion=record.occasion,
        begun_at=record.taken.at,
        zone=shop.zone,
        combination=[unit.number for unit in units],
        circumstances=_circumstances(record.taken),
        touched=None if record.touched is None else [_end(*end) for end in sorted(record.touched)],
        entered_by=walker,
        entered_zone=shop.zone,
        sent_by=sent_by,
    )
    walk.save(force_insert=True)
    for position, unit in enumerate(units):
        shown = record.meter.get(unit.number)
        WalkedUnit(walk_around=walk, unit=unit, position=position, meter="" if shown is None else str(shown)).save()
    problems: list[Problem] = []
    for number, reading in enumerate(record.readings):
        try:
            enter.take(_entry(reading, number, walk), by=walker, sent_by=sent_by, shop=shop, now=now)
        except BadInput as refused:
            problems += refused.problems
    if problems:
        raise BadInput(problems)
    walk.finished_at = now
    walk.save(update_fields=["finished_at"])
    file = as_file(walk)
    _, assessment = judge_file(file, shop, at=record.taken.at)
    row = keep(Judged.About.WALK_AROUND, file, assessment, units, shop=shop, by=by, walk_around=walk)
    work_out_standings(units, shop=shop, by=by, at=now)
    return row


# -- held against what is on file


def _registered(record: Record) -> list[Unit]:
    """Return the shop's units that a file is about, in the order coupled; refuse what is not as it is on file."""
    coupled = record.coupled
    if len(coupled) > 1:
        groups = "; ".join(" + ".join(numbers) for numbers in coupled)
        raise BadInput(Problem("several_combinations", "file", {"given": groups}))
    rows = {unit.number: unit for unit in Unit.objects.filter(number__in=coupled[0], left_fleet_on=None)}
    strangers = [number for number in coupled[0] if number not in rows]
    if strangers:
        raise BadInput(Problem("unit_not_registered", number) for number in strangers)
    held = {entry["number"]: record_from(entry) for entry in units_as_file(list(rows.values()))}
    problems = [problem for unit in record.units for problem in differences(unit, held[unit.number])]
    if problems:
        raise BadInput(problems)
    return [rows[number] for number in coupled[0]]


def differences(given: UnitRecord, held: UnitRecord) -> list[Problem]:
    """Return what a file states of a unit that is not so on file; what it leaves open contradicts nothing."""
    found = [
        _differs(given.number, name, here, there)
        for name, here, there in (
            ("kind", given.kind, held.kind),
            ("built", given.built.text, held.built.text),
            ("runs_in", " ".join(sorted(given.runs_in)), " ".join(sorted(held.runs_in))),
            ("axles", len(given.axles), len(held.axles)),
        )
        if here != there
    ]
    for one, other in zip(given.axles, held.axles, strict=False):
        where = f"{given.number}, axle {one.number}"
        if one.role != other.role:
            found.append(_differs(where, "role", one.role, other.role))
        if one.gawr is not None and one.gawr != other.gawr:
            found.append(_differs(where, "gawr", one.gawr, other.gawr))
        for side in SIDES:
            found += _of_an_end(f"{where}, {side}", one.end(side), other.end(side))
    return found


def _of_an_end(where: str, given: WheelEnd, held: WheelEnd) -> Iterator[Problem]:
    there = dict(_facts(held))
    for name, value in _facts(given):
        if value != there.get(name):
            yield _differs(where, name, value, there.get(name))


def _facts(end: WheelEnd) -> Iterator[tuple[str, str]]:
    """Return what is stated of a wheel end, as name and value: ``chamber.type``, ``30``."""
    for name in WheelEnd.__slots__:
        value = getattr(end, name)
        if is_dataclass(value) and not isinstance(value, Quantity | type):
            for inner in asdict(value):
                stated = getattr(value, inner)
                if stated is not None:
                    yield f"{name}.{inner}", str(stated)
        elif value is not None:
            yield name, str(value)


def _differs(where: str, name: str, given: Any, held: Any) -> Problem:
    return Problem("unit_differs", where, {"field": name, "given": given, "held": "–" if held is None else held})


# -- from records to entries


def _walker(name: str, by: Person) -> Person:
    """Return the person of the shop who is named as having walked, if they may measure; else who hands the file in."""
    named = Person.objects.filter(name=name, is_active=True).first()
    return named if named is not None and named.may(*enter.MAY_MEASURE, Role.DRIVER) else by


def _written(record: Record) -> str:
    return json.dumps(asdict(record), default=str, sort_keys=True)


def _entry(reading: Reading, number: int, walk: WalkAround) -> dict[str, Any]:
    """Return a reading as the entry a phone would send."""
    part = {"pad" if reading.part in _PADS else "shoe": reading.part} if reading.part else {}
    stated = {
        "value": _as_read(reading.value),
        "special": reading.special,
        "place": reading.place,
        "state": reading.state,
        "start": _as_read(reading.start),
        "end": _as_read(reading.end),
        "seconds": _seconds(reading.seconds),
        "rpm": reading.rpm,
        "what": reading.what,
        "reason": reading.reason,
        **_circumstances(reading.taken),
    }
    return {
        "id": str(uuid.uuid5(walk.pk, str(number))),
        "walk_around": str(walk.pk),
        "unit": reading.unit,
        "axle": reading.axle,
        "side": reading.side,
        "kind": reading.kind,
        "at": reading.taken.at.isoformat(),
        "zone": walk.zone,
        **part,
        **{name: value for name, value in stated.items() if value is not None},
    }


def _seconds(seconds: Fraction | None) -> int | str | None:
    """Return a time as the file writes it: whole seconds, else a decimal as text."""
    if seconds is None:
        return None
    return int(seconds) if seconds.denominator == 1 else show_number(seconds, "s")


def _as_read(value: Quantity | str | None) -> str | None:
    """Return a quantity as it was typed in the file, with its unit."""
    if isinstance(value, Quantity):
        return value.shown
    return value


def _circumstances(taken: Taken) -> dict[str, str]:
    stated = {
        "reservoir": None if taken.reservoir is None else str(taken.reservoir),
        "engine": taken.engine,
        "spring_brakes": taken.spring_brakes,
        "supply": taken.supply,
    }
    return {name: value for name, value in stated.items() if value is not None}


def _end(unit: str, axle: int, side: str) -> dict[str, Any]:
    return {"unit": unit, "axle": axle, "side": side}
