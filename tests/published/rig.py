"""Builds the walk-around that a published case describes: a clean unit in which one reading is replaced.

Nothing here knows a limit or judges anything.  The figures of the clean unit lie far inside every limit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

Fields = Mapping[str, Any]
Row = dict[str, Any]

UNIT = "K-1"
SIDES = ("left", "right")
SHOES = ("upper", "lower")
POWER_UNITS = frozenset({"tractor", "truck", "bus"})
AIR_BRAKES = frozenset({"air_drum", "air_disc", "air_wedge"})
DISC_BRAKES = frozenset({"air_disc", "hydraulic_disc"})

UNIT_KINDS = frozenset(
    {"air_loss", "build_up", "low_air_warning", "spring_brake_set", "cut_in", "cut_out", "parking_hold"}
)
"""Readings of a whole unit; all others are of a wheel end, unless they say `at = "unit"`."""

READING_FIELDS = frozenset(
    {"kind", "value", "special", "place", "shoe", "pad", "state", "start", "end", "seconds", "rpm", "at"}
    | {"reservoir", "engine", "spring_brakes", "supply"}
)
MERGED = ("unit", "everywhere", "axle", "taken", "reading")
SETTING_FIELDS = frozenset({*MERGED, "on", "occasion", "jurisdiction", "look", "taken_without", "also", "without"})
CASE_FIELDS = SETTING_FIELDS | {"name", "proof", "given"}
GIVEN_FIELDS = SETTING_FIELDS | READING_FIELDS | {"expect", "findings"}
COUNT_FIELDS = frozenset({"name", "proof", "on", "occasion", "combination", "defects", "expect"})

CLEAN_UNIT: Fields = {"kind": "truck", "built": "2019-03", "runs_in": ["us"]}
CLEAN_TAKEN: Fields = {"by": "R. Quill", "reservoir": "90 psi", "engine": "off", "spring_brakes": "released"}
STEER_CHAMBER: Fields = {"design": "clamp", "type": "20", "stroke_class": "standard", "rated_stroke": "2.25 in"}
OTHER_CHAMBER: Fields = {"design": "clamp", "type": "30", "stroke_class": "standard", "rated_stroke": "2.5 in"}
DISC_CHAMBER: Fields = {"design": "unlisted", "type": "24", "stroke_class": "standard", "rated_stroke": "2.5 in"}


class CaseFault(Exception):
    """A case is written wrongly; the text says which and how."""


# ---- from a case to a file


def entries(case: Fields) -> list[Row]:
    """Each given of a case with what it takes over from its case; unknown fields are refused."""
    _refuse_unknown(case, CASE_FIELDS, case["name"])
    return [_entry(case, given) for given in case["given"]]


def _entry(case: Fields, given: Fields) -> Row:
    _refuse_unknown(given, GIVEN_FIELDS, case["name"])
    entry = {**case, **given}
    for name in MERGED:
        entry[name] = {**case.get(name, {}), **given.get(name, {})}
    own = {name: value for name, value in given.items() if name in READING_FIELDS}
    entry["reading"] = {**entry["reading"], **own}
    entry.setdefault("occasion", "service")
    entry.setdefault("jurisdiction", "us")
    return entry


def _refuse_unknown(fields: Fields, known: frozenset[str], name: str) -> None:
    for field in fields:
        if field not in known:
            raise CaseFault(f"{name}: nobody reads the field {field!r}; known are {', '.join(sorted(known))}")


def file_of(entry: Fields) -> Row:
    """The walk-around file of one given: everything clean but what the given replaces or leaves out."""
    unit = {**CLEAN_UNIT, **entry["unit"]}
    trailers = unit.pop("coupled_with", [])
    axles = _axles(unit["kind"], entry["axle"], entry["everywhere"])
    if "ca-qc" in unit["runs_in"]:
        axles = [_with_makers_mark(axle) if "chamber" in axle else axle for axle in axles]
    units = [{"number": UNIT, **unit, "axles": axles}]
    units += [_plain_unit(f"C-{number}", kind, 2) for number, kind in enumerate(trailers, start=1)]
    readings = [row for one in units for row in _clean_readings(one, entry["occasion"])]
    combinations = [[one["number"] for one in units]] if trailers else []
    return _file(entry, units, combinations, _replace(readings, entry))


def count_file(count: Fields) -> Row:
    """The walk-around file of a roadside count: clean units, with the defects listed."""
    _refuse_unknown(count, COUNT_FIELDS, count["name"])
    entry = {"occasion": "service", **count}
    units = [_plain_unit(one["number"], one["kind"], one["axles"]) for one in count["combination"]]
    readings = [row for one in units for row in _clean_readings(one, entry["occasion"])]
    for defect in count["defects"]:
        readings = _with_defect(readings, defect)
    combinations = [[one["number"] for one in units]] if len(units) > 1 else []
    return _file(entry, units, combinations, readings)


def tested_axle(entry: Fields) -> int:
    """Which axle of the unit a case is about: the first if it steers or the unit has no engine, else the second."""
    return _tested_axle(entry["unit"].get("kind", CLEAN_UNIT["kind"]), entry["axle"])


def _tested_axle(kind: str, tested: Fields) -> int:
    return 2 if kind in POWER_UNITS and tested.get("role") != "steer" else 1


def _file(entry: Fields, units: list[Row], combinations: list[list[str]], readings: list[Row]) -> Row:
    taken = {"at": f"{entry['on']}T07:40:00-06:00", **CLEAN_TAKEN, **entry.get("taken", {})}
    for name in entry.get("taken_without", []):
        del taken[name]
    return {
        "treadle": "walkaround/1",
        "occasion": entry["occasion"],
        "combinations": combinations,
        "units": units,
        "taken": taken,
        "readings": readings,
    }


# ---- units and axles


def _plain_unit(number: str, kind: str, axles: int) -> Row:
    roles = ["steer", *["drive"] * (axles - 1)] if kind in POWER_UNITS else [kind] * axles
    return {"number": number, **CLEAN_UNIT, "kind": kind, "axles": [_axle({"role": role}) for role in roles]}


def _axles(kind: str, tested: Fields, everywhere: Fields) -> list[Row]:
    """Three axles, so that one whole defect of six does not reach the share; the tested one as the case says."""
    roles = ["steer", "drive", "drive"] if kind in POWER_UNITS else [kind, kind, kind]
    place = _tested_axle(kind, tested) - 1
    return [
        _axle({"role": role, **everywhere, **(tested if position == place else {})})
        for position, role in enumerate(roles)
    ]


def _axle(stated: Fields) -> Row:
    brake = stated.get("brake", "air_drum")
    axle: Row = {"brake": brake}
    if brake in AIR_BRAKES:
        chamber = STEER_CHAMBER if stated["role"] == "steer" else OTHER_CHAMBER
        axle["chamber"] = DISC_CHAMBER if brake == "air_disc" else chamber
        axle["adjuster"] = {"kind": "automatic", "arm": "5.5 in"}
        axle["spring_brake"] = stated["role"] != "steer"
    if brake in DISC_BRAKES:
        axle["rotor"] = {"nominal": "1.77 in", "discard": "1.46 in"}
    else:
        axle["lining_form"] = "continuous"
        axle["drum"] = {"nominal": "16.5 in", "discard": "16.62 in"}
    return {name: value for name, value in {**axle, **stated}.items() if value != "unstated"}


def _with_makers_mark(axle: Row) -> Row:
    """An axle for Quebec, where a stroke is compared with the limit that the chamber's maker marked."""
    return {**axle, "chamber": {"marked_limit": "1.75 in", **axle["chamber"]}}


