"""The order of a walk: passes, each once round the vehicle, with what is looked at and measured at every stop.

The order is common practice (reference: order of the passes): make safe; look and measure linings; rods, released; set
the pressure and hold; applied leak first, then the strokes; the other air tests.  What an occasion needs comes from
`assess.needs`; what may be given beside it is offered and never asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from treadle.assess.needs import needed_at, needed_of
from treadle.fleet.records import AIR_BRAKES, SIDES, Axle, Unit, WheelEnd

Place = tuple[str, int, str]

SHOES, PADS = ("upper", "lower"), ("inner", "outer")
CAUTIONS = ("level", "chocks", "springs", "hands")
"""What is confirmed by a tap each before the walk goes on, in this order."""


ONE_MINUTE = 60
"""For how long a leak is watched: the figures are for one minute (design, settled point 20). [s]"""


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to read at a stop."""

    kind: str
    part: str = ""
    place: str = ""
    state: str = ""
    needed: bool = False
    stops_at: int | None = None
    """When the clock of a test over a time stops by itself. [s]"""


@dataclass(frozen=True, slots=True)
class Stop:
    """A place on the way: a wheel end, or a unit as a whole (then `axle` is None)."""

    unit: str
    axle: int | None
    side: str | None
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class Pass:
    """Once round the vehicle."""

    name: str
    stops: tuple[Stop, ...]


def passes_of(
    units: Sequence[Unit],
    occasion: str,
    *,
    touched: frozenset[Place] | None = None,
    lining_places: Mapping[Place, frozenset[str]] | None = None,
) -> tuple[Pass, ...]:
    """Return the passes of a walk round units coupled in the order given.

    Parameters
    ----------
    units : sequence of Unit
        From the front.
    occasion : str
        What the walk is for.
    touched : frozenset of (unit, axle, side), optional
        After work: the wheel ends worked on; nothing is asked at the others.
    lining_places : mapping, optional
        Wheel end to the places on the lining that its rules ask for: ``centre``, ``thinnest``.
    """
    ends = [one for one in _in_a_circle(units) if touched is None or one[:3] in touched]
    asked = {place: frozenset(_needs(occasion, end)) for *place_, end in ends if (place := tuple(place_))}
    places = lining_places or {}
    daily = occasion == "daily"

    def stops(fields_of: Any) -> tuple[Stop, ...]:
        found = []
        for unit, axle, side, end in ends:
            fields = tuple(fields_of(end, asked[unit, axle, side], places.get((unit, axle, side), frozenset())))
            if fields:
                found.append(Stop(unit, axle, side, fields))
        return tuple(found)

    leak, tests = _air(units, occasion)
    rods = () if daily else stops(_released)
    strokes = () if daily else stops(_applied)
    hold = (Stop(units[0].number, None, None, ()),) if strokes or leak else ()
    every = (
        Pass("safe", (Stop(units[0].number, None, None, ()),)),
        Pass("look", stops(_looked_at)),
        Pass("rods", rods),
        Pass("hold", hold),
        Pass("strokes", (*leak, *strokes)),
        Pass("tests", tests),
    )
    return tuple(one for one in every if one.stops)


def as_plan(passes: Iterable[Pass]) -> list[dict[str, Any]]:
    """Return passes as the screen reads them."""
    return [asdict(one) for one in passes]


def _in_a_circle(units: Sequence[Unit]) -> Iterator[tuple[str, int, str, WheelEnd]]:
    """Go down the left side from front to rear, and up the right from rear to front."""
    there: list[tuple[Unit, Axle]] = [(unit, axle) for unit in units for axle in unit.axles]
    for side, way in zip(SIDES, (there, reversed(there)), strict=True):
        for unit, axle in way:
            end = axle.end(side)
            if end.brake != "none":
                yield unit.number, axle.number, side, end


def _needs(occasion: str, end: WheelEnd) -> tuple[str, ...]:
    return needed_at(occasion, end.brake, rod_can_be_seen=end.rod_can_be_seen)


def _looked_at(end: WheelEnd, needs: frozenset[str], lining_places: frozenset[str]) -> Iterator[Field]:
    disc = end.brake.endswith("disc")
    parts, need = (PADS, "pads") if disc else (SHOES, "shoes")
    first, other = ("thinnest", "centre") if disc or lining_places == {"thinnest"} else ("centre", "thinnest")
    if need in needs:
        for part in parts:
            yield Field("lining", part, first, needed=True)
    if need in needs and not disc:
        for part in parts:
            yield Field("lining", part, other, needed=other in lining_places)
    yield Field("condition", needed="condition" in needs)
    if disc or end.wear_mark:
        yield Field("wear_indicator", needed="wear_indicator" in needs)
    if "tags" in needs:
        yield Field("tags", needed=True)
    if end.lining_attachment in ("riveted", "bolted") and need in needs:
        for part in parts:
            yield Field("above_fastener", part)
    size = "rotor_thickness" if disc else "drum_diameter"
    if need in needs:
        yield Field(size, needed=size in needs)


def _released(end: WheelEnd, needs: frozenset[str], _: frozenset[str]) -> Iterator[Field]:
    if end.brake == "air_disc":
        yield Field("running_clearance", needed="running_clearance" in needs)
    if end.brake in AIR_BRAKES and end.brake != "air_wedge" and end.rod_can_be_seen:
        yield Field("free_stroke", needed="free_stroke" in needs)
        yield Field("rod_released")


def _applied(end: WheelEnd, needs: frozenset[str], _: frozenset[str]) -> Iterator[Field]:
    if end.brake == "air_wedge":
        for shoe in SHOES:
            yield Field("scribe_movement", shoe, needed="scribe_movement" in needs)
    elif end.brake in AIR_BRAKES and end.rod_can_be_seen:
        yield Field("applied_stroke", needed="stroke" in needs)


def _air(units: Sequence[Unit], occasion: str) -> tuple[tuple[Stop, ...], tuple[Stop, ...]]:
    """Return the applied leak, which comes before the strokes, and the other tests; the power unit's stand for all."""
    braked = [
        unit for unit in units if any(axle.end(side).brake in AIR_BRAKES for axle in unit.axles for side in SIDES)
    ]
    if not braked:
        return (), ()
    holder = next((unit for unit in units if unit.is_power_unit), braked[0])
    needs = {need for unit in units for need in needed_of(occasion, unit)}
    leak = Field("air_loss", state="applied", needed="air_loss.applied" in needs, stops_at=ONE_MINUTE)
    tests = [Field("air_loss", state="released", needed="air_loss.released" in needs, stops_at=ONE_MINUTE)]
    if holder.is_power_unit:
        tests = [
            Field("build_up", needed="build_up" in needs),
            Field("cut_out"),
            Field("cut_in"),
            *tests,
            Field("low_air_warning", needed="low_air_warning" in needs),
        ]
    tests += [
        Field("spring_brake_set", needed="spring_brake_set" in needs),
        Field("parking_hold", needed="parking_hold" in needs),
        Field("condition"),
    ]
    if occasion == "daily":
        tests = [one for one in tests if one.needed or one.kind == "condition"]
    others = [Stop(unit.number, None, None, (Field("condition"),)) for unit in braked if unit is not holder]
    return (
        (Stop(holder.number, None, None, (leak,)),),
        (Stop(holder.number, None, None, tuple(tests)), *others),
    )
