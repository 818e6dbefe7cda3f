"""The files of this repository, for the checks that read them; a helper, tested in `test_suite.py`."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "treadle"
TESTS = ROOT / "tests"
LEFT_BEHIND = frozenset({"__pycache__", "dist", "build", "htmlcov"})
"""Folders that tools make; what begins with a dot is theirs too, but for `.ci` and `.github`."""


def files_of_the_tree(root: Path = ROOT) -> Iterator[Path]:
    """Every file that belongs to the project, and none that a tool left behind."""
    for path in sorted(root.iterdir()):
        hidden = path.name.startswith(".") and path.name not in (".ci", ".github", ".gitattributes", ".gitignore")
        if hidden or path.name in LEFT_BEHIND or path.name.endswith(".egg-info"):
            continue
        if path.is_dir():
            yield from files_of_the_tree(path)
        else:
            yield path


def modules_below(folder: Path) -> list[Path]:
    """Every Python file below a folder."""
    return [path for path in files_of_the_tree(folder) if path.suffix == ".py"]


@cache
def parsed(path: Path) -> ast.Module:
    """The syntax tree of a Python file."""
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def shown(path: Path) -> str:
    """A path as people find it from the root of the project."""
    return path.relative_to(ROOT).as_posix() if path.is_relative_to(ROOT) else path.name
