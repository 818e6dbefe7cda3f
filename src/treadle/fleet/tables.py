"""The walk-around file as three tables, units, wheel_ends and readings: the same fields, one row each.

A column of a nested field is written with a dot: ``chamber.rated_stroke``.  `runs_in` lists places with spaces between;
units with the same word under `combination` are coupled, in row order.  The first reading's time, person and
circumstances hold for every row that leaves them empty, as `taken` does in the JSON file.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from pydantic import BaseModel
from python_calamine import CalamineError, load_workbook

from treadle.errors import BadInput, Problem
from treadle.fleet import file_model as written
from treadle.fleet.read import Path, Vocabulary, records_from
from treadle.fleet.records import WalkAround

TABLES = ("units", "wheel_ends", "readings")
Table = list[dict[str, Any]]

_CIRCUMSTANCES = ("at", "by", "reservoir", "engine", "spring_brakes", "supply")
_WHOLE_NUMBERS = frozenset({"axle", "rpm"})
_TRUE = frozenset({"true", "yes", "si", "sí", "1"})
_FALSE = frozenset({"false", "no", "0"})
_END_TRUTHS = frozenset({"wear_mark", "spring_brake", "rod_visible", "abs", "lift_raised"})
_NESTED: dict[str, type[BaseModel]] = {
    "chamber": written.ChamberEntry,
    "adjuster": written.AdjusterEntry,
    "drum": written.FrictionEntry,
    "rotor": written.FrictionEntry,
}


def _end_columns() -> tuple[str, ...]:
    columns = ["unit", "axle", "side", "role", "gawr", "lift_raised"]
    for name in written.EndEntry.model_fields:
        nested = _NESTED.get(name)
        columns += [f"{name}.{part}" for part in nested.model_fields] if nested else [name]
    return tuple(columns)


def _reading_columns() -> tuple[str, ...]:
    names = dict.fromkeys(name for model in written.READING_MODELS.values() for name in model.model_fields)
    return ("occasion", *names)


COLUMNS: dict[str, tuple[str, ...]] = {
    "units": ("number", "kind", "built", "runs_in", "combination", "meter"),
    "wheel_ends": _end_columns(),
    "readings": _reading_columns(),
}
"""The columns each table may have."""


def walkaround_from_csv(texts: Mapping[str, str], vocabulary: Vocabulary, *, occasion: str | None = None) -> WalkAround:
    """Read a walk-around from the text of three CSV files, by table name.

    Raises
    ------
    BadInput
        A table or a column is missing or unknown, or anything `records_from` refuses; places are row and column.
    """
    grids = {name: _csv_grid(name, text.removeprefix("\ufeff")) for name, text in texts.items()}
    return _from_grids(grids, vocabulary, occasion)


def _csv_grid(name: str, text: str) -> list[list[str]]:
    try:
        first = text.partition("\n")[0]
        separator = ";" if ";" in first and "," not in first else ","  # spreadsheets of many countries write ;
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    except csv.Error as fault:
        raise BadInput(Problem("unreadable_file", f"{name}.csv", {"reason": str(fault)})) from fault


def walkaround_from_xlsx(
    content: bytes, vocabulary: Vocabulary, *, occasion: str | None = None, name: str = "file"
) -> WalkAround:
    """Read a walk-around from a workbook with sheets units, wheel_ends and readings.

    Raises
    ------
    BadInput
        The workbook cannot be opened, or as `walkaround_from_csv`.
    """
    try:
        book = load_workbook(io.BytesIO(content))
    except CalamineError as fault:
        raise BadInput(Problem("unreadable_file", name, {"reason": str(fault)})) from fault
    grids = {sheet: book.get_sheet_by_name(sheet).to_python() for sheet in book.sheet_names}
    return _from_grids(grids, vocabulary, occasion)


def _from_grids(
    grids: Mapping[str, Sequence[Sequence[Any]]], vocabulary: Vocabulary, occasion: str | None
) -> WalkAround:
    tables = {name: _rows(name, grids) for name in TABLES}
    builder = _FromTables(tables)
    raw = builder.raw(occasion)
    return records_from(raw, vocabulary, builder.locate)


def _rows(name: str, grids: Mapping[str, Sequence[Sequence[Any]]]) -> Table:
    """Return a table's rows by column, each with its row number under ``""``; empty cells are left out."""
    if name not in grids:
        raise BadInput(Problem("missing_table", "file", {"given": name, "allowed": ", ".join(TABLES)}))
    grid = [list(row) for row in grids[name]]
    header = [str(cell).strip() for cell in grid[0]] if grid else []
    for place, column in enumerate(header):
        if column and column not in COLUMNS[name]:
            allowed = ", ".join(COLUMNS[name])
            raise BadInput(Problem("unknown_column", f"{name} row 1", {"field": column, "allowed": allowed}))
        if column and column in header[:place]:
            raise BadInput(Problem("field_twice", f"{name} row 1", {"field": column}))
    rows = []
    for number, cells in enumerate(grid[1:], start=2):
        for place, cell in enumerate(cells):
            if _cell(cell) and not (header[place] if place < len(header) else ""):
                details = {"given": _cell(cell), "column": place + 1}
                raise BadInput(Problem("cell_without_column", f"{name} row {number}", details))
        row = {
            column: text for column, cell in zip(header, cells, strict=False) if column and (text := _cell(cell)) != ""
        }
        if row:
            rows.append({"": number, **row})
    if not rows:
        raise BadInput(Problem("empty_table", name))
    return rows


