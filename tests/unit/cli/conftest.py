"""Running the command as a shell would, and leaving files for it."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from treadle.cli import main


class Run(NamedTuple):
    """What a run of the command gave back."""

    code: int
    output: str
    error: str


@pytest.fixture
def treadle(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Run]:
    """Run the command with these arguments, in English whatever the tester has set."""
    monkeypatch.delenv("TREADLE_LANGUAGE", raising=False)

    def run(*arguments: object) -> Run:
        monkeypatch.setattr(sys, "argv", ["treadle", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        output, error = capsys.readouterr()
        return Run(ended.value.code, output, error)

    return run


@pytest.fixture
def file_of(tmp_path: Path) -> Callable[..., Path]:
    """Write fields as a JSON file and return its path."""

    def write(fields: Any, name: str = "walk.json") -> Path:
        path = tmp_path / name
        path.write_text(json.dumps(fields), encoding="utf-8")
        return path

    return write


@pytest.fixture
def walk(clean: dict[str, Any], file_of: Callable[..., Path]) -> Path:
    """The file of a clean walk-around."""
    return file_of(clean)
