"""Hold points that refuse to be skipped: what a step record lacks before the work may go on."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from typing import Any

from treadle.measure import Quantity
from treadle.procedures.model import LUBRICATION_OPEN, Hold, Measurement, Sentence, Step


@dataclass(frozen=True, slots=True)
class Entry:
    """Something entered at a step: a quantity, a word such as ``none_seen``, or a special such as ``no_movement``."""

    kind: str
    value: Quantity | str | None = None
    special: str | None = None
    part: str | None = None
    place: str | None = None
    state: str | None = None


@dataclass(frozen=True, slots=True)
class TorqueDone:
    """A final torque: by which record, with which wrench, to what; what was put on the threads where that was open."""

    record: str
    wrench: str
    value: Quantity
    lubrication: str = ""


@dataclass(frozen=True, slots=True)
class StepRecord:
    """What was written down of a step; `by` and `second` are whatever names a person in the shop."""

    by: Hashable
    entries: tuple[Entry, ...] = ()
    confirmed: bool = False
    second: Hashable | None = None
    torque: TorqueDone | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Missing:
    """A reason why a record does not satisfy the hold point of its step."""

    code: str
    says: Sentence


def what_is_missing(step: Step, record: StepRecord) -> tuple[Missing, ...]:
    """Return every reason why a step record does not satisfy its step; none where it does.

    Whether a measurement is within its limits is not asked here: the judge says so, of the after-work walk-around.

    Parameters
    ----------
    step : Step
        The step, as resolved for the job.
    record : StepRecord
        What was written down.

    Returns
    -------
    tuple of Missing
        In the order in which the hold point asks.
    """
    return tuple(_missing(step, record))


def _missing(step: Step, record: StepRecord) -> Iterator[Missing]:
    if record.by in (None, ""):
        yield _reason("not_done_by")
    if step.hold is None:
        return
    for measurement in step.hold.measurements:
        yield from _of_measurement(measurement, record)
    if "torque" in step.hold.kinds:
        yield from _of_torque(step, record.torque)
    if "note" in step.hold.kinds and not record.note.strip():
        yield _reason("no_note")
    if "confirm" in step.hold.kinds and not record.confirmed:
        yield _reason("not_confirmed")
    yield from _of_second_person(step.hold, record)


def _of_second_person(hold: Hold, record: StepRecord) -> Iterator[Missing]:
    if "second_person" not in hold.kinds:
        return
    if record.second in (None, ""):
        yield _reason("no_second_person")
    elif record.second == record.by:
        yield _reason("same_person")
    elif "confirm" not in hold.kinds and not record.confirmed:
        yield _reason("not_confirmed")


def _of_measurement(measurement: Measurement, record: StepRecord) -> Iterator[Missing]:
    entries = [entry for entry in record.entries if _answers(entry, measurement)]
    if not entries:
        yield _reason("no_measurement", measurement)
        return
    distinct = {entry.part for entry in entries}
    if len(entries) < measurement.count:
        yield _reason("too_few", measurement, count=measurement.count, given=len(entries))
    elif measurement.parts_differ and (None in distinct or len(distinct) < measurement.count):
        yield _reason("same_part", measurement, count=measurement.count)
    if measurement.at_least is not None and not all(_reaches(entry, measurement.at_least.low) for entry in entries):
        yield _reason("below_figure", measurement, limit=measurement.at_least.low)


def _answers(entry: Entry, measurement: Measurement) -> bool:
    if entry.kind != measurement.kind or measurement.state not in (None, entry.state):
        return False
    if measurement.place not in (None, entry.place):
        return False
    if entry.special:
        return True
    if isinstance(entry.value, Quantity):
        return measurement.dimension in (None, entry.value.dimension)
    return bool(entry.value) and measurement.dimension is None


def _reaches(entry: Entry, least: Quantity) -> bool:
    return isinstance(entry.value, Quantity) and entry.value.in_unit(least.unit) >= least.value


def _of_torque(step: Step, done: TorqueDone | None) -> Iterator[Missing]:
    if done is None:
        yield _reason("no_torque")
        return
    if not done.wrench.strip():
        yield _reason("no_wrench")
    record = next((one for one in step.torque if one.key == done.record), None)
    if record is None:
        yield _reason("unknown_torque_record")
        return
    if record.lubrication == LUBRICATION_OPEN and not done.lubrication.strip():
        yield _reason("no_lubrication")
    if done.value.dimension != "torque" or not _in_band(done.value, record.low, record.high):
        yield _reason("outside_band", low=record.low, high=record.high)


def _in_band(value: Quantity, low: Quantity, high: Quantity) -> bool:
    return low.value <= value.in_unit(low.unit) and value.in_unit(high.unit) <= high.value


def _reason(code: str, measurement: Measurement | None = None, **arguments: Any) -> Missing:
    named = {} if measurement is None else {"measurement": measurement.says}
    return Missing(code, Sentence(f"procedure.missing.{code}", {**named, **arguments}))
