"""Writes a walk-around file as its three tables, CSV or a workbook; a helper, tested in `fleet/test_tables.py`."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from datetime import datetime
from typing import Any

import xlsxwriter

Grid = list[list[Any]]
CIRCUMSTANCES = ("at", "by", "reservoir", "engine", "spring_brakes", "supply")


def grids_of(raw: Mapping[str, Any]) -> dict[str, Grid]:
    """The three tables of a walk-around file, with a header each and empty cells where a row says nothing."""
    return {
        "units": _grid([_unit_row(raw, unit) for unit in raw["units"]]),
        "wheel_ends": _grid([row for unit in raw["units"] for row in _end_rows(unit)]),
        "readings": _grid(_reading_rows(raw)),
    }


def _unit_row(raw: Mapping[str, Any], unit: Mapping[str, Any]) -> dict[str, Any]:
    number = unit["number"]
    coupled = [f"C{place}" for place, numbers in enumerate(raw.get("combinations", [])) if number in numbers]
    row = {name: unit[name] for name in ("number", "kind", "built")}
    meter = raw["taken"].get("meter", {}).get(number)
    return {**row, "runs_in": " ".join(unit["runs_in"]), "combination": "".join(coupled), "meter": meter}


def _end_rows(unit: Mapping[str, Any]) -> list[dict[str, Any]]:
    rows = []
    for number, axle in enumerate(unit["axles"], start=1):
        for side, fields in (("both", axle), ("left", axle.get("left", {})), ("right", axle.get("right", {}))):
            stated = {name: value for name, value in fields.items() if name not in ("left", "right")}
            if stated:
                rows.append({"unit": unit["number"], "axle": number, "side": side, **_flat(stated)})
    return rows


def _flat(fields: Mapping[str, Any]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for name, value in fields.items():
        if isinstance(value, Mapping):
            out |= {f"{name}.{part}": cell for part, cell in value.items()}
        elif value is None:
            raise ValueError(f"a table cannot take away {name}")
        else:
            out[name] = value
    return out


def _reading_rows(raw: Mapping[str, Any]) -> list[dict[str, Any]]:
    first, *others = raw["readings"]
    if set(CIRCUMSTANCES) & set(first):
        raise ValueError("a table has no circumstances but those of its first reading")
    taken = {name: raw["taken"][name] for name in CIRCUMSTANCES if name in raw["taken"]}
    return [{"occasion": raw["occasion"], **taken, **first}, *others]


def _grid(rows: list[dict[str, Any]]) -> Grid:
    header = list(dict.fromkeys(name for row in rows for name in row))
    return [header, *([row.get(name, "") for name in header] for row in rows)]


def csv_texts(grids: Mapping[str, Grid]) -> dict[str, str]:
    """Each table as the text of a CSV file."""
    return {name: _csv(grid) for name, grid in grids.items()}


def _csv(grid: Grid) -> str:
    out = io.StringIO()
    csv.writer(out).writerows(grid)
    return out.getvalue()


def workbook(grids: Mapping[str, Grid]) -> bytes:
    """The tables as a workbook: numbers as numbers, truths as truths, times with a day format."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        of_days = book.add_format({"num_format": "yyyy-mm-dd"})
        for name, grid in grids.items():
            sheet = book.add_worksheet(name)
            for row, cells in enumerate(grid):
                for column, cell in enumerate(cells):
                    if isinstance(cell, datetime):
                        sheet.write_datetime(row, column, cell, of_days)
                    elif cell is not None and cell != "":
                        sheet.write(row, column, cell)
    return out.getvalue()
