"""Walk-around files for hypothesis to draw: every layout, brake, chamber and reading, with gaps and doubt; no verdicts.

Files are plain fields, as JSON gives them, and always valid; what is to be refused comes from `mangled` alone.

One block of bytes decides a file, a byte or two a choice: a file has some hundred choices, and drawing each by itself
would take most of the time of the tests.  Zeros are the plainest choices, so hypothesis still shrinks to a plain file.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeVar

from hypothesis import strategies as st

Fields = dict[str, Any]
Draw = Callable[[st.SearchStrategy[Any]], Any]
T = TypeVar("T")

OCCASIONS = ("daily", "service", "received", "roadside", "periodic", "after_work")
SIDES = ("left", "right")
AIR_BRAKES = frozenset({"air_drum", "air_disc", "air_wedge"})
POWER_UNITS = frozenset({"tractor", "truck", "bus"})
SHOES, PADS = ("upper", "lower"), ("inner", "outer")
TODAY = "2026-10-02T07:40:00-06:00"

# ---- choices


class Dice:
    """Choices read off a block of bytes; past its end every choice is the first, the plainest.

    `wildness`, of 256, is how often a choice that is `mostly` plain is left to chance.
    """

    def __init__(self, block: bytes, wildness: int = 0) -> None:
        self._bytes = iter(block)
        self.wildness = wildness

    def _next(self) -> int:
        return next(self._bytes, 0)

    def pick(self, choices: Sequence[T]) -> T:
        """One of some choices, each as likely as another.

        >>> Dice(bytes([5])).pick("abc"), Dice(b"").pick("abc")
        ('c', 'a')
        """
        return choices[self._next() % len(choices)]

    def mostly(self, choices: Sequence[T]) -> T:
        """The first of some choices, or any of them as often as the file is wild.

        >>> Dice(bytes([1, 2]), wildness=256).mostly("abc"), Dice(bytes([1, 2]), wildness=0).mostly("abc")
        ('c', 'a')
        """
        leaves_it_to_chance = 0 < self._next() <= self.wildness
        return self.pick(choices) if leaves_it_to_chance else choices[0]

    def number(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`.

        >>> Dice(bytes([1, 4])).number(10, 300), Dice(b"").number(10, 300)
        (270, 10)
        """
        return low + (self._next() * 256 + self._next()) % (high - low + 1)


# ---- sizes


def written(steps: int, unit: str, to_the_unit: int) -> str:
    """A size of so many steps as a tool shows it: sixty-fourths as a mixed fraction, other steps as a decimal.

    >>> written(119, "in", 64), written(63, "mm", 10), written(170, "in", 100), written(128, "in", 64)
    ('1 55/64 in', '6.3 mm', '1.70 in', '2 in')
    """
    whole, rest = divmod(steps, to_the_unit)
    if to_the_unit != 64:
        digits = len(str(to_the_unit)) - 1
        return f"{whole}.{rest:0{digits}d} {unit}"
    if not rest:
        return f"{whole} {unit}"
    return f"{whole} {rest}/64 {unit}" if whole else f"{rest}/64 {unit}"


_TOOLS = (("in", 64), ("in", 100), ("mm", 10))
_PER_INCH = {"in": 1, "mm": 25.4}


def two_sizes(dice: Dice, low: float, high: float) -> tuple[str, str]:
    """Two sizes between two numbers of inches, read with the same tool, the smaller first.

    >>> two_sizes(Dice(bytes([0, 0, 9, 0, 3])), 1, 2)
    ('1 3/64 in', '1 9/64 in')
    """
    unit, to_the_unit = dice.pick(_TOOLS)
    per_inch = _PER_INCH[unit] * to_the_unit
    first, second = (dice.number(round(low * per_inch), round(high * per_inch)) for _ in range(2))
    larger = max(first, second) if first != second else first + 1
    return written(min(first, second), unit, to_the_unit), written(larger, unit, to_the_unit)


def one_size(dice: Dice, low: float, high: float) -> str:
    """A size between two numbers of inches, read with a rule, a caliper in inches or one in millimetres."""
    return two_sizes(dice, low, high)[0]


STROKE, LINING, DRUM = (0.5, 3.2), (0.05, 0.8), (16.4, 16.8)

# ---- units

_RATED = (None, "2.25 in", "2.5 in", "3 in", "64 mm")


