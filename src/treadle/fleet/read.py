"""Turning a walk-around file into records: nothing is dropped in silence, and every fault is named with its place."""

from __future__ import annotations

import calendar
import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from fractions import Fraction
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from treadle.errors import BadInput, Problem
from treadle.fleet import file_model as written
from treadle.fleet.records import (
    AIR_BRAKES,
    Adjuster,
    Axle,
    BuildDate,
    Chamber,
    Friction,
    Reading,
    Taken,
    Unit,
    WalkAround,
    WheelEnd,
)
from treadle.measure import Quantity, read_quantity

DIMENSIONS: dict[str, str] = {
    "applied_stroke": "length",
    "free_stroke": "length",
    "rod_released": "length",
    "rod_applied": "length",
    "lining": "length",
    "above_fastener": "length",
    "running_clearance": "length",
    "scribe_movement": "length",
    "drum_diameter": "length",
    "rotor_thickness": "length",
    "end_play": "length",
    "cam_angle": "angle",
    "hub_temperature": "temperature",
    "low_air_warning": "pressure",
    "spring_brake_set": "pressure",
    "cut_in": "pressure",
    "cut_out": "pressure",
    "reservoir_volume": "volume",
    "brake_force": "force",
    "stop_distance": "length",
}
"""What each kind of reading with a quantity measures."""

PLAUSIBLE: dict[str, tuple[Quantity, Quantity]] = {
    kind: (read_quantity(low, "length", where=kind), read_quantity(high, "length", where=kind))
    for kind, low, high in (
        ("applied_stroke", "1/16 in", "6 in"),
        ("lining", "0 in", "2 in"),
        ("drum_diameter", "5 in", "25 in"),
    )
}
"""Outside it no tool can have read so: a slip of unit or point (chosen, wide of anything fitted)."""

READING_KINDS = frozenset(written.READING_MODELS) - {"not_seen"}
"""Every kind of reading that says what was seen or measured."""
_REPEATABLE = frozenset({"drum_diameter", "rotor_thickness"})
_NUMBER_OF_SIZE, _LETTER = re.compile(r"[1-9]\d?"), re.compile(r"[A-G]")
_CHAMBER_SIZES = {"clamp": _NUMBER_OF_SIZE, "roto": _NUMBER_OF_SIZE, "dual_diaphragm": _NUMBER_OF_SIZE, "bolt": _LETTER}
_SIZES_IN_WORDS = {
    "clamp": "the number alone, such as 30",
    "roto": "the number alone, such as 30",
    "dual_diaphragm": "the number alone, such as 30",
    "bolt": "a letter from A to G",
}
_BUILT = re.compile(r"(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?")

Path = Sequence[str | int]
Locate = Callable[[Path], str]


@dataclass(frozen=True)
class Vocabulary:
    """The words a file may use that the rules publish: conditions, with the part each is about, and jurisdictions."""

    conditions: Mapping[str, str]
    jurisdictions: frozenset[str]


def read_walkaround(text: str, vocabulary: Vocabulary) -> WalkAround:
    """Read a walk-around file written as JSON.

    Parameters
    ----------
    text : str
        The file.
    vocabulary : Vocabulary
        Conditions and jurisdictions that the rules know.

    Raises
    ------
    BadInput
        Every fault found: not JSON, a field written twice, an unknown field, unit, axle, kind or condition,
        a quantity that cannot be read or has no unit, a time without offset, a place and kind measured twice
        with no later time.
    """
    raw = parse_json(text, "file")
    return records_from(raw, vocabulary)


def records_from(raw: Any, vocabulary: Vocabulary, locate: Locate | None = None) -> WalkAround:
    """Turn the fields of a walk-around file into records; `locate` says where a field stands in its source."""
    locate = locate or (lambda path: _json_place(raw, path))
    try:
        entry = written.WalkAroundFile.model_validate(raw)
    except ValidationError as fault:
        raise BadInput(_structure_problem(detail, locate) for detail in fault.errors()) from fault
    return _Builder(entry, vocabulary, locate).build()


