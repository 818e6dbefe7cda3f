"""Rows of walk-arounds become walk-around files: one going-round by itself, or units as they were last seen."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from treadle.assess import Policy, read_confirmed, read_policy, vocabulary
from treadle.fleet.doubts import CLOCKS_MAY_DIFFER
from treadle.fleet.read import records_from
from treadle.fleet.records import WalkAround as Record
from treadle.rules.load import shipped
from treadle.web.people.models import ConfirmedLimit, Shop
from treadle.web.units.models import FittedPart, Unit
from treadle.web.units.to_core import parts_fitted, units_as_file
from treadle.web.walkaround.models import Reading, WalkAround

AGE_DAYS = 90
"""Days after which a reading no longer counts as seen, until the shop sets its own (design, section 3)."""

_SINCE = {
    "applied_stroke": ("chamber", "adjuster", "lining"),
    "free_stroke": ("chamber", "adjuster", "lining"),
    "rod_released": ("chamber", "adjuster", "lining"),
    "rod_applied": ("chamber", "adjuster", "lining"),
    "cam_angle": ("adjuster", "lining"),
    "lining": ("lining",),
    "above_fastener": ("lining",),
    "wear_indicator": ("lining",),
    "running_clearance": ("lining",),
    "scribe_movement": ("lining",),
    "drum_diameter": ("drum",),
    "rotor_thickness": ("rotor",),
    "condition": ("lining", "chamber", "adjuster", "drum", "rotor"),
    "tags": ("chamber", "adjuster"),
}
"""The parts a reading is about: one taken before any of them was fitted says nothing of what is there now."""
_TOGETHER = {"rod_released": "stroke", "rod_applied": "stroke", "applied_stroke": "stroke"}
"""Kinds of which the later walk-around's replace the earlier's as one."""
_CIRCUMSTANCES = ("reservoir", "engine", "spring_brakes", "supply")
_REPEATABLE = frozenset({"condition", "drum_diameter", "rotor_thickness"})
"""Kinds of which several stand beside each other at one place."""
LISTED_FOR = timedelta(days=400)
"""How far back readings are looked at: those past the shop's age are named as too old, older ones are history."""


def as_file(walk_around: WalkAround) -> dict[str, Any]:
    """Return a walk-around as the file it would be: its units as they stood then, and its own readings that stand."""
    walked = list(walk_around.walked.select_related("unit"))
    units = [one.unit for one in walked]
    zone = ZoneInfo(walk_around.zone)
    entry: dict[str, Any] = {
        "treadle": "walkaround/1",
        "occasion": walk_around.occasion,
        "combinations": [walk_around.combination] if len(walk_around.combination) > 1 else [],
        "units": units_as_file(units, walk_around.finished_at),
        "taken": {
            "at": walk_around.begun_at.astimezone(zone).isoformat(),
            "by": walk_around.entered_by.name,
            "meter": {one.unit.number: one.meter for one in walked if one.meter},
            **walk_around.circumstances,
        },
        "readings": [as_entry(row) for row in _own_readings(walk_around, units)],
    }
    if walk_around.touched is not None:
        entry["touched"] = walk_around.touched
    return entry


def _own_readings(walk_around: WalkAround, units: Sequence[Unit]) -> list[Reading]:
    """Return the readings of a walk-around that stand; after work, those of a part since replaced say nothing more."""
    rows = one_at_a_time(standing(walk_around.readings.select_related("unit", "entered_by", "walk_around")))
    if walk_around.occasion != "after_work":
        return rows
    return of_what_is_fitted(rows, units, walk_around.finished_at)


def of_what_is_fitted(rows: Iterable[Reading], units: Sequence[Unit], at: datetime | None = None) -> list[Reading]:
    """Return the readings that speak of what is fitted at a moment (now if left out), not of a part since replaced."""
    since = _fitted_since(parts_fitted([unit.pk for unit in units], at))
    return [row for row in rows if row.taken_at >= _oldest_that_counts(row, since)]