def _cell(cell: Any) -> str:
    """Return a cell as it would be typed: whole numbers without a point, days and times in ISO form."""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    if isinstance(cell, datetime | date):
        return cell.isoformat()
    return "" if cell is None else str(cell).strip()


@dataclass
class _FromTables:
    """Builds the fields of a walk-around file from its tables, and remembers which row each came from."""

    tables: Mapping[str, Table]
    sources: dict[tuple[str | int, ...], tuple[str, int]] = field(default_factory=dict)

    def raw(self, occasion: str | None) -> dict[str, Any]:
        readings = self.tables["readings"]
        first = readings[0]
        taken = {name: first[name] for name in _CIRCUMSTANCES if name in first}
        self.sources["taken",] = ("readings", first[""])
        for row in self.tables["units"]:
            if "number" not in row:
                raise BadInput(Problem("unfilled_cell", f"units row {row['']}", {"field": "number"}))
            self.sources["taken", "meter", row["number"]] = ("units", row[""])
        meter = {row["number"]: row["meter"] for row in self.tables["units"] if "meter" in row}
        out = {
            "treadle": "walkaround/1",
            "occasion": occasion or self._one_occasion(),
            "combinations": self._combinations(),
            "units": [self._unit(index, row) for index, row in enumerate(self.tables["units"])],
            "taken": {**taken, **({"meter": meter} if meter else {})},
            "readings": [self._reading(index, row) for index, row in enumerate(readings)],
        }
        self._refuse_homeless_ends()
        return out

    def locate(self, path: Path) -> str:
        """Say in which row and column a field stands."""
        for length in range(len(path), 0, -1):
            source = self.sources.get(tuple(path[:length]))
            if source is not None:
                table, row = source
                below = path[length - 2 : length - 1] if path[:2] == ("taken", "meter") else path[length:]
                column = ".".join(str(step) for step in below if step not in ("left", "right"))
                named = self._name_of(table, row)
                return f"{table} row {row}{f', column {column}' if column else ''} ({named})"
        return ".".join(map(str, path)) or "file"

    def _name_of(self, table: str, number: int) -> str:
        row = next(row for row in self.tables[table] if row[""] == number)
        keys = ("number", "unit", "axle", "side", "kind")
        return ", ".join(f"axle {row[key]}" if key == "axle" else row[key] for key in keys if key in row)

    def _one_occasion(self) -> str:
        stated = [(row[""], row["occasion"]) for row in self.tables["readings"] if "occasion" in row]
        for number, word in stated:
            if word != stated[0][1]:
                details = {"field": "occasion", "given": word, "other": stated[0][1]}
                raise BadInput(Problem("differing_cells", f"readings row {number}", details))
        if not stated:
            raise BadInput(Problem("unfilled_cell", "readings row 2", {"field": "occasion"}))
        return str(stated[0][1])

    def _combinations(self) -> list[list[str]]:
        coupled: dict[str, list[str]] = {}
        for row in self.tables["units"]:
            if "combination" in row and "number" in row:
                coupled.setdefault(row["combination"], []).append(row["number"])
        return list(coupled.values())

    def _unit(self, index: int, row: dict[str, Any]) -> dict[str, Any]:
        self.sources["units", index] = ("units", row[""])
        out: dict[str, Any] = {name: row[name] for name in ("number", "kind", "built") if name in row}
        if "runs_in" in row:
            out["runs_in"] = row["runs_in"].replace(",", " ").replace(";", " ").split()
        out["axles"] = self._axles(index, row.get("number"))
        return out

    def _axles(self, index: int, number: str | None) -> list[dict[str, Any]]:
        by_axle: dict[int, dict[str, dict[str, Any]]] = {}
        for row in self.tables["wheel_ends"]:
            if row.get("unit") != number:
                continue
            place = f"wheel_ends row {row['']}"
            axle = _whole(row.get("axle"), place)
            side = row.get("side", "both")
            if side not in ("left", "right", "both"):
                details = {"given": side, "allowed": "left, right, both"}
                raise BadInput(Problem("word_not_allowed", f"{place}, column side", details))
            if side in by_axle.setdefault(axle, {}):
                details = {"field": f"axle {axle} {side}", "given": place, "other": "it"}
                raise BadInput(Problem("differing_cells", place, details))
            by_axle[axle][side] = row
        return [
            self._axle(index, position, by_axle[axle])
            for position, axle in enumerate(sorted(by_axle))
            if self._counts_up(axle, position, by_axle[axle])
        ]

    def _counts_up(self, axle: int, position: int, rows: dict[str, dict[str, Any]]) -> bool:
        if axle == position + 1:
            return True
        row = next(iter(rows.values()))
        details = {"unit": row["unit"], "axle": axle, "axles": position}
        raise BadInput(Problem("unknown_axle", f"wheel_ends row {row['']}", details))

    def _axle(self, index: int, position: int, rows: dict[str, dict[str, Any]]) -> dict[str, Any]:
        """Build an axle: a row for both ends holds for each, a row for one end goes before it."""
        path = ("units", index, "axles", position)
        base = rows.get("both") or next(iter(rows.values()))
        self.sources[path] = ("wheel_ends", base[""])
        fields = _end_fields(base)
        of_the_axle = ("role", "brake", "gawr", "lift_raised")
        out = fields if "both" in rows else {name: fields[name] for name in of_the_axle if name in fields}
        for side in ("left", "right"):
            if side in rows:
                self.sources[*path, side] = ("wheel_ends", rows[side][""])
                own = _end_fields(rows[side])
                out[side] = {key: own[key] for key in own if key not in ("role", "gawr", "lift_raised")}
        return out

    def _reading(self, index: int, row: dict[str, Any]) -> dict[str, Any]:
        self.sources["readings", index] = ("readings", row[""])
        skip = {"", "occasion", *(_CIRCUMSTANCES if index == 0 else ())}
        place = f"readings row {row['']}"
        return {
            name: _whole(cell, f"{place}, column {name}") if name in _WHOLE_NUMBERS else cell
            for name, cell in row.items()
            if name not in skip
        }

    def _refuse_homeless_ends(self) -> None:
        numbers = [row.get("number") for row in self.tables["units"]]
        for row in self.tables["wheel_ends"]:
            if row.get("unit") not in numbers:
                details = {"given": row.get("unit", ""), "allowed": ", ".join(map(str, numbers))}
                raise BadInput(Problem("unknown_unit", f"wheel_ends row {row['']}", details))


def _whole(cell: Any, place: str) -> int:
    if cell is None:
        raise BadInput(Problem("unfilled_cell", place, {"field": "axle"}))
    try:
        return int(cell)
    except ValueError:
        details = {"given": cell, "reason": "a whole number"}
        raise BadInput(Problem("wrong_type", place, details)) from None


def _end_fields(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return the fields of a wheel-end row, nested ones gathered and truths read."""
    out: dict[str, Any] = {}
    for column, cell in row.items():
        if column in ("", "unit", "axle", "side"):
            continue
        name, _, part = column.partition(".")
        if part:
            out.setdefault(name, {})[part] = cell
        elif name in _END_TRUTHS:
            out[name] = _truth(cell, f"wheel_ends row {row['']}, column {name}")
        else:
            out[name] = cell
    return out


def _truth(cell: str, place: str) -> bool:
    if cell.lower() in _TRUE | _FALSE:
        return cell.lower() in _TRUE
    raise BadInput(Problem("word_not_allowed", place, {"given": cell, "allowed": "yes, no"}))