def read_build_date(text: str, *, where: str) -> BuildDate:
    """Read when a unit was built: a year, a year and month, or a day.

    Raises
    ------
    BadInput
        It is none of these, or there is no such day.

    Examples
    --------
    >>> read_build_date("2019-02", where="built").latest
    datetime.date(2019, 2, 28)
    """
    match = _BUILT.fullmatch(text)
    try:
        if match is None:
            raise ValueError(text)
        year, month, day = (int(part) if part is not None else None for part in match.groups())
        assert year is not None  # noqa: S101 - the pattern has four digits there
        last_month = 12 if month is None else month
        earliest = date(year, 1 if month is None else month, 1 if day is None else day)
        latest = date(year, last_month, calendar.monthrange(year, last_month)[1] if day is None else day)
    except (ValueError, calendar.IllegalMonthError) as fault:
        raise BadInput(Problem("unreadable_build_date", where, {"given": text})) from fault
    return BuildDate(earliest, latest, text)


def chamber_sizes_refusing(design: str, size: str | None) -> str:
    """Return in words which sizes a chamber of a design comes in, where the one given is none; else nothing.

    >>> chamber_sizes_refusing("clamp", "30L"), chamber_sizes_refusing("bolt", "C")
    ('the number alone, such as 30', '')
    """
    known = _CHAMBER_SIZES.get(design)
    return _SIZES_IN_WORDS[design] if size is not None and known is not None and not known.fullmatch(size) else ""


def parse_json(text: str, where: str) -> Any:
    """Parse JSON, refusing what is not, and a field written twice, of which one would be lost in silence."""
    try:
        return json.loads(text, object_pairs_hook=_no_field_twice)
    except json.JSONDecodeError as fault:
        details = {"line": fault.lineno, "column": fault.colno, "reason": fault.msg}
        raise BadInput(Problem("not_json", where, details)) from fault
    except (RecursionError, ValueError) as fault:
        details = {"line": 1, "column": 1, "reason": "nested too deeply, or a number too long"}
        raise BadInput(Problem("not_json", where, details)) from fault


def _no_field_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    names = [name for name, _ in pairs]
    for name in names:
        if names.count(name) > 1:
            raise BadInput(Problem("field_twice", "file", {"field": name}))
    return dict(pairs)


def _json_place(raw: Any, path: Path) -> str:
    """Write a path as people find it: ``readings[3].value (D-3, axle 1, left, applied_stroke)``."""
    dotted = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path).lstrip(".")
    named = _reading_name(raw, path)
    return f"{dotted} ({named})" if named else dotted or "file"


def _reading_name(raw: Any, path: Path) -> str:
    match path:
        case ["readings", int(index), *_]:
            row = raw["readings"][index]
            if not isinstance(row, Mapping):
                return ""
            axle = f"axle {row['axle']}" if "axle" in row else None
            return ", ".join(str(part) for part in (row.get("unit"), axle, row.get("side"), row.get("kind")) if part)
        case ["units", int(index), *_] if isinstance(raw["units"][index], Mapping):
            return str(raw["units"][index].get("number", ""))
    return ""


def _structure_problem(detail: ErrorDetails, locate: Locate) -> Problem:
    """Say in our words what the file model refused."""
    location = list(detail["loc"])
    if location[:1] == ["readings"] and len(location) > 2:
        del location[2]  # the model names the kind of reading as a step of the path
    path, context = location, detail.get("ctx", {})
    match detail["type"]:
        case "extra_forbidden":
            allowed = ", ".join(_fields_beside(detail["loc"]))
            return Problem("unknown_field", locate(path[:-1]), {"field": path[-1], "allowed": allowed})
        case "missing":
            return Problem("missing_field", locate(path[:-1]), {"field": path[-1]})
        case "literal_error":
            details = {"given": detail["input"], "allowed": _unquoted(context["expected"])}
            return Problem("word_not_allowed", locate(path), details)
        case "union_tag_invalid":
            details = {"given": context["tag"], "allowed": ", ".join(sorted(READING_KINDS | {"not_seen"}))}
            return Problem("word_not_allowed", locate([*path, "kind"]), details)
        case "union_tag_not_found":
            return Problem("missing_field", locate(path), {"field": "kind"})
        case "string_type":
            return Problem("not_text", locate(path), {"given": detail["input"]})
    return Problem("wrong_type", locate(path), {"given": detail["input"], "reason": detail["msg"]})