def stated(**fields: Any) -> Fields:
    """Fields without those that are None.

    >>> stated(a=1, b=None)
    {'a': 1}
    """
    return {name: value for name, value in fields.items() if value is not None}


CHAMBERS: tuple[Fields, ...] = (
    stated(design="clamp", type="30", stroke_class="standard", rated_stroke="2.5 in", marked_limit="2 in"),
    stated(design="clamp", type="20", stroke_class="standard", rated_stroke="2.25 in", marked_limit="1.75 in"),
    *(
        stated(design="clamp", type=size, stroke_class=stroke_class, rated_stroke=rated)
        for size in ("12", "16", "20", "24", "30")
        for stroke_class in ("standard", "long", "unknown", None)
        for rated in _RATED
    ),
    *(stated(design="clamp", type=size, rated_stroke=rated) for size in ("6", "9", "36") for rated in _RATED[:2]),
    *(
        stated(design="clamp", type=size, rated_stroke=rated, marked_limit=marked)
        for size in ("14", "18", None)
        for rated in _RATED
        for marked in (None, "1.75 in", "50 mm")
    ),
    *(stated(design="bolt", type=letter) for letter in (*"ABCDEFG", None)),
    *(stated(design="roto", type=size) for size in ("9", "12", "16", "20", "24", "30", "36", "50", None)),
    *(stated(design="dual_diaphragm", type=size) for size in ("30", None)),
    *(stated(design="unlisted", type="24", rated_stroke=rated) for rated in _RATED),
)
BRAKES = ("air_drum",) * 5 + ("air_disc", "air_disc", "air_wedge", "hydraulic_drum", "hydraulic_disc", "electric")
KINDS = ("truck", "tractor", "trailer", "dolly", "bus")
_BUILT = ("2019-03", "1998-03-01", "1997", "1994-10-20", "1994", "1975", "1974-02")
_RUNS_IN = (["us"], ["us", "ca-qc"], ["ca-qc", "us"], ["ca-qc"])
_OF_ONE_END: tuple[Fields, ...] = (
    {},
    {"chamber": {"design": "clamp", "type": "24", "stroke_class": "long", "rated_stroke": "3 in"}},
    {"adjuster": {"kind": "manual", "arm": "6 in"}},
    {"lining_type": "M-2", "wear_mark": True},
    {"lining_form": "two_pads", "lining_attachment": "riveted", "spring_brake": False},
)


def _axle(dice: Dice, kind: str, position: int, brakes: Sequence[str]) -> Fields:
    if kind in POWER_UNITS:
        role = "steer" if position == 1 else dice.pick(("drive", "drive", "lift"))
    else:
        role = dice.pick((kind, kind, kind, "steer"))
    brake = dice.pick(brakes)
    axle = {"role": role, "brake": brake, "lining_type": dice.mostly((None, "M-1"))}
    if brake in AIR_BRAKES:
        axle["chamber"] = dict(dice.pick((*CHAMBERS[:2] * 20, *CHAMBERS)))
        axle["adjuster"] = {"kind": dice.mostly(("automatic", "unknown")), "arm": "5.5 in"}
        axle["spring_brake"] = dice.mostly((role != "steer", True, False, None))
        axle["abs"] = dice.mostly((None, True, False))
    if brake.endswith("disc"):
        axle["rotor"] = dice.mostly(({"nominal": "1.77 in", "discard": "1.46 in"}, {"discard": "37 mm"}, None))
        axle["rod_visible"] = dice.pick((None, None, True))
    else:
        axle["lining_form"] = dice.mostly(("continuous", "two_pads", None))
        axle["lining_attachment"] = dice.mostly(("bonded", "riveted", "bolted", None))
        axle["drum"] = dice.mostly(({"nominal": "16.5 in", "discard": "16.62 in"}, {"discard": "422.1 mm"}, None))
    if role == "lift":
        axle["lift_raised"] = dice.mostly((None, True, False))
    axle[dice.pick(SIDES)] = copy.deepcopy(dice.mostly(_OF_ONE_END))
    return stated(**axle)


def _unit(dice: Dice, number: str, kinds: Sequence[str], brakes: Sequence[str]) -> Fields:
    kind = dice.pick(kinds)
    return {
        "number": number,
        "kind": kind,
        "built": dice.mostly(_BUILT),
        "runs_in": list(dice.pick((_RUNS_IN[0], *_RUNS_IN))),
        "axles": [
            _axle(dice, kind, position, brakes)
            for position in range(1, dice.number(1, 1 if kind == "dolly" else 3) + 1)
        ],
    }