# ---- clean readings


def _clean_readings(unit: Fields, occasion: str) -> list[Row]:
    rows = _clean_unit_readings(unit, occasion)
    for number, axle in enumerate(unit["axles"], start=1):
        for side in SIDES:
            rows += _clean_end_readings(axle, "ca-qc" in unit["runs_in"], occasion, number, side)
    return [{"unit": unit["number"], **row} for row in rows]


def _clean_end_readings(axle: Fields, read_thinnest: bool, occasion: str, number: int, side: str) -> list[Row]:
    rows: list[Row] = [{"kind": "condition", "value": "none_seen"}]
    if occasion != "daily":
        rows += _clean_measures(axle, "thinnest" if read_thinnest else "centre")
    if occasion == "received":
        rows.append({"kind": "tags", "value": "confirmed"})
    if occasion == "after_work":
        rows += _clean_after_work(axle["brake"])
    return [{"axle": number, "side": side, **row} for row in rows]


def _clean_measures(axle: Fields, place: str) -> list[Row]:
    brake = axle["brake"]
    rows: list[Row] = []
    if axle.get("rod_visible", brake == "air_drum"):
        rows.append({"kind": "applied_stroke", "value": "1 in"})
    if brake in DISC_BRAKES:
        rows += [_lining(pad=pad, place="thinnest") for pad in ("inner", "outer")]
    else:
        rows += [_lining(shoe=shoe, place=place) for shoe in SHOES]
    if axle.get("lining_attachment") in {"riveted", "bolted"}:
        rows += [{"kind": "above_fastener", "shoe": shoe, "value": "10 mm"} for shoe in SHOES]
    if brake == "air_disc":
        rows.append({"kind": "wear_indicator", "value": "clear"})
        rows.append({"kind": "running_clearance", "value": "0.8 mm"})
    return rows


def _lining(**where: str) -> Row:
    return {"kind": "lining", "value": "3/4 in", **where}


