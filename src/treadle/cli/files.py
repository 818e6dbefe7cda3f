"""Reading files at the door of the command: JSON, a workbook, or a folder of CSV tables."""

from __future__ import annotations

from pathlib import Path

from treadle.errors import BadInput, Problem
from treadle.fleet.read import Vocabulary, read_walkaround
from treadle.fleet.records import WalkAround
from treadle.fleet.tables import TABLES, walkaround_from_csv, walkaround_from_xlsx


def read_walkaround_file(path: Path, vocabulary: Vocabulary, occasion: str | None) -> WalkAround:
    """Read a walk-around from a .json or .xlsx file, or from a folder with a CSV file for each table.

    Raises
    ------
    BadInput
        The file cannot be read, or what stands in it cannot be used.
    """
    if path.is_dir():
        for name in TABLES:
            if not (path / f"{name}.csv").exists():
                details = {"given": f"{name}.csv", "allowed": ", ".join(f"{table}.csv" for table in TABLES)}
                raise BadInput(Problem("missing_table", str(path), details))
        texts = {name: read_text(path / f"{name}.csv") for name in TABLES}
        return walkaround_from_csv(texts, vocabulary, occasion=occasion)
    match path.suffix.lower():
        case ".json":
            return read_walkaround(read_text(path), vocabulary)
        case ".xlsx":
            return walkaround_from_xlsx(read_bytes(path), vocabulary, occasion=occasion, name=path.name)
    if not path.exists():
        raise BadInput(Problem("unreadable_file", str(path), {"reason": "no such file"}))
    raise BadInput(Problem("unknown_file_type", str(path), {"given": path.suffix or path.name}))


def read_text(path: Path) -> str:
    """Read a UTF-8 text file."""
    content = read_bytes(path)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise BadInput(Problem("unreadable_file", str(path), {"reason": "not UTF-8 text"})) from fault


def read_bytes(path: Path) -> bytes:
    """Read a file, or say why not."""
    try:
        return path.read_bytes()
    except OSError as fault:
        raise BadInput(Problem("unreadable_file", str(path), {"reason": fault.strerror})) from fault