def fitted(axle: Fields, side: str) -> Fields:
    """What one end of an axle has: the axle's fields with the end's own in their place.

    >>> fitted({"brake": "air_drum", "abs": True, "left": {"abs": False}}, "left")["abs"]
    False
    """
    return {**axle, **axle.get(side, {})}


def ends_of(file: Fields) -> Iterator[tuple[Fields, int, str, Fields]]:
    """Every wheel end of a file: its unit, axle number, side, and what is fitted there."""
    for unit in file["units"]:
        for number, axle in enumerate(unit["axles"], start=1):
            for side in SIDES:
                yield unit, number, side, fitted(axle, side)


# ---- readings

_SEEN_AT_AN_END = (
    ("none_seen",),
    ("lining_soaked",),
    ("oil_at_edge", "none_seen"),
    ("drum_cracked",),
    ("adjuster_damaged", "chamber_leak"),
    ("tank_loose",),
    ("rotor_rusted",),
    ("no_braking_action",),
    ("adjuster_turned_by_hand",),
)
_AROUND: tuple[Fields, ...] = (
    {},
    {"reservoir": "75 psi"},
    {"reservoir": "85 psi"},
    {"reservoir": "105 psi"},
    {"reservoir": "600 kPa"},
    {"engine": "running"},
    {"spring_brakes": "applied"},
)


def has_rod_in_sight(end: Fields) -> bool:
    """Whether a stroke can be taken: as stated, else at air drums only.

    >>> has_rod_in_sight({"brake": "air_disc"}), has_rod_in_sight({"brake": "air_drum"})
    (False, True)
    """
    return bool(end.get("rod_visible", end["brake"] == "air_drum"))


def _stroke_rows(dice: Dice) -> list[Fields]:
    around = dice.mostly(_AROUND)
    size = one_size(dice, *dice.mostly(((0.5, 1.25), STROKE)))
    match dice.mostly(("value", "rods", "bottomed", "no_movement")):
        case "value":
            return [{"kind": "applied_stroke", "value": size, **around}]
        case "rods":
            released, applied = two_sizes(dice, 1, 4)
            return [{"kind": "rod_released", "value": released}, {"kind": "rod_applied", "value": applied, **around}]
        case special:
            return [{"kind": "applied_stroke", "special": special, **around}]


def _lining_rows(dice: Dice, end: Fields) -> list[Fields]:
    disc = end["brake"].endswith("disc")
    name, parts = ("pad", PADS) if disc else ("shoe", SHOES)
    places = ("thinnest",) if disc else dice.pick((("thinnest", "centre"), ("centre",), ("thinnest",)))
    rows: list[Fields] = []
    for part in parts:
        # the thinnest point of a shoe is never thicker than its centre
        both = two_sizes(dice, *dice.mostly(((0.5, 0.8), LINING)))
        rows += [
            {"kind": "lining", name: part, "place": place, "value": size}
            for place, size in zip(places, both, strict=False)
        ]
        if end.get("lining_attachment") in ("riveted", "bolted"):
            height = dice.mostly(("3 mm", "1 mm", "0.5 mm", None))
            rows += [] if height is None else [{"kind": "above_fastener", name: part, "value": height}]
    return rows


def _end_rows(dice: Dice, end: Fields, *, whole: bool) -> list[list[Fields]]:
    """What can be read at an end, the readings that answer one need together."""
    brake = end["brake"]
    sized = whole or dice.pick((False, True))
    rows = [_lining_rows(dice, end), [{"kind": "condition", "value": word} for word in dice.mostly(_SEEN_AT_AN_END)]]
    if has_rod_in_sight(end):
        rows.append(_stroke_rows(dice))
    if brake == "air_wedge":
        moved = two_sizes(dice, 0.01, 0.1)
        rows.append([{"kind": "scribe_movement", "shoe": SHOES[n], "value": moved[n]} for n in (0, 1)])
    if brake in AIR_BRAKES:
        rows.append([{"kind": "tags", "value": dice.mostly(("confirmed", "differ"))}])
        rows.append([{"kind": "free_stroke", "value": one_size(dice, 0.3, 1)}])
    if brake == "air_disc":
        rows.append([{"kind": "wear_indicator", "value": dice.mostly(("clear", "at_mark", "gone"))}])
        rows.append([{"kind": "running_clearance", "value": "0.8 mm"}])
    if sized and brake.endswith("disc"):
        rows.append([{"kind": "rotor_thickness", "value": one_size(dice, 1.45, 1.6)}])
    elif sized:
        largest = dice.mostly((16.58, DRUM[1]))
        rows.append(
            [{"kind": "drum_diameter", "value": one_size(dice, DRUM[0], largest)} for _ in range(dice.number(1, 3))]
        )
    return rows