def _clean_after_work(brake: str) -> list[Row]:
    if brake in DISC_BRAKES:
        return [{"kind": "rotor_thickness", "value": "1.75 in"}]
    return [{"kind": "free_stroke", "value": "1/2 in"}, {"kind": "drum_diameter", "value": "16.51 in"}]


def _clean_unit_readings(unit: Fields, occasion: str) -> list[Row]:
    """What the occasion asks of a unit; a coupled trailer (C-1, C-2, ...) is tested through its power unit."""
    if unit["number"] != UNIT or unit["axles"][0]["brake"] not in AIR_BRAKES:
        return []
    powered = unit["kind"] in POWER_UNITS
    asked = {
        "daily": [_LEAK_APPLIED, *([_WARNING] if powered else [])],
        "periodic": [_LEAK_APPLIED, _LEAK_RELEASED, _BUILD_UP, _WARNING, _SPRING_BRAKES_SET],
        "after_work": [_LEAK_APPLIED, {"kind": "parking_hold", "value": "held"}],
    }
    return [dict(row) for row in asked.get(occasion, [])]


_ONE_PSI: Fields = {"start": "100 psi", "end": "99 psi", "seconds": 60}
_LEAK_APPLIED: Fields = {"kind": "air_loss", "state": "applied", **_ONE_PSI}
_LEAK_RELEASED: Fields = {"kind": "air_loss", "state": "released", **_ONE_PSI}
_BUILD_UP: Fields = {"kind": "build_up", "start": "85 psi", "end": "100 psi", "seconds": 25}
_WARNING: Fields = {"kind": "low_air_warning", "value": "70 psi"}
_SPRING_BRAKES_SET: Fields = {"kind": "spring_brake_set", "value": "35 psi"}


# ---- replacing readings


def _replace(clean: list[Row], entry: Fields) -> list[Row]:
    """The clean readings, less those a case leaves out or replaces, and then its own."""
    own = [_placed(row, entry) for row in [entry["reading"], *entry.get("also", [])] if "kind" in row]
    kept = [row for row in clean if not any(_same_place(row, mine) for mine in own)]
    if "without" in entry:
        left_out = _placed(entry["without"], entry)
        remaining = [row for row in kept if not left_out.items() <= row.items()]
        if len(remaining) == len(kept):
            raise CaseFault(f"{entry['name']}: there is no clean reading like {dict(entry['without'])} to leave out")
        kept = remaining
    return kept + own


def _placed(row: Fields, entry: Fields) -> Row:
    """A reading with its place: the left end of the tested axle, unless it is of the unit."""
    placed: Row = {"unit": UNIT}
    if not is_of_unit(row):
        placed |= {"axle": tested_axle(entry), "side": "left"}
    return placed | _with_part({name: value for name, value in row.items() if name != "at"}, entry)


def is_of_unit(row: Fields) -> bool:
    """Whether a reading is of the whole unit."""
    return row.get("kind") in UNIT_KINDS or row.get("at") == "unit"


def _with_part(row: Row, entry: Fields) -> Row:
    """A lining with the part and place that go without saying: upper shoe at its centre, inner pad at its thinnest."""
    if row.get("kind") not in {"lining", "above_fastener", "scribe_movement"} or "value" not in row:
        return row
    brake = {**entry["everywhere"], **entry["axle"]}.get("brake", "air_drum")
    part, place = ({"pad": "inner"}, "thinnest") if brake in DISC_BRAKES else ({"shoe": "upper"}, "centre")
    part = {} if {"shoe", "pad"} & row.keys() else part
    return {**part, **({"place": place} if row["kind"] == "lining" else {}), **row}


def _same_place(clean: Fields, mine: Fields) -> bool:
    names = ("unit", "axle", "side", "kind", "shoe", "pad", "state")
    return all(clean.get(name) == mine.get(name) for name in names)


def _with_defect(readings: Iterable[Row], defect: Fields) -> list[Row]:
    """The readings with one end made defective: `{ at = "K-12 2 left", stroke = "2 1/4 in" }`."""
    number, axle, side = defect["at"].split()
    place: Row = {"unit": number, "axle": int(axle), "side": side}
    own = [{**place, **row} for row in _defect_rows(defect)]
    if not own:
        raise CaseFault(f"a defect at {defect['at']} names no stroke, lining or condition")
    return [row for row in readings if not any(_same_place(row, mine) for mine in own)] + own


def _defect_rows(defect: Fields) -> list[Row]:
    rows: list[Row] = []
    if "stroke" in defect:
        rows.append({"kind": "applied_stroke", "value": defect["stroke"]})
    if "lining" in defect:
        rows.append({"kind": "lining", "shoe": "upper", "place": "centre", "value": defect["lining"]})
    if "condition" in defect:
        rows.append({"kind": "condition", "value": defect["condition"]})
    return rows
