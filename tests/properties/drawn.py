"""What the properties are drawn over: two files that differ in one thing, and files in which one thing is not known."""

from __future__ import annotations

import copy
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st
from strategies import (
    AIR_BRAKES,
    DRUM,
    POWER_UNITS,
    SIDES,
    Dice,
    Draw,
    Fields,
    a_file,
    blocks,
    changed,
    ends_of,
    files,
    fitted,
    has_rod_in_sight,
    readings_where,
    two_sizes,
    without,
    written,
)


@dataclass(frozen=True)
class Pair:
    """One file twice, alike but for one reading or fact."""

    file: Fields
    other: Fields


@st.composite
def two_readings(draw: Draw, kind: str, low: float, high: float, **how: Any) -> Pair:
    """A file twice, with a smaller and a larger size between two numbers of inches in one reading of a kind."""
    file = draw(files(whole=True, **how))
    indices = readings_where(file, kind=kind)
    assume(indices)
    dice = Dice(draw(blocks(6)))
    index = dice.pick(indices)
    smaller, larger = two_sizes(dice, low, high)
    return Pair(
        changed(file, index, value=smaller, special=None),
        changed(file, index, value=larger, special=None),
    )


@st.composite
def bottomed(draw: Draw) -> Pair:
    """A file with a stroke, and the same with a rod that bottomed in its place.

    Every unit runs in the us: Quebec's law only counts a stroke, and a counted one is a watch where one that cannot be
    judged is unseen.
    """
    file = draw(files(whole=True))
    for unit in file["units"]:
        unit["runs_in"] = ["us", *(place for place in unit["runs_in"] if place != "us")]
    indices = readings_where(file, kind="applied_stroke", special=None)
    assume(indices)
    index = draw(st.sampled_from(indices))
    return Pair(file, changed(file, index, value=None, special="bottomed"))


@st.composite
def stroke_by_rods(draw: Draw) -> Pair:
    """A file with a stroke, and the same with the two marks of the rod whose distance that stroke is."""
    file = draw(files(whole=True))
    indices = readings_where(file, kind="applied_stroke")
    assume(indices)
    index = draw(st.sampled_from(indices))
    sixty_fourths = draw(st.integers(4, 200))
    file = changed(file, index, value=written(sixty_fourths, "in", 64), special=None)
    marks = changed(file, index, kind="rod_applied", value=written(sixty_fourths + 75, "in", 64))
    row = file["readings"][index]
    released = {"kind": "rod_released", "value": written(75, "in", 64)}
    marks["readings"].append({name: row[name] for name in ("unit", "axle", "side")} | released)
    return Pair(file, marks)


@st.composite
def two_losses(draw: Draw) -> Pair:
    """A file twice, with less and with more air lost in the same time."""
    file = draw(files(whole=True))
    index = draw(st.sampled_from(readings_where(file, kind="air_loss")))
    less, more = sorted(draw(st.lists(st.integers(0, 90), min_size=2, max_size=2, unique=True)))
    after = [f"{1000 - tenths}"[:-1] + f".{(1000 - tenths) % 10} psi" for tenths in (less, more)]
    return Pair(changed(file, index, end=after[0]), changed(file, index, end=after[1]))


# ---- the same said otherwise


_ABOUT_THE_LIMITS = {"applied_stroke": (1.2, 2.8), "drum_diameter": DRUM, "lining": (0.12, 0.42)}


def _worn(dice: Dice, file: Fields, kinds: Collection[str] = _ABOUT_THE_LIMITS.keys()) -> Fields:
    """The same file with strokes, linings and drums, or some of these, anywhere about their limits."""
    other = copy.deepcopy(file)
    of_a_shoe: dict[tuple[Any, ...], tuple[str, str]] = {}
    for row in other["readings"]:
        if row["kind"] not in kinds or "value" not in row:
            continue
        smaller, larger = two_sizes(dice, *_ABOUT_THE_LIMITS[row["kind"]])
        row["value"] = larger
        if row["kind"] == "lining":  # the thinnest point of a shoe is never thicker than its centre
            shoe = tuple(row.get(name) for name in ("unit", "axle", "side", "shoe", "pad"))
            thinnest, centre = of_a_shoe.setdefault(shoe, (smaller, larger))
            row["value"] = thinnest if row["place"] == "thinnest" else centre
    return other


