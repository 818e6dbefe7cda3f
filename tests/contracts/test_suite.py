"""The test suite looks after itself: every test is collected, every helper is used, and none is passed over."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable
from pathlib import Path

import pytest
from contracts.tree import ROOT, TESTS, files_of_the_tree, modules_below, parsed, shown


def held_in(path: Path) -> list[str]:
    """Every test that a file holds, at its top or in a class of tests."""
    tree = parsed(path)
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef) and node.name.startswith("Test")]
    return [
        node.name
        for body in (tree.body, *(one.body for one in classes))
        for node in body
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and node.name.startswith("test_")
    ]


def modules_named_in(paths: Iterable[Path]) -> set[str]:
    """The last name of every module that these files import."""
    found = set()
    for path in paths:
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.ImportFrom) and node.module:
                found |= {node.module.rpartition(".")[2], *(one.name for one in node.names)}
            elif isinstance(node, ast.Import):
                found |= {one.name.rpartition(".")[2] for one in node.names}
    return found


def is_collected(path: Path) -> bool:
    return path.name.startswith("test_")


def is_found_by_name(path: Path) -> bool:
    return path.name in ("conftest.py", "__init__.py")


def faults_of_suite(paths: list[Path], named_elsewhere: str = "") -> list[str]:
    """What is wrong with the files of a suite, in sentences that say how to right it."""
    used = modules_named_in(paths)
    out = []
    for path in paths:
        tests = held_in(path)
        if is_collected(path) and not tests:
            out.append(f"{shown(path)}: it has no test. Add one, or rename it: only files of tests are named test_*.")
        elif tests and not is_collected(path):
            out.append(f"{shown(path)}: {tests[0]} is never collected. Rename the file to test_{path.name}.")
        elif not (is_collected(path) or is_found_by_name(path) or path.stem in used or path.name in named_elsewhere):
            out.append(f"{shown(path)}: nothing uses it. Remove it, or import it where it helps.")
    return out


def test_every_test_is_collected_and_every_other_file_helps_one():
    assert faults_of_suite(modules_below(TESTS), (ROOT / "do.py").read_text(encoding="utf-8")) == []


@pytest.fixture
def suite(tmp_path):
    """Write the files of a suite and return what is wrong with it."""

    def faults(**files):
        for name, text in files.items():
            (tmp_path / f"{name}.py").write_text(text, encoding="utf-8")
        return faults_of_suite([tmp_path / f"{name}.py" for name in files])

    return faults


A_TEST = "def test_it_works():\n    assert True\n"


def test_a_sound_suite_has_no_fault(suite):
    helped = f"from parts.helper import part\nimport strategies\n\n\n{A_TEST}"
    assert suite(test_one=helped, helper="part = 1\n", strategies="part = 2\n", conftest="part = 3\n") == []


@pytest.mark.parametrize(
    ("files", "fault"),
    [
        ({"checks": A_TEST}, "checks.py: test_it_works is never collected"),
        ({"checks": f"class TestAll:\n    {A_TEST.replace(chr(10), chr(10) + '    ')}"}, "is never collected"),
        ({"test_one": "part = 1\n"}, "test_one.py: it has no test"),
        ({"test_one": A_TEST, "helper": "part = 1\n"}, "helper.py: nothing uses it"),
    ],
)
def test_a_fault_of_a_suite_is_found(files, fault, suite):
    (found,) = suite(**files)
    assert fault in found


# -- nothing is passed over


PASSED_OVER = re.compile(r"\b(?:pytest|mark)\.(skip|skipif|importorskip)\b|\bunittest\.skip")


def passed_over_in(paths: Iterable[Path]) -> list[str]:
    return [
        f"{shown(path)}:{number}: a test that is skipped proves nothing. Make it run, or remove it."
        for path in paths
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if PASSED_OVER.search(line)
    ]


def test_no_test_is_passed_over():
    here = Path(__file__)
    assert passed_over_in(path for path in modules_below(TESTS) if path != here) == []


@pytest.mark.parametrize("line", ["@pytest.mark.skip", "pytest.skip('later')", "pytest.importorskip('numpy')"])
def test_a_test_that_is_passed_over_is_found(line, tmp_path):
    path = tmp_path / "test_one.py"
    path.write_text(f"\n{line}\n", encoding="utf-8")
    (found,) = passed_over_in([path])
    assert found.startswith("test_one.py:2: ")


# -- the walk through the tree


def test_the_walk_through_the_tree_finds_what_is_ours_and_leaves_what_tools_made(tmp_path):
    for name in (".ci/run", "src/a.py", "src/__pycache__/a.pyc", ".venv-test/b.py", ".git/c.py", "dist/d.py", "e.md"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("", encoding="utf-8")
    found = [path.relative_to(tmp_path).as_posix() for path in files_of_the_tree(tmp_path)]
    assert found == [".ci/run", "e.md", "src/a.py"]
    assert [path.name for path in modules_below(tmp_path)] == ["a.py"]


def test_the_tree_holds_this_file():
    assert Path(__file__) in list(files_of_the_tree())
