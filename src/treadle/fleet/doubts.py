"""Readings that can be read and yet cannot be so: asked about at the screen, and unseen to the judge if kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from treadle.fleet.records import Reading
from treadle.measure import Quantity, read_quantity

CLOCKS_MAY_DIFFER = timedelta(minutes=5)
"""How far ahead of the shop's clock a phone may be before its time counts as the future (chosen)."""

THICKER_THAN_ANY = read_quantity("1 in", "length", where="thicker_than_any")
"""No lining or pad is thicker when new; more is a slip of the hand, or read with its shoe or plate (chosen)."""

STROKES = frozenset({"applied_stroke", "free_stroke", "rod_released", "rod_applied"})
"""What is measured along the rod, and so bears on each other at one wheel end."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a reading cannot be so: `code` names the sentence under ``doubt``, `details` fill it."""

    code: str
    details: dict[str, Any] = field(default_factory=dict)


def doubts(
    reading: Reading, *, at_the_same_end: Iterable[Reading], new_thickness: Quantity | None, now: datetime
) -> list[Doubt]:
    """Return why a reading cannot be so; empty when nothing speaks against it.

    Parameters
    ----------
    reading : Reading
        The reading.
    at_the_same_end : iterable of Reading
        Other readings of that wheel end on the same walk-around; of two of a kind the later one counts.
    new_thickness : Quantity or None
        Thickness of its linings when new, where known. [length]
    now : datetime
        The moment it is judged at, with its zone.

    Returns
    -------
    list of Doubt
        ``in_the_future``, ``applied_less_than_free``, ``mark_went_back``, ``thicker_than_new``,
        ``thicker_than_any``.
    """
    found = []
    if reading.taken.at > now + CLOCKS_MAY_DIFFER:
        found.append(Doubt("in_the_future", {"at": reading.taken.at.isoformat(timespec="minutes")}))
    if reading.kind in STROKES:
        found += _along_the_rod(reading, at_the_same_end)
    if reading.kind == "lining" and isinstance(reading.value, Quantity):
        found += _thicker(reading.value, new_thickness)
    return found


def _thicker(size: Quantity, new: Quantity | None) -> list[Doubt]:
    """Hold a lining against what it was when new, where that is known, else against any lining there is."""
    if new is not None and _more(size, new):
        return [Doubt("thicker_than_new", {"given": str(size), "new": str(new)})]
    if _more(size, THICKER_THAN_ANY):
        return [Doubt("thicker_than_any", {"given": str(size), "most": str(THICKER_THAN_ANY)})]
    return []


def _along_the_rod(reading: Reading, others: Iterable[Reading]) -> list[Doubt]:
    """Hold the strokes of one wheel end against each other, where this reading is one of the two."""
    sizes = _latest_of_each(reading, others)
    released, applied_mark = sizes.get("rod_released"), sizes.get("rod_applied")
    if reading.kind in ("rod_released", "rod_applied"):
        if released and applied_mark and _more(released, applied_mark):
            return [Doubt("mark_went_back", {"applied": str(applied_mark), "released": str(released)})]
        applied = _between(released, applied_mark)
    else:
        applied = sizes.get("applied_stroke") or _between(released, applied_mark)
    free = sizes.get("free_stroke")
    if applied and free and _more(free, applied):
        return [Doubt("applied_less_than_free", {"applied": str(applied), "free": str(free)})]
    return []


def _latest_of_each(reading: Reading, others: Iterable[Reading]) -> Mapping[str, Quantity]:
    """Return the size that counts of each kind: the reading's own, else the latest of the others."""
    sizes: dict[str, Quantity] = {}
    for one in [reading, *sorted(others, key=lambda other: other.taken.at, reverse=True)]:
        if one.kind in STROKES and isinstance(one.value, Quantity):
            sizes.setdefault(one.kind, one.value)
    return sizes


def _between(released: Quantity | None, applied: Quantity | None) -> Quantity | None:
    """Return the stroke between two marks on the rod, in the unit of the second; None where one is not there."""
    if released is None or applied is None:
        return None
    size = applied.value - released.in_unit(applied.unit)
    return Quantity(size, applied.unit) if size >= 0 else None


def _more(one: Quantity, other: Quantity) -> bool:
    return one.in_unit("mm") > other.in_unit("mm")
