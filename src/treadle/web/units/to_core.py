"""Rows of units become the entries of a walk-around file, from which the core reads its records."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from functools import cache
from typing import Any
from uuid import UUID

from treadle.assess import vocabulary
from treadle.fleet.read import Vocabulary, records_from
from treadle.fleet.records import Unit as Record
from treadle.rules.load import shipped
from treadle.web.units.models import Axle, FittedPart, Unit

OF_THE_FILE = {
    "foundation": ("brake", "rod_visible", "abs", "spring_brake"),
    "lining": ("lining_form", "lining_attachment", "lining_type", "wear_mark"),
    "chamber": ("design", "type", "stroke_class", "rated_stroke", "marked_limit"),
    "adjuster": ("kind", "arm"),
    "drum": ("nominal", "discard"),
    "rotor": ("nominal", "discard"),
}
"""The fields of a part's spec that stand in the walk-around file; others are for the bay."""
_ONE_FIELD = frozenset({"chamber", "adjuster", "drum", "rotor"})
"""Slots that are one field of the file with fields inside; the others lie flat on the wheel end."""


def units_as_file(
    units: Sequence[Unit], at: datetime | None = None, *, only_axle: int | None = None
) -> list[dict[str, Any]]:
    """Return the units as the walk-around file states them, with what was fitted at a moment (now if left out).

    With `only_axle` the other axles stand there without brakes: enough to read what was measured at that one.
    """
    ids = [unit.pk for unit in units]
    fitted = parts_fitted(ids, at, only_axle=only_axle)
    axles: dict[UUID, list[Axle]] = {}
    for axle in Axle.objects.filter(unit__in=ids).order_by("number"):
        axles.setdefault(axle.unit_id, []).append(axle)
    return [
        {
            "number": unit.number,
            "kind": unit.kind,
            "built": unit.built,
            "runs_in": unit.runs_in,
            "axles": [_axle(axle, fitted.get(unit.pk, ())) for axle in axles.get(unit.pk, ())],
        }
        for unit in units
    ]


def record_of_unit(unit: Unit) -> Record:
    """Return the core's record of a unit as it stands now.

    Raises
    ------
    BadInput
        What is recorded of it does not make a whole vehicle: an air brake without a chamber, say.
    """
    return record_from(units_as_file([unit])[0])


def record_from(entry: dict[str, Any]) -> Record:
    """Return the core's record of one unit as the walk-around file states it; it refuses as `record_of_unit` does."""
    file = {
        "treadle": "walkaround/1",
        "occasion": "service",
        "units": [entry],
        "taken": {"at": datetime.min.replace(tzinfo=UTC).isoformat(), "by": entry["number"]},
        "readings": [],
    }
    return records_from(file, words_known()).units[0]


@cache
def words_known() -> Vocabulary:
    """Return the words that a record may use: the jurisdictions and conditions of the rules as shipped."""
    return vocabulary(shipped())


def parts_fitted(
    units: Iterable[UUID], at: datetime | None = None, *, only_axle: int | None = None
) -> dict[UUID, list[FittedPart]]:
    """Return the parts fitted at a moment (now if left out), by unit; of one axle alone where it is given."""
    rows = FittedPart.objects.filter(unit__in=list(units))
    if only_axle is not None:
        rows = rows.filter(axle=only_axle)
    rows = rows.filter(removed_at=None) if at is None else rows.filter(fitted_at__lte=at).exclude(removed_at__lte=at)
    fitted: dict[UUID, list[FittedPart]] = {}
    for part in rows:
        fitted.setdefault(part.unit_id, []).append(part)
    return fitted


def _axle(axle: Axle, parts: Iterable[FittedPart]) -> dict[str, Any]:
    """Return an axle; what both ends share stands on it, the rest at the end it belongs to."""
    left, right = (_end(axle, side, parts) for side in ("left", "right"))
    both = {name: value for name, value in left.items() if right.get(name) == value}
    entry: dict[str, Any] = {"role": axle.role, **both}
    if axle.gawr:
        entry["gawr"] = axle.gawr
    entry.setdefault("brake", left.get("brake", "none"))
    entry["left"] = {name: value for name, value in left.items() if name not in both}
    entry["right"] = {name: value for name, value in right.items() if name not in both}
    return entry


def _end(axle: Axle, side: str, parts: Iterable[FittedPart]) -> dict[str, Any]:
    entry: dict[str, Any] = {}
    for part in parts:
        names = OF_THE_FILE.get(part.slot)
        if (part.axle, part.side) != (axle.number, side) or names is None:
            continue
        stated = {name: part.spec[name] for name in names if part.spec.get(name) not in (None, "")}
        if part.slot in _ONE_FIELD:
            entry[part.slot] = stated
        else:
            entry.update(stated)
    return entry


def bay_facts(unit: Unit, axle: Axle, parts: Iterable[FittedPart]) -> dict[str, Any]:
    """Return what the bay must know of an axle beyond the walk-around file; an unknown fact is None."""
    here = [part for part in parts if part.axle == axle.number]

    def stated(slot: str, name: str) -> Any:
        return _agreed(part.spec.get(name) for part in here if part.slot == slot)

    return {
        "suspension": None if unit.suspension == "unknown" else unit.suspension,
        "mounting": stated("wheel", "mounting"),
        "studs": stated("wheel", "studs"),
        "duals": axle.dual,
        "drum_fit": stated("drum", "fit"),
        "adjuster_release": stated("adjuster", "release"),
    }


def _agreed(values: Iterable[Any]) -> Any:
    """Return the one value that all give; None where they differ or none is known."""
    known = set(values)
    return known.pop() if len(known) == 1 else None
