"""Meters made into distance: odometers that are replaced, stop or restart, and trailers that go by their tractors.

What a meter showed is exact and stays so.  Between two readings the distance is interpolated by time and marked
`estimated`; before the first and after the last there is none, and it is refused.  Where no meter ran, the distance is
a least one: the span is named in `unmeasured`, never filled in silence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import pairwise

from treadle.errors import BadInput, Problem
from treadle.measure import Quantity, convert
from treadle.wear.axis import (
    Axis,
    Coupling,
    Distance,
    Jump,
    Meter,
    MeterReading,
    Segment,
    Span,
    day_of,
    in_order_of_time,
    ratio,
)

MOST_A_DAY = Quantity(Fraction(1000), "mi")
"""More than this on average since the last reading is doubtful (chosen: two drivers taking turns seldom reach it)."""
_DAY = timedelta(days=1)
_LAST = datetime.max.replace(tzinfo=UTC)


# -- one meter


def distance_at(
    segments: Sequence[Segment],
    readings: Sequence[MeterReading],
    moment: datetime,
    *,
    unit: str = "mi",
    where: str = "meter",
) -> Distance:
    """Distance gone since a unit's first reading.

    Parameters
    ----------
    segments : sequence of Segment
        The stretches over which its meters counted, in any order.
    readings : sequence of MeterReading
        What they showed, in any order; each belongs to the segment of its moment, at a change to the new one.
    moment : datetime
        When, with its offset; from the first reading to the last.
    unit : str, optional
        Unit of the answer. [mi or km]
    where : str, optional
        The unit or field, for the messages.

    Returns
    -------
    Distance
        Exact at a reading; between two interpolated by time and so marked. [as `unit`]

    Raises
    ------
    BadInput
        A reading less than the one before it, a reading outside every segment, segments that overlap or end before
        they begin, a moment without offset.
    OutOfRange
        The moment is before the first reading or after the last: nothing is extrapolated.

    Examples
    --------
    A meter replaced at 250,000 miles; the new one begins at 12:

    >>> from treadle.measure import read_quantity
    >>> def miles(number):
    ...     return read_quantity(f"{number} mi", "length", where="meter")
    >>> def day(number):
    ...     return datetime(2026, 3, number, 8, tzinfo=UTC)
    >>> old = Segment(day(1), miles(248000), day(11), miles(250000), "replaced")
    >>> new = Segment(day(11), miles(12))
    >>> print(distance_at([old, new], [MeterReading(day(21), miles(3012))], day(21)).quantity)
    5000 mi
    >>> half_way = distance_at([old, new], [], day(6))
    >>> print(half_way.quantity, half_way.estimated)
    1000 mi True
    """
    return Axis.of(segments, readings, where).at(moment, unit)


def distance_between(
    segments: Sequence[Segment],
    readings: Sequence[MeterReading],
    since: datetime,
    until: datetime,
    *,
    unit: str = "mi",
    where: str = "meter",
) -> Distance:
    """Distance gone from one moment to a later one.

    Parameters
    ----------
    segments, readings : sequence
        As `distance_at` takes them.
    since, until : datetime
        From when and to when, with offsets; both from the first reading to the last.
    unit : str, optional
        Unit of the answer. [mi or km]
    where : str, optional
        The unit or field, for the messages.

    Returns
    -------
    Distance
        Never negative; estimated where either end lies between readings. [as `unit`]

    Raises
    ------
    BadInput
        As `distance_at`; and `until` before `since`.
    OutOfRange
        As `distance_at`.
    """
    return Axis.of(segments, readings, where).between(since, until, unit)


def last_known(
    segments: Sequence[Segment], readings: Sequence[MeterReading], *, unit: str = "mi", where: str = "meter"
) -> tuple[datetime, Distance]:
    """Return the moment of the last reading and the distance since the first, in `unit`."""
    axis = Axis.of(segments, readings, where)
    return axis.moments[-1], axis.at(axis.moments[-1], unit)


def doubtful_jumps(
    segments: Sequence[Segment],
    readings: Sequence[MeterReading],
    *,
    most_a_day: Quantity = MOST_A_DAY,
    where: str = "meter",
) -> tuple[Jump, ...]:
    """Every two readings in a row that lie further apart than a unit can well go in the time.

    Parameters
    ----------
    segments, readings : sequence
        As `distance_at` takes them.
    most_a_day : Quantity, optional
        The most a day on average that is not doubtful; 1,000 mi unless given (chosen). [mi or km a day]
    where : str, optional
        The unit or field, for the messages.

    Returns
    -------
    tuple of Jump
        In order of time.  Readings less than a day apart are held against one day's distance.
    """
    unit = most_a_day.unit
    found = []
    for one, other in pairwise(Axis.of(segments, readings, where).marks):
        if one.segment != other.segment:
            continue
        gone = convert(other.gone - one.gone, "m", unit)
        days = ratio(max(other.at - one.at, _DAY), _DAY)
        if gone > most_a_day.value * days:
            found.append(Jump(one.at, other.at, gone, gone / days, unit))
    return tuple(found)


def check_reading(
    segments: Sequence[Segment],
    readings: Sequence[MeterReading],
    reading: MeterReading,
    *,
    most_a_day: Quantity = MOST_A_DAY,
    where: str = "meter",
) -> Jump | None:
    """Say whether a new reading may stand beside those on record.

    Parameters
    ----------
    segments, readings : sequence
        Those on record, as `distance_at` takes them.
    reading : MeterReading
        The new one; it may be of an earlier day than the last on record.
    most_a_day : Quantity, optional
        As `doubtful_jumps` takes it. [mi or km a day]
    where : str, optional
        The unit or field, for the messages.

    Returns
    -------
    Jump or None
        The jump to it where that is doubtful: ask for it to be read again, and keep it.

    Raises
    ------
    BadInput
        It is less than the one before it (slug `meter_went_back`: ask whether the meter was replaced), or more than
        one after it, or lies outside every segment.
    """
    jumps = doubtful_jumps(segments, [*readings, reading], most_a_day=most_a_day, where=where)
    return next((jump for jump in jumps if reading.at in (jump.since, jump.until)), None)


# -- a trailer by its tractors


def distance_pulled(
    couplings: Iterable[Coupling],
    meters: Mapping[str, Meter],
    since: datetime,
    until: datetime,
    *,
    unit: str = "mi",
    where: str = "couplings",
) -> Distance:
    """Distance a trailer or dolly without a meter went, by the meters of what pulled it.

    Parameters
    ----------
    couplings : iterable of Coupling
        What pulled it, from when to when; the current coupling is open.
    meters : mapping of str to Meter
        The meters of those power units, by unit number.
    since, until : datetime
        From when and to when, with offsets.
    unit : str, optional
        Unit of the answer. [mi or km]
    where : str, optional
        The trailer, for the messages.

    Returns
    -------
    Distance
        The sum over its couplings; standing uncoupled it went nowhere.  What a power unit's meter does not cover is
        named in `unmeasured`. [as `unit`]

    Raises
    ------
    BadInput
        Two couplings overlap (both are named), one ends before it begins, `until` is before `since`.
    """
    in_order_of_time(since, until, where)
    total = Distance(Fraction(0), unit)
    axes: dict[str, Axis | None] = {}
    for coupling in _one_after_another(couplings, where):
        begin, end = max(since, coupling.coupled_on), min(until, coupling.uncoupled_on or until)
        if begin >= end:
            continue
        number = coupling.power_unit
        if number not in axes:
            meter = meters.get(number)
            axes[number] = Axis.of(meter.segments, meter.readings, number) if meter and meter.segments else None
        total = _sum(total, _covered(axes[number], begin, end, unit))
    return total


def filled_by_tractors(
    distance: Distance, couplings: Iterable[Coupling], meters: Mapping[str, Meter], *, where: str = "couplings"
) -> Distance:
    """Return a unit's distance with what its own meter missed taken from what pulled it, and so estimated.

    Parameters
    ----------
    distance : Distance
        By its own meter, with the spans that one missed. [mi or km]
    couplings : iterable of Coupling
        What pulled it, as `distance_pulled` takes them.
    meters : mapping of str to Meter
        The meters of those power units, by unit number.
    where : str, optional
        The trailer, for the messages.

    Returns
    -------
    Distance
        Never less than what was given; what the power units' meters miss too stays in `unmeasured`. [as given]
    """
    kept, total = list(couplings), replace(distance, unmeasured=())
    for span in distance.unmeasured:
        pulled = distance_pulled(kept, meters, span.since, span.until, unit=distance.unit, where=where)
        more = max(pulled.value - span.at_least, Fraction(0))
        total = _sum(total, Distance(more, distance.unit, estimated=True, unmeasured=pulled.unmeasured))
    return total


def _one_after_another(couplings: Iterable[Coupling], where: str) -> list[Coupling]:
    """Return couplings in order of time; two at once are refused with both named."""
    ordered = sorted(couplings, key=lambda one: one.coupled_on)
    for coupling in ordered:
        in_order_of_time(coupling.coupled_on, coupling.uncoupled_on or _LAST, where)
    for one, other in pairwise(ordered):
        if one.uncoupled_on is None or one.uncoupled_on > other.coupled_on:
            details = {
                "first": one.power_unit,
                "since": day_of(one.coupled_on),
                "second": other.power_unit,
                "since_second": day_of(other.coupled_on),
            }
            raise BadInput(Problem("couplings_at_once", where, details))
    return ordered


def _covered(axis: Axis | None, since: datetime, until: datetime, unit: str) -> Distance:
    """Return what a power unit's meter says of a span, naming the parts of it that lie outside its readings."""
    if axis is None:
        return Distance(Fraction(0), unit, unmeasured=(Span(since, until),))
    begin, end = max(since, axis.moments[0]), min(until, axis.moments[-1])
    if begin >= end:
        return Distance(Fraction(0), unit, unmeasured=(Span(since, until),))
    inside = axis.between(begin, end, unit)
    before = (Span(since, begin),) if since < begin else ()
    after = (Span(end, until),) if end < until else ()
    return replace(inside, unmeasured=(*before, *inside.unmeasured, *after))


def _sum(one: Distance, other: Distance) -> Distance:
    return Distance(
        one.value + other.value, one.unit, one.estimated or other.estimated, one.unmeasured + other.unmeasured
    )
