"""A unit's meters as one axis of distance: segments joined end to end, readings on it, and what no meter told."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from treadle.errors import BadInput, OutOfRange, Problem
from treadle.measure import Quantity, convert

WhyEnded = Literal["replaced", "stopped", "restarted"]


@dataclass(frozen=True, slots=True)
class MeterReading:
    """What a meter showed at a moment, as read."""

    at: datetime
    shown: Quantity


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch over which one meter counted on without a break; the current one has no end.

    `replaced`: another meter took its place.  `restarted`: the same meter went on from another figure.  `stopped`: it
    was found standing, at `ended_on`, at the figure `ended_at`; when it stopped after its last reading nobody knows.
    """

    began_on: datetime
    began_at: Quantity
    ended_on: datetime | None = None
    ended_at: Quantity | None = None
    ended_why: WhyEnded | None = None


@dataclass(frozen=True, slots=True)
class Meter:
    """All segments of a unit's meters, and every reading of them."""

    segments: tuple[Segment, ...]
    readings: tuple[MeterReading, ...] = ()


@dataclass(frozen=True, slots=True)
class Span:
    """A time in which no meter told the whole distance; `at_least` of it is known, and counted."""

    since: datetime
    until: datetime
    at_least: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Distance:
    """A distance, exact unless `estimated`, and a least one where `unmeasured` names a span."""

    value: Fraction
    unit: str
    estimated: bool = False
    unmeasured: tuple[Span, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Whether every mile of it was measured, so that it is not only a least distance."""
        return not self.unmeasured

    @property
    def quantity(self) -> Quantity:
        """The distance to show: as measured, or to the whole mile or kilometre where it is estimated."""
        return Quantity(Fraction(round(self.value)) if self.estimated else self.value, self.unit)


@dataclass(frozen=True, slots=True)
class Jump:
    """Two readings in a row that lie further apart than a unit can well go: doubtful, not refused."""

    since: datetime
    until: datetime
    distance: Fraction
    a_day: Fraction
    unit: str


@dataclass(frozen=True, slots=True)
class Coupling:
    """That a power unit pulled a trailer or dolly; the current one has no end."""

    power_unit: str
    coupled_on: datetime
    uncoupled_on: datetime | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A moment at which the distance since the first reading is known, in metres, in one segment.

    From a mark that is `open_after` to the next nobody knows how the distance came about.
    """

    at: datetime
    gone: Fraction
    segment: int
    open_after: bool = False


@dataclass(frozen=True, slots=True)
class Axis:
    """The marks of a unit's meters in order of time, with their moments apart for the search."""

    marks: tuple[Mark, ...]
    moments: tuple[datetime, ...]
    where: str

    @classmethod
    def of(cls, segments: Sequence[Segment], readings: Sequence[MeterReading], where: str) -> Axis:
        """Join a unit's segments; refuse what cannot be so."""
        ordered = sorted(segments, key=lambda one: one.began_on)
        if not ordered:
            raise OutOfRange(Problem("no_meter", where))
        for moment in [*(one.began_on for one in ordered), *(one.at for one in readings)]:
            _with_offset(moment, where)
        _check_segments(ordered, where)
        marks: list[Mark] = []
        base = Fraction(0)
        for index, (segment, its) in enumerate(zip(ordered, _by_segment(ordered, readings, where), strict=True)):
            marks += _marks(segment, its, base=base, index=index, where=where)
            base = marks[-1].gone
        return cls(tuple(marks), tuple(mark.at for mark in marks), where)

    def at(self, moment: datetime, unit: str) -> Distance:
        """Return the distance since the first reading."""
        gone, estimated = self._gone(moment)
        return Distance(convert(gone, "m", unit), unit, estimated, self._unmeasured(self.moments[0], moment, unit))

    def between(self, since: datetime, until: datetime, unit: str) -> Distance:
        """Return the distance from one moment to a later one."""
        in_order_of_time(since, until, self.where)
        (first, one), (second, other) = self._gone(since, least_after=True), self._gone(until)
        gone = convert(second - first, "m", unit)
        return Distance(gone, unit, one or other, self._unmeasured(since, until, unit))

    def _gone(self, moment: datetime, *, least_after: bool = False) -> tuple[Fraction, bool]:
        """Return the metres since the first reading, and whether they are interpolated.

        Where nobody knows, that is the least gone by then; or, with `least_after`, what leaves the least for after it.
        """
        _with_offset(moment, self.where)
        if not self.moments[0] <= moment <= self.moments[-1]:
            details = {"moment": day_of(moment), "first": day_of(self.moments[0]), "last": day_of(self.moments[-1])}
            raise OutOfRange(Problem("outside_meter_readings", self.where, details))
        place = bisect_right(self.moments, moment) - 1
        mark = self.marks[place]
        if mark.at == moment:
            return mark.gone, False
        after = self.marks[place + 1]
        if mark.open_after:
            return after.gone if least_after else mark.gone, False
        return mark.gone + (after.gone - mark.gone) * ratio(moment - mark.at, after.at - mark.at), True

    def _unmeasured(self, since: datetime, until: datetime, unit: str) -> tuple[Span, ...]:
        spans = []
        for mark, after in pairwise(self.marks):
            begin, end = max(mark.at, since), min(after.at, until)
            if mark.open_after and begin < end:
                known = after.gone - mark.gone if (begin, end) == (mark.at, after.at) else Fraction(0)
                spans.append(Span(begin, end, convert(known, "m", unit)))
        return tuple(spans)


def _check_segments(ordered: Sequence[Segment], where: str) -> None:
    for segment in ordered:
        if segment.ended_on is not None:
            _with_offset(segment.ended_on, where)
            in_order_of_time(segment.began_on, segment.ended_on, where)
    for one, other in pairwise(ordered):
        if one.ended_on is None or one.ended_on > other.began_on:
            raise BadInput(
                Problem("meters_overlap", where, {"first": day_of(one.began_on), "second": day_of(other.began_on)})
            )


def _by_segment(ordered: Sequence[Segment], readings: Sequence[MeterReading], where: str) -> list[list[MeterReading]]:
    """Give each reading to the segment of its moment; at a change, to the new one."""
    starts = [segment.began_on for segment in ordered]
    its: list[list[MeterReading]] = [[] for _ in ordered]
    for reading in sorted(readings, key=lambda one: one.at):
        place = bisect_right(starts, reading.at) - 1
        end = ordered[place].ended_on
        if place < 0 or (end is not None and reading.at > end):
            details = {"given": reading.shown, "moment": day_of(reading.at)}
            raise BadInput(Problem("no_meter_then", where, details))
        its[place].append(reading)
    return its


def _marks(segment: Segment, readings: Sequence[MeterReading], *, base: Fraction, index: int, where: str) -> list[Mark]:
    """Return the marks of one segment, the first of which has gone `base` metres."""
    shown = [MeterReading(segment.began_on, segment.began_at), *readings]
    if segment.ended_on is not None and segment.ended_at is not None:
        shown.append(MeterReading(segment.ended_on, segment.ended_at))
    for one, other in pairwise(shown):
        if other.shown.in_unit("m") < one.shown.in_unit("m"):
            raise BadInput(Problem("meter_went_back", where, {"given": other.shown, "last": one.shown}))
    start = segment.began_at.in_unit("m")
    marks = [Mark(one.at, base + one.shown.in_unit("m") - start, index) for one in shown]
    if segment.ended_why == "stopped" and len(marks) > 1:
        marks[-2] = replace(marks[-2], open_after=True)
    if segment.ended_on is not None:
        marks[-1] = replace(marks[-1], open_after=True)
    return marks


def ratio(part: timedelta, whole: timedelta) -> Fraction:
    """Return one time as an exact part of another."""
    tick = timedelta(microseconds=1)
    return Fraction(part // tick, whole // tick)


def in_order_of_time(since: datetime, until: datetime, where: str) -> None:
    """Refuse moments without offset, and an end before its beginning."""
    _with_offset(since, where)
    _with_offset(until, where)
    if until < since:
        raise BadInput(Problem("ends_before_it_begins", where, {"since": day_of(since), "until": day_of(until)}))


def _with_offset(moment: datetime, where: str) -> None:
    if moment.tzinfo is None:
        raise BadInput(Problem("time_without_offset", where, {"given": moment.isoformat()}))


def day_of(moment: datetime) -> str:
    """Return the day of a moment, as it is written."""
    return moment.date().isoformat()