def as_file_of_place(row: Reading) -> dict[str, Any]:
    """Return what was read at one place of a walk-around as a file of its own; a unit's tests, of all units coupled."""
    walk = row.walk_around
    if row.axle is None:
        units = [one.unit for one in walk.walked.select_related("unit")]
        rows = walk.readings.filter(unit__in=units, axle=None)
    else:
        units = [row.unit]
        rows = walk.readings.filter(unit=row.unit, axle=row.axle, side=row.side)
    rows = rows.select_related("unit", "entered_by", "walk_around")
    return {
        "treadle": "walkaround/1",
        "occasion": walk.occasion,
        "combinations": [[unit.number for unit in units]] if len(units) > 1 else [],
        "units": units_as_file(units, only_axle=row.axle),
        "taken": {"at": walk.begun_at.astimezone(ZoneInfo(walk.zone)).isoformat(), "by": row.entered_by.name},
        "readings": [as_entry(one) for one in one_at_a_time(standing(rows))],
    }


def as_last_seen(units: Sequence[Unit], *, at: datetime, occasion: str, by: str, zone: str) -> dict[str, Any]:
    """Return units, coupled in the order given, with the last reading of each kind since the part was fitted.

    A reading that cannot be so, or was noted as not seen, leaves the one before it standing, with its age.

    Parameters
    ----------
    units : sequence of Unit
        From the front.
    at : datetime
        The moment it is asked at; readings after it do not count.
    occasion : str
        What is asked: service, or daily.
    by : str
        Who asks.
    zone : str
        The shop's zone.
    """
    ids = [unit.pk for unit in units]
    rows = Reading.objects.filter(unit__in=ids, taken_at__lte=at + CLOCKS_MAY_DIFFER, taken_at__gt=at - LISTED_FOR)
    rows = rows.filter(walk_around__abandoned_at=None).select_related("unit", "entered_by", "walk_around")
    kept = one_at_a_time(_last_of_each(standing(rows), parts_fitted(ids)))
    return {
        "treadle": "walkaround/1",
        "occasion": occasion,
        "combinations": [[unit.number for unit in units]] if len(units) > 1 else [],
        "units": units_as_file(units),
        "taken": {"at": at.astimezone(ZoneInfo(zone)).isoformat(), "by": by},
        "readings": [as_entry(row) for row in kept],
    }


def record_of(file: dict[str, Any]) -> Record:
    """Return the core's record of a walk-around file made here."""
    return records_from(file, vocabulary(shipped()))


def as_entry(row: Reading) -> dict[str, Any]:
    """Return a reading as the file writes it; one that cannot be so is written as not seen, with its reason.

    It carries the circumstances it was taken in: its own, else those set for its walk-around.
    """
    stated = row.walk_around.circumstances
    stamp: dict[str, Any] = {
        "id": str(row.pk),
        "unit": row.unit.number,
        "at": row.taken_at.astimezone(ZoneInfo(row.taken_zone)).isoformat(),
        "by": row.entered_by.name,
        **{name: stated[name] for name in _CIRCUMSTANCES if stated.get(name)},
    }
    if row.axle is not None:
        stamp |= {"axle": row.axle, "side": row.side}
    if row.doubt:
        parts = {name: row.fields[name] for name in ("shoe", "pad") if name in row.fields}
        return {**stamp, **parts, "kind": "not_seen", "what": row.kind, "reason": row.stated_reason or row.doubt}
    return {**stamp, "kind": row.kind, **row.fields}


def standing(rows: Iterable[Reading]) -> list[Reading]:
    """Return the readings that stand: neither corrected nor withdrawn by a later row, and no mere withdrawals."""
    rows = list(rows)
    replaced = {row.corrects_id for row in rows if row.corrects_id is not None}
    return [row for row in rows if row.pk not in replaced and not row.withdraws]


def one_at_a_time(rows: Iterable[Reading]) -> list[Reading]:
    """Return readings, of those of one place, kind and moment only what was entered last.

    Two people may key one stroke at the same moment; the file has no way to say which came later.
    """
    kept: dict[tuple[Any, ...], Reading] = {}
    for row in sorted(rows, key=lambda row: (row.taken_at, row.entered_at)):
        alone = row.pk if row.kind in _REPEATABLE and not row.doubt else None
        kept[row.taken_at, row.fields.get("supply"), alone, *_group(row)] = row
    return list(kept.values())


def policy_of(shop: Shop, on: date) -> Policy:
    """Return the shop's policy in the form the judge takes; its age limit is ours until the shop sets its own."""
    written = {"treadle": "policy/1", "age": {"days": AGE_DAYS}} | (shop.policy or {})
    return _policy(json.dumps(written), json.dumps(confirmed_by(shop)), on, frozenset(shop.runs_in))