def _unquoted(expected: str) -> str:
    return expected.replace("'", "").replace(" or ", ", ")


def _fields_beside(location: Sequence[str | int]) -> list[str]:
    """Return the fields allowed where an unknown one was found."""
    model: Any = written.WalkAroundFile
    for step in location[:-1]:
        if isinstance(step, int):
            continue
        if model is None:
            return sorted(written.READING_MODELS[str(step)].model_fields)
        if step == "readings":
            model = None  # the next named step is the kind
            continue
        model = _entry_model(model, str(step))
    return sorted(model.model_fields)


def _entry_model(model: type[BaseModel], name: str) -> type[BaseModel]:
    """Return the model of the entries under a field, looking through lists and None."""
    found: list[type[BaseModel]] = []
    queue: list[Any] = [model.model_fields[name].annotation]
    while queue:
        annotation = queue.pop()
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            found.append(annotation)
        queue.extend(getattr(annotation, "__args__", ()))
    return found[0]


@dataclass
class _Builder:
    """Builds the records of one file, collecting every problem before it gives up."""

    entry: written.WalkAroundFile
    vocabulary: Vocabulary
    locate: Locate
    problems: list[Problem] = field(default_factory=list)
    alike: dict[WheelEnd, WheelEnd] = field(default_factory=dict)
    """Wheel ends with the same parts are one record, so that what is worked out for one serves all."""

    def build(self) -> WalkAround:
        taken = self._taken()
        units = tuple(self._unit(index, unit) for index, unit in enumerate(self.entry.units))
        self._check_numbers(units)
        by_number = {unit.number: unit for unit in units}
        self._check_combinations(by_number)
        meter = {
            number: self._quantity(text, "length", ("taken", "meter", number))
            for number, text in self.entry.taken.meter.items()
        }
        for number in set(meter) - set(by_number):
            self._refuse("unknown_unit", ("taken", "meter"), given=number, allowed=", ".join(by_number))
        touched = self._touched(by_number)
        readings = self._readings(by_number, taken)
        if self.problems:
            raise BadInput(self.problems)
        return WalkAround(
            occasion=self.entry.occasion,
            units=units,
            combinations=tuple(tuple(units) for units in self.entry.combinations),
            readings=readings,
            taken=taken,
            meter=meter,
            touched=touched,
            kept_shut=self._kept_shut(),
        )

    def _refuse(self, slug: str, path: Path, **details: Any) -> None:
        self._add(Problem(slug, self.locate(path), details))

    def _add(self, problem: Problem) -> None:
        """Note a problem once: what an axle states is read for each of its ends."""
        if problem not in self.problems:
            self.problems.append(problem)

    def _quantity(self, text: str, dimension: str, path: Path, nominal: Quantity | None = None) -> Quantity:
        try:
            return read_quantity(text, dimension, where=self.locate(path), nominal=nominal)
        except BadInput as refused:
            for problem in refused.problems:
                self._add(problem)
            return _UNREAD

    def _optional(self, text: str | None, dimension: str, path: Path) -> Quantity | None:
        return None if text is None else self._quantity(text, dimension, path)

    def _time(self, text: str, path: Path) -> datetime:
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            self._refuse("unreadable_time", path, given=text)
            return _NO_TIME
        if moment.tzinfo is None:
            self._refuse("time_without_offset", path, given=text)
            return _NO_TIME
        return moment

    def _taken(self) -> Taken:
        entry = self.entry.taken
        return Taken(
            at=self._time(entry.at, ("taken", "at")),
            by=entry.by,
            reservoir=self._optional(entry.reservoir, "pressure", ("taken", "reservoir")),
            engine=entry.engine,
            spring_brakes=entry.spring_brakes,
            supply=entry.supply,
        )

    def _unit(self, index: int, entry: written.UnitEntry) -> Unit:
        path = ("units", index)
        for jurisdiction in entry.runs_in:
            if jurisdiction not in self.vocabulary.jurisdictions:
                allowed = ", ".join(sorted(self.vocabulary.jurisdictions))
                self._refuse("unknown_jurisdiction", (*path, "runs_in"), given=jurisdiction, allowed=allowed)
        return Unit(
            number=entry.number,
            kind=entry.kind,
            built=self._built(entry.built, (*path, "built")),
            runs_in=tuple(entry.runs_in),
            axles=tuple(
                self._axle(number, axle, (*path, "axles", number - 1))
                for number, axle in enumerate(entry.axles, start=1)
            ),
        )

    def _built(self, text: str, path: Path) -> BuildDate:
        try:
            return read_build_date(text, where=self.locate(path))
        except BadInput as refused:
            for problem in refused.problems:
                self._add(problem)
            return BuildDate(date.min, date.max, text)

    def _axle(self, number: int, entry: written.AxleEntry, path: Path) -> Axle:
        return Axle(
            number=number,
            role=entry.role,
            left=self._wheel_end(entry, entry.left, (*path, "left"), path),
            right=self._wheel_end(entry, entry.right, (*path, "right"), path),
            gawr=self._optional(entry.gawr, "mass", (*path, "gawr")),
            lift_raised=entry.lift_raised,
        )

    def _wheel_end(self, axle: written.AxleEntry, own: written.EndEntry, path: Path, axle_path: Path) -> WheelEnd:
        overridden = own.model_fields_set

        def stated(name: str) -> Any:
            return getattr(own if name in overridden else axle, name)

        def at(name: str) -> Path:
            return (*(path if name in overridden else axle_path), name)

        brake = stated("brake") or axle.brake
        if stated("brake") is None:
            self._refuse("missing_field", path, field="brake")
        if brake in AIR_BRAKES:
            for name in ("chamber", "adjuster"):
                if stated(name) is None:
                    self._refuse("missing_field", axle_path, field=name)
        end = WheelEnd(
            brake=brake,
            lining_form=stated("lining_form"),
            lining_attachment=stated("lining_attachment"),
            lining_type=stated("lining_type"),
            wear_mark=stated("wear_mark"),
            chamber=self._chamber(stated("chamber"), at("chamber")),
            adjuster=self._adjuster(stated("adjuster"), at("adjuster")),
            drum=self._friction(stated("drum"), at("drum")),
            rotor=self._friction(stated("rotor"), at("rotor")),
            spring_brake=stated("spring_brake"),
            rod_visible=stated("rod_visible"),
            abs=stated("abs"),
        )
        return self.alike.setdefault(end, end)

    def _chamber(self, entry: written.ChamberEntry | None, path: Path) -> Chamber | None:
        if entry is None:
            return None
        if allowed := chamber_sizes_refusing(entry.design, entry.type):
            self._refuse("word_not_allowed", (*path, "type"), given=entry.type, allowed=allowed)
        return Chamber(
            design=entry.design,
            type=entry.type,
            stroke_class=None if entry.stroke_class == "unknown" else entry.stroke_class,
            rated_stroke=self._optional(entry.rated_stroke, "length", (*path, "rated_stroke")),
            marked_limit=self._optional(entry.marked_limit, "length", (*path, "marked_limit")),
        )

    def _adjuster(self, entry: written.AdjusterEntry | None, path: Path) -> Adjuster | None:
        if entry is None:
            return None
        kind = None if entry.kind == "unknown" else entry.kind
        return Adjuster(kind, self._optional(entry.arm, "length", (*path, "arm")))

    def _friction(self, entry: written.FrictionEntry | None, path: Path) -> Friction | None:
        if entry is None:
            return None
        return Friction(
            self._optional(entry.nominal, "length", (*path, "nominal")),
            self._optional(entry.discard, "length", (*path, "discard")),
        )

    def _check_numbers(self, units: tuple[Unit, ...]) -> None:
        numbers = [unit.number for unit in units]
        for index, number in enumerate(numbers):
            if number in numbers[:index]:
                self._refuse("unit_twice", ("units", index), given=number)

    def _check_combinations(self, units: Mapping[str, Unit]) -> None:
        seen: set[str] = set()
        for index, numbers in enumerate(self.entry.combinations):
            for number in numbers:
                path = ("combinations", index)
                if number not in units:
                    self._refuse("unknown_unit", path, given=number, allowed=", ".join(units))
                elif number in seen:
                    self._refuse("coupled_twice", path, given=number)
                seen.add(number)

    def _touched(self, units: Mapping[str, Unit]) -> frozenset[tuple[str, int, str]] | None:
        if self.entry.touched is None:
            return None
        for index, end in enumerate(self.entry.touched):
            self._check_place(units, end.unit, end.axle, ("touched", index))
        return frozenset((end.unit, end.axle, end.side) for end in self.entry.touched)

    def _kept_shut(self) -> frozenset[tuple[str, int, str]]:
        touched = self.entry.touched or []
        return frozenset((end.unit, end.axle, end.side) for end in touched if not end.opened)

    def _check_place(self, units: Mapping[str, Unit], number: str, axle: int | None, path: Path) -> None:
        if number not in units:
            self._refuse("unknown_unit", path, given=number, allowed=", ".join(units))
        elif axle is not None and axle > len(units[number].axles):
            self._refuse("unknown_axle", path, unit=number, axle=axle, axles=len(units[number].axles))

    def _readings(self, units: Mapping[str, Unit], taken: Taken) -> tuple[Reading, ...]:
        kept: dict[tuple[Any, ...], tuple[int, Reading]] = {}
        by_id: dict[str, Reading] = {}
        for index, entry in enumerate(self.entry.readings):
            path = ("readings", index)
            before = len(self.problems)
            self._check_place(units, entry.unit, getattr(entry, "axle", None), path)
            if len(self.problems) > before:
                continue
            reading = self._reading(entry, units[entry.unit], taken, path)
            if reading.id is not None:
                first = by_id.setdefault(reading.id, reading)
                if first is not reading:
                    if first != reading:
                        self._refuse("id_twice", path, given=reading.id)
                    continue
            self._keep(reading, index, kept)
        return tuple(reading for _, reading in sorted(kept.values(), key=lambda item: item[0]))

    def _keep(self, reading: Reading, index: int, kept: dict[tuple[Any, ...], tuple[int, Reading]]) -> None:
        """Keep a reading; of the same place and kind the later counts, and two at one time are refused."""
        key: tuple[Any, ...] = (
            reading.unit,
            reading.axle,
            reading.side,
            reading.kind,
            reading.place,
            reading.part,
            reading.state,
            reading.taken.supply if reading.kind == "air_loss" else None,
            reading.what,
            reading.value if reading.kind == "condition" else None,
            index if reading.kind in _REPEATABLE else None,
        )
        if key not in kept:
            kept[key] = (index, reading)
            return
        earlier = kept[key][1]
        if earlier.taken.at == reading.taken.at:
            if reading.kind != "condition":
                details = {"kind": reading.kind, "at": reading.taken.at.isoformat()}
                self._refuse("measured_twice", ("readings", index), **details)
        elif earlier.taken.at < reading.taken.at:
            kept[key] = (index, reading)

    def _reading(self, entry: Any, unit: Unit, taken: Taken, path: Path) -> Reading:
        known = {
            name: getattr(entry, name)
            for name in ("axle", "side", "id", "special", "place", "state", "rpm", "what", "reason")
            if getattr(entry, name, None) is not None
        }
        self._check_words(entry, path)
        reading = Reading(
            unit=entry.unit,
            kind=entry.kind,
            taken=self._taken_at(entry, taken, path),
            part=self._part(entry, path),
            value=self._value(entry, unit, path),
            start=self._optional(getattr(entry, "start", None), "pressure", (*path, "start")),
            end=self._optional(getattr(entry, "end", None), "pressure", (*path, "end")),
            seconds=Fraction(entry.seconds) if hasattr(entry, "seconds") else None,
            **known,
        )
        if reading.start and reading.end and _UNREAD not in (reading.start, reading.end):
            gained = reading.end.in_unit(reading.start.unit) - reading.start.value
            if gained > 0 if reading.kind == "air_loss" else gained < 0:
                self._refuse("pressure_backwards", path, kind=reading.kind, start=entry.start, end=entry.end)
        return reading

    def _taken_at(self, entry: Any, taken: Taken, path: Path) -> Taken:
        """Return the file's circumstances with what this reading overrides."""
        overridden = {
            name: getattr(entry, name)
            for name in ("by", "engine", "spring_brakes", "supply")
            if getattr(entry, name) is not None
        }
        if entry.at is None and entry.reservoir is None and not overridden:
            return taken
        return Taken(
            at=taken.at if entry.at is None else self._time(entry.at, (*path, "at")),
            by=overridden.get("by", taken.by),
            reservoir=(
                taken.reservoir
                if entry.reservoir is None
                else self._quantity(entry.reservoir, "pressure", (*path, "reservoir"))
            ),
            engine=overridden.get("engine", taken.engine),
            spring_brakes=overridden.get("spring_brakes", taken.spring_brakes),
            supply=overridden.get("supply", taken.supply),
        )

    def _part(self, entry: Any, path: Path) -> str | None:
        """Return the shoe or pad a reading is of; a lining is always of one of them."""
        shoe, pad = getattr(entry, "shoe", None), getattr(entry, "pad", None)
        if shoe and pad:
            self._refuse("shoe_and_pad", path)
        if entry.kind == "lining" and not (shoe or pad):
            self._refuse("missing_field", path, field="shoe")
        return shoe or pad

    def _value(self, entry: Any, unit: Unit, path: Path) -> Quantity | str | None:
        text = getattr(entry, "value", None)
        dimension = DIMENSIONS.get(entry.kind)
        if dimension is None:
            return text if isinstance(text, str) else None
        if text is None:
            if getattr(entry, "special", None) is None:
                self._refuse("missing_field", path, field="value")
            return None
        if getattr(entry, "special", None) is not None:
            self._refuse("value_and_special", path)
        nominal = None
        if entry.kind == "drum_diameter":
            drum = unit.axles[entry.axle - 1].end(entry.side).drum
            nominal = drum.nominal if drum else None
        size = self._quantity(text, dimension, (*path, "value"), nominal)
        if size is not _UNREAD and not _is_plausible(entry.kind, size):
            low, high = PLAUSIBLE[entry.kind]
            self._refuse("implausible", (*path, "value"), text=text, low=low, high=high)
        return size

    def _check_words(self, entry: Any, path: Path) -> None:
        """Check what only the rules know: conditions; and that a condition or not_seen names a real place."""
        if entry.kind == "not_seen" and entry.what not in READING_KINDS:
            allowed = ", ".join(sorted(READING_KINDS))
            self._refuse("word_not_allowed", (*path, "what"), given=entry.what, allowed=allowed)
        if entry.kind not in ("condition", "not_seen"):
            return
        if (entry.axle is None) != (entry.side is None):
            self._refuse("missing_field", path, field="axle" if entry.axle is None else "side")
        if entry.kind == "condition":
            about = self.vocabulary.conditions.get(entry.value)
            if about is None:
                allowed = ", ".join(sorted(self.vocabulary.conditions))
                self._refuse("unknown_condition", path, given=entry.value, allowed=allowed)
            elif about in ("brake", "wheel") and entry.axle is None:
                self._refuse("missing_field", path, field="axle")


def _is_plausible(kind: str, size: Quantity) -> bool:
    if kind not in PLAUSIBLE or (kind == "applied_stroke" and size.value == 0):
        return True
    low, high = PLAUSIBLE[kind]
    return low.in_unit("mm") <= size.in_unit("mm") <= high.in_unit("mm")


_UNREAD = Quantity(Fraction(0), "mm", "unread", Fraction(0), "unread")
_NO_TIME = datetime(1, 1, 1, tzinfo=UTC)