def _loss(dice: Dice, state: str) -> Fields:
    lost = dice.number(0, dice.mostly((1, 9)))
    seconds = dice.mostly((60, 90, 45, 59.5))
    return {"kind": "air_loss", "state": state, "start": "100 psi", "end": f"{100 - lost} psi", "seconds": seconds}


def _acts(dice: Dice, kind: str, usual: int, low: int, high: int) -> Fields:
    pressure = dice.mostly((usual, dice.number(low, high), None))
    return {"kind": kind, "special": "did_not_act"} if pressure is None else {"kind": kind, "value": f"{pressure} psi"}


def _unit_rows(dice: Dice, unit: Fields) -> list[list[Fields]]:
    seen = dice.mostly(((), ("hose_leak",), ("tank_loose", "tube_damaged")))
    rows = [
        [_loss(dice, "applied")],
        [_loss(dice, "released")],
        [{"kind": "parking_hold", "value": dice.mostly(("held", "moved"))}],
        [_acts(dice, "spring_brake_set", 35, 15, 60)],
        [{"kind": "condition", "value": word} for word in seen],
    ]
    if unit["kind"] in POWER_UNITS:
        start, end = dice.pick((("85 psi", "100 psi"), ("50 psi", "100 psi"), ("350 kPa", "620 kPa")))
        seconds = dice.mostly((25, dice.number(20, 200), dice.number(20, 200)))
        rows.append([{"kind": "build_up", "start": start, "end": end, "seconds": seconds, "rpm": 1000}])
        rows.append([_acts(dice, "low_air_warning", 70, 45, 75)])
        rows.append([_acts(dice, "cut_in", 100, 75, 140)])
        rows.append([_acts(dice, "cut_out", 125, 75, 140)])
        rows.append([{"kind": "brake_force", "side": "left", "value": "4000 lbf"}])
    return rows


def _kept(dice: Dice, groups: list[list[Fields]], *, whole: bool) -> list[Fields]:
    """The readings of every group, but some groups left out, and some said to be not seen."""
    rows: list[Fields] = []
    for group in filter(None, groups):
        match dice.mostly(("read", "left_out", "not_seen", "read", "read")):
            case "not_seen" if not whole:
                rows.append({"kind": "not_seen", "what": group[0]["kind"], "reason": "iced over"})
            case "left_out" if not whole:
                pass
            case _:
                rows += group
    return [row for index, row in enumerate(rows) if row not in rows[:index]]


# ---- files

_WILDNESS = (24, 0, 8, 64, 160)
_DAYS = (TODAY, "2021-06-01T23:30:00-05:00", "2019-01-15T07:00:00Z")


def _taken(dice: Dice) -> Fields:
    return stated(
        at=dice.mostly(_DAYS),
        by="R. Quill",
        reservoir=dice.mostly(("90 psi", "85 psi", "75 psi", "105 psi", "620 kPa", None)),
        engine=dice.mostly(("off", "running", None)),
        spring_brakes=dice.mostly(("released", "applied", None)),
        supply=dice.mostly((None, "own", "shop")),
    )


def a_file(
    block: bytes,
    *,
    occasions: Sequence[str] = OCCASIONS,
    kinds: Sequence[str] = KINDS,
    brakes: Sequence[str] = (*BRAKES, "none"),
    most_units: int = 2,
    whole: bool = False,
    plain: bool = False,
) -> Fields:
    """The walk-around file that a block of bytes decides; see `files`."""
    dice = Dice(block)
    dice.wildness = 0 if plain else dice.pick(_WILDNESS)
    numbers = [f"U-{number}" for number in range(1, dice.number(1, most_units) + 1)]
    units = [_unit(dice, number, kinds, brakes) for number in numbers]
    occasion = dice.pick(occasions)
    file: Fields = {
        "treadle": "walkaround/1",
        "occasion": occasion,
        "combinations": dice.pick(([numbers], [], [numbers[:2]], [numbers[::-1]])) if len(numbers) > 1 else [],
        "units": units,
        "taken": _taken(dice),
        "readings": [],
    }
    for unit, axle, side, end in ends_of(file):
        if end["brake"] != "none":
            rows = _kept(dice, _end_rows(dice, end, whole=whole), whole=whole)
            file["readings"] += [{"unit": unit["number"], "axle": axle, "side": side, **row} for row in rows]
    for unit in units:
        rows = _kept(dice, _unit_rows(dice, unit), whole=whole)
        file["readings"] += [{"unit": unit["number"], **row} for row in rows]
    if occasion == "after_work" and not whole:
        touched = [
            {"unit": unit["number"], "axle": axle, "side": side}
            for unit, axle, side, _ in ends_of(file)
            if dice.mostly((True, False))
        ]
        file |= dice.pick(({}, {"touched": touched}))
    return file