def _shuffled(value: Any, dice: Dice, *, lists: bool) -> Any:
    """The same fields in another order, and with `lists` also the entries of a list."""
    if isinstance(value, dict):
        keys = sorted(value, key=lambda _: dice.number(0, 999))
        return {key: _shuffled(value[key], dice, lists=False) for key in keys}
    if isinstance(value, list):
        entries = sorted(value, key=lambda _: dice.number(0, 999)) if lists else value
        return [_shuffled(entry, dice, lists=False) for entry in entries]
    return value


@st.composite
def shuffled_file(draw: Draw) -> Pair:
    """A file, and the same with its readings, units, places to run in and fields in another order."""
    file = _worn(Dice(draw(blocks(128))), draw(files()))
    dice = Dice(draw(blocks(512)))
    other = {name: _shuffled(value, dice, lists=name != "combinations") for name, value in file.items()}
    for unit in other["units"]:
        unit["runs_in"] = unit["runs_in"][::-1]
    return Pair(file, _shuffled(other, dice, lists=False))


@st.composite
def renamed_file(draw: Draw) -> Pair:
    """A file, and the same with an id on every reading, and its combinations in another order."""
    file = draw(files())
    other = copy.deepcopy(file)
    for index, row in enumerate(other["readings"]):
        row["id"] = f"reading {index}"
    other["combinations"] = other["combinations"][::-1]
    return Pair(file, other)


@st.composite
def one_more_jurisdiction(draw: Draw) -> Pair:
    """A file, and the same in which one unit also runs in one more place."""
    file = _worn(Dice(draw(blocks(128))), draw(files()))
    index = draw(st.integers(0, len(file["units"]) - 1))
    here, there = draw(st.permutations(("us", "ca-qc")))
    other = copy.deepcopy(file)
    file["units"][index]["runs_in"] = [here]
    other["units"][index]["runs_in"] = [here, there]
    return Pair(file, other)


# ---- what is not known

Place = tuple[Any, ...]


@dataclass(frozen=True)
class Absence:
    """A file in which something needed was not read, and the places whose outcome may then not pass."""

    file: Fields
    what: str
    places: tuple[Place, ...]


NEEDED_AT_AN_END: dict[str, tuple[str, ...]] = {
    "air_drum": ("lining", "condition"),
    "air_disc": ("lining", "wear_indicator", "running_clearance", "condition"),
    "air_wedge": ("lining", "condition"),
    "hydraulic_drum": ("lining", "condition"),
    "hydraulic_disc": ("lining", "condition"),
    "electric": ("lining", "condition"),
}
"""What a service walk-around needs at an end, beside a stroke where the rod can be seen."""
NEEDED_OF_A_UNIT: dict[str, tuple[tuple[str, str | None], ...]] = {
    "daily": (("low_air_warning", None), ("air_loss", "applied")),
    "periodic": (
        ("build_up", None),
        ("low_air_warning", None),
        ("air_loss", "released"),
        ("air_loss", "applied"),
        ("spring_brake_set", None),
    ),
    "after_work": (("air_loss", "applied"), ("parking_hold", None)),
}


def _needed_at(occasion: str, end: Fields) -> tuple[str, ...]:
    """The kinds of reading an occasion needs at an end, as the table of the occasions has it."""
    if occasion == "daily":
        return ("condition",)
    needed = NEEDED_AT_AN_END[end["brake"]]
    if end["brake"] in ("air_drum", "air_disc") and has_rod_in_sight(end):
        needed += ("applied_stroke",)
    if occasion == "received" and end["brake"] in AIR_BRAKES:
        needed += ("tags",)
    if occasion == "after_work":
        needed += ("rotor_thickness",) if end["brake"].endswith("disc") else ("drum_diameter",)
        needed += ("free_stroke",) if end["brake"] == "air_drum" else ()
    return needed


_ANSWER_TOGETHER = {"applied_stroke": ("applied_stroke", "rod_released", "rod_applied")}


