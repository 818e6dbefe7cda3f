"""What a walk-around is about, as plain frozen records: units, axles, wheel ends, fitted parts, readings.

A fact that is not known is None, never a default: the judge treats it as any value it could have.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from fractions import Fraction

from treadle.measure import Quantity

POWER_UNITS = frozenset({"tractor", "truck", "bus"})
AIR_BRAKES = frozenset({"air_drum", "air_disc", "air_wedge"})
SIDES = ("left", "right")


@dataclass(frozen=True, slots=True)
class Chamber:
    """The air chamber of a wheel end; `type` is the size number or letter cast or tagged on it."""

    design: str | None = None
    type: str | None = None
    stroke_class: str | None = None
    rated_stroke: Quantity | None = None
    marked_limit: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Adjuster:
    """The slack adjuster; `arm` is its effective length, camshaft centre to clevis pin."""

    kind: str | None = None
    arm: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Friction:
    """A drum or rotor: nominal size, and the size at which its maker wants it discarded."""

    nominal: Quantity | None = None
    discard: Quantity | None = None


@dataclass(frozen=True, slots=True)
class WheelEnd:
    """One end of an axle and what is fitted there."""

    brake: str
    lining_form: str | None = None
    lining_attachment: str | None = None
    lining_type: str | None = None
    wear_mark: bool | None = None
    chamber: Chamber | None = None
    adjuster: Adjuster | None = None
    drum: Friction | None = None
    rotor: Friction | None = None
    spring_brake: bool | None = None
    rod_visible: bool | None = None
    abs: bool | None = None

    @property
    def rod_can_be_seen(self) -> bool:
        """Whether a stroke can be taken: as stated, else yes for an air drum brake and no for any other."""
        return self.brake == "air_drum" if self.rod_visible is None else self.rod_visible


@dataclass(frozen=True, slots=True)
class Axle:
    """An axle, counted from the front of its unit from 1."""

    number: int
    role: str
    left: WheelEnd
    right: WheelEnd
    gawr: Quantity | None = None
    lift_raised: bool | None = None

    def end(self, side: str) -> WheelEnd:
        """Return the wheel end of a side, "left" or "right"."""
        return self.left if side == "left" else self.right


@dataclass(frozen=True, slots=True)
class BuildDate:
    """When a unit was built, as exactly as is known: any day from `earliest` to `latest`."""

    earliest: date
    latest: date
    text: str

    def on_or_after(self, day: date) -> bool | None:
        """Whether it was built on `day` or later; None when the build date is not exact enough to say."""
        if self.earliest >= day:
            return True
        return False if self.latest < day else None


@dataclass(frozen=True, slots=True)
class Unit:
    """A vehicle: tractor, truck, bus, trailer or dolly."""

    number: str
    kind: str
    built: BuildDate
    runs_in: tuple[str, ...]
    axles: tuple[Axle, ...]

    @property
    def is_power_unit(self) -> bool:
        """Whether it has an engine, and so its own compressor and warning."""
        return self.kind in POWER_UNITS


@dataclass(frozen=True, slots=True)
class Taken:
    """The circumstances of a reading: when, by whom, and in what state the brakes were."""

    at: datetime
    by: str
    reservoir: Quantity | None = None
    engine: str | None = None
    spring_brakes: str | None = None
    supply: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One thing seen or measured, at a wheel end or on a unit (then `axle` and `side` are None).

    `value` is a quantity, or a word such as ``none_seen``, ``clear`` or ``held``; None with a `special`, with an
    air loss or build-up (which have `start`, `end` and `seconds`), and with ``not_seen``.
    """

    unit: str
    kind: str
    taken: Taken
    axle: int | None = None
    side: str | None = None
    id: str | None = None
    value: Quantity | str | None = None
    special: str | None = None
    place: str | None = None
    part: str | None = None
    """The shoe or pad: upper, lower, front, rear, inner or outer."""
    state: str | None = None
    start: Quantity | None = None
    end: Quantity | None = None
    seconds: Fraction | None = None
    rpm: int | None = None
    what: str | None = None
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class WalkAround:
    """What one occasion found: the units as they stood, how they were coupled, and every reading."""

    occasion: str
    units: tuple[Unit, ...]
    combinations: tuple[tuple[str, ...], ...]
    readings: tuple[Reading, ...]
    taken: Taken
    meter: dict[str, Quantity] = field(default_factory=dict)
    touched: frozenset[tuple[str, int, str]] | None = None
    """For an ``after_work`` file: the wheel ends that were worked on, where it lists them."""
    kept_shut: frozenset[tuple[str, int, str]] = frozenset()
    """Of those, the ends whose drum or rotor stayed where it was, so that nobody could measure it."""

    @property
    def coupled(self) -> tuple[tuple[str, ...], ...]:
        """Every combination, a unit in none counting as a combination of one, in file order."""
        in_one = {number for units in self.combinations for number in units}
        alone = tuple((unit.number,) for unit in self.units if unit.number not in in_one)
        return self.combinations + alone