@lru_cache(maxsize=64)
def _policy(written: str, confirmed: str, on: date, runs_in: frozenset[str]) -> Policy:
    """Read a policy once: the judge keeps what it worked out under one and the same policy."""
    rules = shipped()
    policy = read_policy(written, rules, on, jurisdictions=runs_in)
    ids = read_confirmed(confirmed, rules, today=on)
    return Policy(policy.near, policy.age_days, policy.age_miles, policy.unseen_blocks, policy.rules, ids)


def confirmed_by(shop: Shop) -> dict[str, Any]:
    """Return the limits that somebody of the shop has read in the official text, as the file states them."""
    rows = ConfirmedLimit.objects.filter(shop=shop).select_related("by")
    limits = [{"rule": row.rule, "edition": row.edition, "by": row.by.name, "on": row.on.isoformat()} for row in rows]
    return {"treadle": "confirmed/1", "limits": limits}


def _last_of_each(rows: Sequence[Reading], fitted: dict[UUID, list[FittedPart]]) -> list[Reading]:
    """Keep, of each kind at each place, the last walk-around's readings since its parts were fitted."""
    since = _fitted_since(fitted)
    groups: dict[tuple[Any, ...], dict[UUID, list[Reading]]] = defaultdict(lambda: defaultdict(list))
    for row in rows:
        if row.taken_at >= _oldest_that_counts(row, since):
            groups[_together(row)][row.walk_around_id].append(row)
    kept = [max(walks.values(), key=lambda one: max(row.taken_at for row in one)) for walks in groups.values()]
    chosen = [row for group in kept for row in group]
    return sorted(_without_overtaken_blanks(chosen), key=lambda row: (row.taken_at, row.entered_at))


def _group(row: Reading) -> tuple[Any, ...]:
    return (row.unit_id, row.axle, row.side, *_what(row))


def _what(row: Reading) -> tuple[Any, ...]:
    """Return what a row is about: the kind, the shoe or pad, the place on it and the state, or that it was not seen."""
    fields = row.fields
    part = fields.get("shoe") or fields.get("pad")
    if _is_blank(row):
        return ("not_seen", _kind_of(row), part)
    return (row.kind, part, fields.get("place"), fields.get("state"))


def _is_blank(row: Reading) -> bool:
    """Whether a row says only that something was not seen, or gives what cannot be so."""
    return row.kind == "not_seen" or bool(row.doubt)


def _kind_of(row: Reading) -> str:
    """Return the kind of reading a row gives, or says was not seen."""
    return row.fields.get("what", "") if row.kind == "not_seen" else row.kind


def _together(row: Reading) -> tuple[Any, ...]:
    """Return the group of which the last walk-around's rows count: a stroke is one, however it was measured."""
    unit, axle, side, kind, *rest = _group(row)
    return (unit, axle, side, _TOGETHER.get(kind, kind), *rest)


def _fitted_since(fitted: dict[UUID, list[FittedPart]]) -> dict[tuple[UUID, int, str, str], datetime]:
    return {(unit, part.axle, part.side, part.slot): part.fitted_at for unit, parts in fitted.items() for part in parts}


def _oldest_that_counts(row: Reading, since: dict[tuple[UUID, int, str, str], datetime]) -> datetime:
    """Return the moment from which a reading speaks of what is there now: when the newest of its parts was fitted."""
    slots = _SINCE.get(_kind_of(row), ())
    moments = [since[key] for slot in slots if (key := (row.unit_id, row.axle, row.side, slot)) in since]
    return max(moments, default=row.taken_at)


def _without_overtaken_blanks(rows: Sequence[Reading]) -> list[Reading]:
    """Leave out what was not seen where there is a reading of it: an older one still stands, with its age."""
    read = {_seen_at(row) for row in rows if not _is_blank(row)}
    return [row for row in rows if not _is_blank(row) or _seen_at(row) not in read]


def _seen_at(row: Reading) -> tuple[Any, ...]:
    """Return the place and the kind of reading, a stroke being one however it was measured."""
    kind = _kind_of(row)
    part = row.fields.get("shoe") or row.fields.get("pad")
    return (row.unit_id, row.axle, row.side, _TOGETHER.get(kind, kind), part)