@st.composite
def without_a_need(draw: Draw) -> Absence:
    """A file in which everything was read but one thing that its occasion needs, at an end or of its power unit."""
    file = draw(files(whole=True))
    of_units = [
        (kind, state)
        for kind, state in NEEDED_OF_A_UNIT.get(file["occasion"], ())
        if all(unit["kind"] in POWER_UNITS and _has_air_brakes(unit) for unit in file["units"])
    ]
    at_ends = [
        (unit["number"], axle, side, kind)
        for unit, axle, side, end in ends_of(file)
        if end["brake"] != "none"
        for kind in _needed_at(file["occasion"], end)
    ]
    assume(of_units or at_ends)
    chosen = draw(st.sampled_from(at_ends * 1 + of_units * 8))
    if len(chosen) == 2:
        kind, state = chosen
        gone = [
            index
            for index in readings_where(file, kind=kind)
            if state is None or file["readings"][index].get("state") == state
        ]
        return Absence(without(file, gone), f"{kind} {state or ''}", (("whole",),))
    number, axle, side, kind = chosen
    kinds = _ANSWER_TOGETHER.get(kind, (kind,))
    here = readings_where(file, unit=number, axle=axle, side=side)
    gone = [index for index in here if file["readings"][index]["kind"] in kinds]
    if kind == "lining":  # one shoe or pad of the two is enough to miss it
        part = file["readings"][draw(st.sampled_from(gone))]
        gone = [i for i in gone if all(file["readings"][i].get(name) == part.get(name) for name in ("shoe", "pad"))]
    places = (("end", number, axle, side), ("axle", number, axle), ("unit", number), ("whole",))
    return Absence(without(file, gone), f"{kind} at {number} {axle} {side}", places)


def _has_air_brakes(unit: Fields) -> bool:
    return any(fitted(axle, side)["brake"] in AIR_BRAKES for axle in unit["axles"] for side in SIDES)


@dataclass(frozen=True)
class Doubt:
    """A file, the same with a fact not known, and the ends where that fact decides between different limits."""

    file: Fields
    other: Fields
    fact: str
    places: tuple[Place, ...] = ()


FACTS = (
    "stroke_class",
    "rated_stroke",
    "type",
    "lining_form",
    "lining_attachment",
    "reservoir",
    "engine",
    "spring_brakes",
)
FACTS_THAT_DECIDE_A_LIMIT = ("stroke_class", "rated_stroke", "lining_form", "lining_attachment")


_OTHER_VALUES = {"lining_form": ("two_pads", "continuous"), "lining_attachment": ("riveted", "bolted", "bonded")}


def _with_low_heights(file: Fields) -> Fields:
    """The same file with every lining half a millimetre above its fasteners, so that its thickness alone decides."""
    other = without(file, readings_where(file, kind="above_fastener"))
    places = [{name: row[name] for name in ("unit", "axle", "side", "shoe")} for row in _shoes(other)]
    heights = [{"kind": "above_fastener", "value": "0.5 mm", **place} for place in places]
    other["readings"] += [row for index, row in enumerate(heights) if row not in heights[:index]]
    return other


def _shoes(file: Fields) -> list[Fields]:
    return [row for row in file["readings"] if row["kind"] == "lining" and "shoe" in row]


def _forget(value: Any, fact: str) -> Any:
    """A copy of a JSON value in which nothing says a fact."""
    if isinstance(value, dict):
        return {key: _forget(inner, fact) for key, inner in value.items() if key != fact}
    return [_forget(entry, fact) for entry in value] if isinstance(value, list) else value


@st.composite
def without_a_fact(draw: Draw, fact: str, **how: Any) -> Doubt:
    """A file whose strokes or linings lie anywhere about their limits, and the same with a fact nowhere stated.

    A chamber whose maker marked a limit keeps its rated stroke: one of the two marks is enough to judge by.
    """
    dice = Dice(draw(blocks(128)))
    file = draw(files(whole=True, **how))
    for unit in file["units"]:
        for axle in unit["axles"]:
            if fact in axle and fact in _OTHER_VALUES:
                axle[fact] = dice.pick(_OTHER_VALUES[fact])
    file = _worn(dice, file, ("lining" if fact.startswith("lining") else "applied_stroke",))
    if fact == "rated_stroke":
        file = _forget(file, "marked_limit")
    if fact == "lining_attachment":
        file = _with_low_heights(file)
    return Doubt(file, _forget(file, fact), fact)


