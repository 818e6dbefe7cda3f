"""Odometers and hub odometers of the simulated units: what each shows at so many miles, replaced and stopped."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from demo.records import MeterSegment, Shown

_KM_PER_MILE = 1.609344


@dataclass(slots=True)
class Meter:
    """A unit's meter as it runs; `base` is what it showed when the unit had gone `since_miles`."""

    unit: str
    kind: str
    measure: str
    base: int
    began_at: datetime
    since_miles: int = 0
    stands_at: int | None = None
    """The miles at which it stopped; None while it runs."""
    readings: list[Shown] = field(default_factory=list)
    ended: list[MeterSegment] = field(default_factory=list)
    is_off: bool = False
    """Whether it is known to have stopped, so that nobody reads it."""

    def shown(self, miles: int) -> int:
        """Return what it shows when the unit has gone so many miles."""
        gone = (miles if self.stands_at is None else self.stands_at) - self.since_miles
        return self.base + (int(gone * _KM_PER_MILE) if self.measure == "km" else gone)

    def text(self, miles: int) -> str:
        """Return that as it is written down; nothing of a meter that is known to stand."""
        return "" if self.is_off else f"{self.shown(miles)} {self.measure}"

    def read(self, miles: int, at: datetime, by: str) -> str:
        """Read it: note what it shows and return it as written down."""
        text = self.text(miles)
        if text:
            self.readings.append(Shown(at, text, by))
        return text

    def end(self, miles: int, at: datetime, why: str) -> None:
        """End its segment with what it shows."""
        self.ended.append(self._segment(at, f"{self.shown(miles)} {self.measure}", why))
        self.is_off = True

    def begin(self, miles: int, at: datetime, base: int) -> None:
        """Begin a new segment: another meter, showing `base`."""
        self.base, self.began_at, self.since_miles = base, at, miles
        self.stands_at, self.readings, self.is_off = None, [], False

    def segments(self) -> tuple[MeterSegment, ...]:
        """Return all segments, the running one last."""
        return tuple(self.ended) if self.is_off else (*self.ended, self._segment(None, "", ""))

    def _segment(self, at: datetime | None, reading: str, why: str) -> MeterSegment:
        return MeterSegment(
            unit=self.unit,
            kind=self.kind,
            measure=self.measure,
            began_at=self.began_at,
            began_reading=f"{self.base} {self.measure}",
            readings=tuple(self.readings),
            ended_at=at,
            ended_reading=reading,
            ended_why=why,
        )