_BYTES_OF_A_FILE = 768


def blocks(size: int) -> st.SearchStrategy[bytes]:
    """Blocks of so many bytes, for dice to read."""
    return st.binary(min_size=size, max_size=size)


@st.composite
def files(draw: Draw, **how: Any) -> Fields:
    """Valid walk-around files.

    With `whole` everything that can be read is there; with `plain` it was taken today, under the usual circumstances,
    all parts are the usual ones and nothing is near a limit, so that what a test then changes decides alone.
    `occasions`, `kinds`, `brakes` say what may occur, `most_units` how many units.
    """
    return a_file(draw(blocks(_BYTES_OF_A_FILE)), **how)


def readings_where(file: Fields, **wanted: Any) -> list[int]:
    """The places in the list of readings of those that have these fields.

    >>> readings_where({"readings": [{"kind": "lining"}, {"kind": "condition"}]}, kind="condition")
    [1]
    """
    return [
        index
        for index, row in enumerate(file["readings"])
        if all(row.get(name) == value for name, value in wanted.items())
    ]


def changed(file: Fields, index: int, **fields: Any) -> Fields:
    """A copy of a file in which one reading has these fields instead; None takes a field away.

    >>> changed({"readings": [{"value": "1 in"}]}, 0, value=None, special="bottomed")["readings"]
    [{'special': 'bottomed'}]
    """
    copied = copy.deepcopy(file)
    row = {**copied["readings"][index], **fields}
    copied["readings"][index] = {name: value for name, value in row.items() if value is not None}
    return copied


def without(file: Fields, indices: Sequence[int]) -> Fields:
    """A copy of a file without some of its readings.

    >>> without({"readings": ["a", "b", "c"]}, [0, 2])["readings"]
    ['b']
    """
    copied = copy.deepcopy(file)
    copied["readings"] = [row for index, row in enumerate(copied["readings"]) if index not in indices]
    return copied


# ---- what is no walk-around

_leaves = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 9),
    st.floats(allow_nan=True),
    st.text(max_size=6),
    st.sampled_from(
        ("1/0 in", "1/3 in", "5/4 in", "1,500 mm", "-1 in", "1 psi", "9" * 40 + " in", "+.060 in", "0 in", "{x}")
    ),
    st.sampled_from(("U-1", "us", "air_drum", "none", "steer", "lining", "not_seen", "2019-13", "2026-10-02", TODAY)),
)
junk = st.recursive(
    _leaves,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)
"""Anything JSON can say."""


def paths_in(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The path of everything inside a JSON value.

    >>> list(paths_in({"a": [1]}))
    [('a',), ('a', 0)]
    """
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in inside:
        yield (*path, key)
        yield from paths_in(inner, (*path, key))


@st.composite
def mangled(draw: Draw) -> str:
    """The text of a walk-around file in which up to three things were replaced, taken away, doubled or added."""
    file = json.loads(json.dumps(draw(files(most_units=1, brakes=BRAKES))))
    for _ in range(draw(st.integers(1, 3))):
        _mangle(draw, file)
    return json.dumps(file)


def _mangle(draw: Draw, file: Fields) -> None:
    paths = list(paths_in(file))
    *above, key = draw(st.sampled_from(paths))
    holder: Any = file
    for step in above:
        holder = holder[step]
    match draw(st.sampled_from(("replace", "replace", "remove", "double", "add"))):
        case "replace":
            holder[key] = draw(junk)
        case "remove":
            del holder[key]
        case "double" if isinstance(holder, list):
            holder.append(holder[key])
        case _ if isinstance(holder, dict):
            holder[draw(st.text(max_size=6))] = draw(junk)
        case _:
            holder.append(draw(junk))
