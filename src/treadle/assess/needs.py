"""What an occasion needs of a wheel end and of a unit; the table is data, beside this module."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from treadle.fleet.records import AIR_BRAKES, Axle, Unit, WheelEnd

SEEN_BY_THE_ROD = frozenset({"stroke", "free_stroke"})
SEEN_WHEN_OPEN = frozenset({"drum_diameter", "rotor_thickness"})


@cache
def _table() -> Mapping[str, Any]:
    return tomllib.loads(files(__package__).joinpath("needs.toml").read_text(encoding="utf-8"))


@cache
def needed_at(occasion: str, brake: str, *, rod_can_be_seen: bool) -> tuple[str, ...]:
    """Return what an occasion needs at a wheel end, in the order it is done; a hidden rod asks for no stroke."""
    row = _table()[occasion]
    needed: list[str] = list(needed_at(row["as"], brake, rod_can_be_seen=rod_can_be_seen)) if "as" in row else []
    needed += row.get("end", {}).get(brake, [])
    if brake in AIR_BRAKES:
        needed += row.get("end", {}).get("any_air", [])
    return tuple(need for need in needed if rod_can_be_seen or need not in SEEN_BY_THE_ROD)


def needed_of(occasion: str, unit: Unit) -> tuple[str, ...]:
    """Return what an occasion needs of a unit: nothing of one without air brakes, and what its kind can show."""
    wanted = _table()[occasion].get("unit", [])
    if not wanted or not any(end.brake in AIR_BRAKES for _, end in wheel_ends(unit)):
        return ()
    return tuple(need for need in wanted if _can_show(unit, need))


def _can_show(unit: Unit, need: str) -> bool:
    match need:
        case "low_air_warning" | "build_up":
            return unit.is_power_unit
        case "spring_brake_set":
            return _may_have_spring_brakes(unit)
        case "parking_hold":
            return unit.kind != "dolly" or _may_have_spring_brakes(unit)
    return True


def _may_have_spring_brakes(unit: Unit) -> bool:
    stated = [end.spring_brake for _, end in wheel_ends(unit)]
    return any(stated) or (unit.kind != "dolly" and None in stated)


def wheel_ends(unit: Unit) -> list[tuple[Axle, WheelEnd]]:
    """Return every wheel end of a unit that has a brake, with its axle, from the front, left before right."""
    return [(axle, end) for axle in unit.axles for end in (axle.left, axle.right) if end.brake != "none"]
