"""Walk-arounds of the simulated units, as the file contract has them: what was seen, in the order it is done."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Any

from demo import wear
from demo.carrier import UnitPlan
from demo.wear import End

SIDES = ("left", "right")
_IN_THE_FILE = {
    "foundation": ("brake", "rod_visible", "abs", "spring_brake"),
    "lining": ("lining_form", "lining_attachment", "lining_type"),
}
"""Fields that lie flat on an axle; the other slots are one field each."""
_WHOLE = {
    "chamber": ("design", "type", "stroke_class", "rated_stroke"),
    "adjuster": ("kind", "arm"),
    "drum": ("nominal", "discard"),
    "rotor": ("nominal", "discard"),
}
_ONCE_MORE = 8
"""A lining that reads so many 32nds or fewer is measured once more; the later reading stands."""


@dataclass(slots=True)
class Vehicle:
    """A unit of the simulation: its plan, what is fitted now and in what state."""

    plan: UnitPlan
    ends: dict[tuple[int, str], End]
    linings: dict[int, dict[str, Any]]
    """The lining fitted on each axle."""
    entry: dict[str, Any] = field(default_factory=dict)
    """The unit as the file states it, kept until a part changes."""

    @property
    def number(self) -> str:
        """Its number."""
        return self.plan.number

    def as_file(self) -> dict[str, Any]:
        """Return the unit as the walk-around file states it."""
        if not self.entry:
            self.entry = {
                "number": self.plan.number,
                "kind": self.plan.kind,
                "built": self.plan.built,
                "runs_in": list(self.plan.runs_in),
                "axles": [self._axle(number) for number in range(1, len(self.plan.axles) + 1)],
            }
        return self.entry

    def _axle(self, number: int) -> dict[str, Any]:
        plan = self.plan.axles[number - 1]
        fitted = {**plan.fitted, "lining": self.linings[number]}
        flat = {
            name: fitted[slot][name] for slot, names in _IN_THE_FILE.items() for name in names if name in fitted[slot]
        }
        whole = {
            slot: {name: fitted[slot][name] for name in names if name in fitted[slot]}
            for slot, names in _WHOLE.items()
            if slot in fitted
        }
        return {"role": plan.role, **flat, **whole, "gawr": plan.gawr, "left": {}, "right": {}}


@dataclass(slots=True)
class Walk:
    """A walk-around being taken."""

    occasion: str
    vehicles: Sequence[Vehicle]
    at: datetime
    by: str
    second: str
    rng: Random
    day: int
    shop_air: bool = False
    careful: bool = False
    """Whether nothing is misread."""
    readings: list[dict[str, Any]] = field(default_factory=list)
    touched: list[dict[str, Any]] | None = None
    pressure: float = 0.0
    minutes: int = 0

    def __post_init__(self) -> None:
        self.pressure = float(self.rng.randint(97, 104))

    def taken(self, meters: dict[str, str]) -> dict[str, Any]:
        """Return the circumstances of the file."""
        entry: dict[str, Any] = {
            "at": self.at.isoformat(),
            "by": self.by,
            "meter": meters,
            "reservoir": self._psi(),
            "spring_brakes": "released",
        }
        if self.shop_air:
            entry["supply"] = "shop"
        else:
            entry["engine"] = "off"
        return entry

    def file(self, taken: dict[str, Any], *, coupled: bool) -> dict[str, Any]:
        """Return it as walkaround/1."""
        numbers = [vehicle.number for vehicle in self.vehicles]
        entry: dict[str, Any] = {
            "treadle": "walkaround/1",
            "occasion": self.occasion,
            "combinations": [numbers] if coupled and len(numbers) > 1 else [],
            "units": [vehicle.as_file() for vehicle in self.vehicles],
            "taken": taken,
            "readings": self.readings,
        }
        if self.touched is not None:
            entry["touched"] = self.touched
        return entry

    def finished(self) -> datetime:
        """Return when the last reading was taken."""
        return self.at + timedelta(minutes=self.minutes)

    # -- the passes

    def look_and_measure(self, only: Iterable[tuple[int, str]] | None = None) -> None:
        """Go round once: linings at the shoe's centre or pads, and what is seen from outside."""
        for vehicle, axle, side, end in self._round(only):
            place = {"unit": vehicle.number, "axle": axle, "side": side}
            exact = end.lining_aim is not None
            if end.brake == "air_disc":
                for pad, left in zip(("inner", "outer"), end.linings, strict=True):
                    millimetres = round(max(left * 25.4 + self.rng.gauss(0, 0.3), 0.5) * 2)
                    value = f"{millimetres // 2}.{5 * (millimetres % 2)} mm"
                    self._add(place, kind="lining", pad=pad, place="thinnest", value=value)
                self._add(place, kind="wear_indicator", value="clear")
                self._add(place, kind="running_clearance", value=f"0.{self.rng.randint(6, 9)} mm")
            else:
                for shoe, left in zip(("upper", "lower"), end.linings, strict=True):
                    where = {**place, "kind": "lining", "shoe": shoe, "place": "centre"}
                    read = wear.read_lining(left, self.rng, exact=exact, misread=not self.careful)
                    self._add(where, value=fraction(read, 32))
                    if read <= _ONCE_MORE and not exact:
                        again = wear.read_lining(left, self.rng)
                        self._add(where, value=fraction(again, 32), at=self._just_after())
            self.look_at(place, end)
            self.minutes += 2

    def look_at(self, place: dict[str, Any], end: End) -> None:
        """Note what was seen at an end, or that nothing was."""
        for condition in end.conditions or ["none_seen"]:
            self._add(place, kind="condition", value=condition)

    def tags(self) -> None:
        """Read the tags of chambers and adjusters against the file, or say that they cannot be read."""
        for vehicle, axle, side, _ in self._round(None):
            place = {"unit": vehicle.number, "axle": axle, "side": side}
            if vehicle.plan.axles[axle - 1].fitted["chamber"].get("stroke_class") == "unknown":
                self._add(place, kind="not_seen", what="tags", reason="tags painted over and rusted")
            else:
                self._add(place, kind="tags", value="confirmed")

    def look_only(self) -> None:
        """Go round once and look, as a driver does."""
        for vehicle, axle, side, end in self._round(None):
            self.look_at({"unit": vehicle.number, "axle": axle, "side": side}, end)
        self.minutes += 6

    def strokes(self, only: Iterable[tuple[int, str]] | None = None) -> None:
        """Hold a full application and go round: pressure falls as it goes on.

        A stroke past its limit is taken again after the free stroke and several applications; both stand.  At an
        annual inspection that is done at 90 psi, the one pressure that lies in the window of every rule.
        """
        self.minutes += 6
        past = []
        for vehicle, axle, side, end in self._round(only):
            if end.brake != "air_drum":
                continue
            self.pressure = max(self.pressure - self.rng.choice((0.0, 0.5, 0.5, 1.0)), 90.0)
            sixteenths = self._stroke(vehicle, axle, side, end)
            if sixteenths > end.limit * 16:
                past.append((vehicle, axle, side, end))
        for vehicle, axle, side, end in past:
            self.minutes += 4
            free = fraction(round(wear.free_stroke(end, self.day) * 16), 16)
            place = {"unit": vehicle.number, "axle": axle, "side": side}
            if self.occasion != "after_work":
                self._add(place, kind="free_stroke", value=free, at=self.finished().isoformat())
            self.pressure = 90.0 if self.occasion == "periodic" else float(self.rng.randint(94, 99))
            self._stroke(vehicle, axle, side, end)

    def _stroke(self, vehicle: Vehicle, axle: int, side: str, end: End) -> int:
        self.minutes += 1
        stroke = wear.applied_stroke(end, self.pressure, self.day)
        sixteenths = wear.read_stroke(stroke, self.rng, exact=self.careful or end.stroke_aim is not None)
        place = {"unit": vehicle.number, "axle": axle, "side": side}
        at = self.finished().isoformat()
        self._add(place, kind="applied_stroke", value=fraction(sixteenths, 16), reservoir=self._psi(), at=at)
        return sixteenths

    def open_wheels(self, ends: Iterable[tuple[int, str]]) -> None:
        """Measure what only the open wheel shows: the free stroke, and the drum at two places."""
        (vehicle,) = self.vehicles
        for axle, side in ends:
            end, place = vehicle.ends[axle, side], {"unit": vehicle.number, "axle": axle, "side": side}
            free = round(wear.free_stroke(end, self.day) * 16)
            self._add(place, kind="free_stroke", value=fraction(free, 16))
            nominal = float(vehicle.plan.axles[axle - 1].fitted["drum"]["nominal"].removesuffix(" in"))
            for _ in range(2):
                size = f"{nominal + wear.read_drum(end.drum_over, self.rng) / 1000:.3f} in"
                self._add(place, kind="drum_diameter", value=size)

    # -- tests of the unit

    def leak(self, state: str) -> None:
        """Time the loss of pressure over a minute, at the first unit."""
        self.minutes += 2
        start = self.rng.randint(96, 102)
        lost = self.rng.choice((0, 1, 1, 1, 2) if len(self.vehicles) > 1 else (0, 0, 1, 1, 2))
        lost = min(lost, 1) if state == "released" else lost
        self._test(kind="air_loss", state=state, start=f"{start} psi", end=f"{start - lost} psi", seconds=60)

    def warning(self) -> None:
        """Fan the pressure down until the low-air warning comes on."""
        self.minutes += 1
        self._test(kind="low_air_warning", value=f"{self.rng.randint(62, 72)} psi")

    def springs_set(self) -> None:
        """Fan on until the spring brakes go on by themselves; of units that have them."""
        self.minutes += 1
        for vehicle in self.vehicles:
            if any(axle.fitted["foundation"]["spring_brake"] for axle in vehicle.plan.axles):
                value = f"{self.rng.randint(28, 40)} psi"
                self._test(kind="spring_brake_set", value=value, unit=vehicle.number)

    def build_up(self) -> None:
        """Time the pressure from 85 to 100 psi at working speed."""
        self.minutes += 1
        seconds = self.rng.randint(22, 36)
        self._test(kind="build_up", start="85 psi", end="100 psi", seconds=seconds, engine="running")

    def parking(self) -> None:
        """Pull gently against the parking brakes."""
        self.minutes += 1
        self._test(kind="parking_hold", value="held", spring_brakes="applied")

    def _test(self, **reading: Any) -> None:
        self.readings.append(
            {"unit": self.vehicles[0].number, **reading, "by": self.second, "at": self.finished().isoformat()}
        )

    # -- small parts

    def _round(self, only: Iterable[tuple[int, str]] | None) -> Iterator[tuple[Vehicle, int, str, End]]:
        """Go down the left side from the front, and up the right side from the rear."""
        wanted = None if only is None else set(only)
        for side in SIDES:
            vehicles = self.vehicles if side == "left" else self.vehicles[::-1]
            for vehicle in vehicles:
                axles = range(1, len(vehicle.plan.axles) + 1)
                for axle in axles if side == "left" else reversed(axles):
                    if wanted is None or (axle, side) in wanted:
                        yield vehicle, axle, side, vehicle.ends[axle, side]

    def _add(self, where: dict[str, Any], /, **reading: Any) -> None:
        self.readings.append({**where, **reading})

    def _just_after(self) -> str:
        return (self.finished() + timedelta(minutes=1)).isoformat()

    def _psi(self) -> str:
        whole, half = divmod(round(self.pressure * 2), 2)
        return f"{whole}.5 psi" if half else f"{whole} psi"


def fraction(steps: int, division: int) -> str:
    """Write a length as a rule shows it.

    >>> fraction(29, 16), fraction(16, 32), fraction(32, 16)
    ('1 13/16 in', '1/2 in', '2 in')
    """
    whole, rest = divmod(steps, division)
    while rest and rest % 2 == 0:
        rest, division = rest // 2, division // 2
    parts = [str(whole)] if whole or not rest else []
    return " ".join([*parts, f"{rest}/{division}"] if rest else parts) + " in"