@st.composite
def with_a_doubt(draw: Draw, fact: str) -> Doubt:
    """A plain file in which a fact that decides between different limits is not stated anywhere."""
    plain = draw(files(whole=True, plain=True, occasions=("service", "roadside", "periodic"), brakes=("air_drum",)))
    file = copy.deepcopy(plain)
    dice = Dice(draw(blocks(32)))
    for unit in file["units"]:
        unit["runs_in"] = ["us", "ca-qc"] if fact == "lining_attachment" else ["us"]
        for axle in unit["axles"]:
            size, stroke_class = dice.pick(_DOUBTED[fact])
            axle["chamber"] = {"design": "clamp", "type": size, "stroke_class": stroke_class, "rated_stroke": "2.5 in"}
            axle["chamber"]["marked_limit"] = "2 in"
    other = _forget(file, fact)
    places = tuple(
        ("end", unit["number"], axle, side)
        for unit, axle, side, end in ends_of(other)
        if fact != "lining_form" or (end["role"] == "steer" and unit["kind"] in POWER_UNITS)
    )
    assume(places)
    return Doubt(file, other, fact, places)


_DOUBTED: dict[str, tuple[tuple[str, str], ...]] = {
    "stroke_class": tuple((size, "standard") for size in ("12", "16", "20", "24")),
    "rated_stroke": (("20", "long"), ("24", "long")),
    "lining_form": (("30", "standard"),),
    "lining_attachment": (("30", "standard"),),
}
"""Chambers, by type and class, for which the fact decides between limits; or any, where it is a fact of the lining.

A 30 is left out: its rated stroke tells its class.
"""


# ---- near a limit


@dataclass(frozen=True)
class NearMiss:
    """A plain trailer with one reading so far within its limit, and the outcome of that end."""

    file: Fields
    expected: str


_LIMITS_IN_64THS: tuple[tuple[Fields, int], ...] = (
    ({"design": "clamp", "type": "12", "stroke_class": "standard"}, 88),
    ({"design": "clamp", "type": "16", "stroke_class": "long"}, 128),
    ({"design": "clamp", "type": "20", "stroke_class": "standard", "rated_stroke": "2.25 in"}, 112),
    ({"design": "clamp", "type": "24", "stroke_class": "long", "rated_stroke": "3 in"}, 160),
    ({"design": "clamp", "type": "30", "stroke_class": "standard", "rated_stroke": "2.5 in"}, 128),
    ({"design": "clamp", "type": "36"}, 144),
)
"""Chambers and their limit by 393.47(e), read in the rule or in a secondary copy, in 64ths of an inch."""


@st.composite
def near_misses(draw: Draw) -> NearMiss:
    """Readings from their limit to well within it: near is 1/8 in of stroke, 1/16 in of lining, 0.020 in of drum."""
    file = a_file(b"", kinds=("trailer",), brakes=("air_drum",), occasions=("service",), whole=True, plain=True)
    axle = file["units"][0]["axles"][0]

    def read(kind: str, value: str) -> None:
        index = readings_where(file, kind=kind, place="centre" if kind == "lining" else None)[0]
        file.update(changed(file, index, value=value))

    match draw(st.sampled_from(("stroke", "lining", "lining in mm", "drum"))):
        case "stroke":
            chamber, limit = draw(st.sampled_from(_LIMITS_IN_64THS))
            axle["chamber"] = dict(chamber)
            within = draw(st.integers(0, 24))
            read("applied_stroke", written(limit - within, "in", 64))
            near = within <= 8
        case "lining":
            within = draw(st.integers(0, 12))
            read("lining", written(16 + within, "in", 64))
            near = within <= 4
        case "lining in mm":
            within = draw(st.integers(0, 30))
            read("lining", written(64 + within, "mm", 10))
            near = within <= 15  # 1/16 in is 1.5875 mm
        case _:
            within = draw(st.integers(0, 60))
            read("drum_diameter", written(16620 - within, "in", 1000))
            near = within <= 20
    return NearMiss(file, "watch" if near else "good")
