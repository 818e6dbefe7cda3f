"""Runs the real command on every worked pair: the judge's acceptance test."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from acceptance.compare import run_differences

from treadle.cli import main

PAIRS = Path(__file__).parent / "pairs"
NAMES = sorted(path.name.removesuffix(".expected.json") for path in PAIRS.glob("*.expected.json"))
ONE_FOR_EACH_EXIT_CODE = ("01-all-good-ten", "27-four-of-eighteen", "42-bad-unknown-field")


@pytest.fixture(autouse=True)
def english(monkeypatch):
    """What a refusal mentions is English, whatever the tester has set."""
    monkeypatch.delenv("TREADLE_LANGUAGE", raising=False)


@pytest.mark.parametrize("name", NAMES)
def test_the_command_agrees_with_the_pair(name, monkeypatch, capsys):
    monkeypatch.setattr(sys, "argv", ["treadle", *arguments(name)])
    with pytest.raises(SystemExit) as ended:
        main()
    output, error = capsys.readouterr()
    assert_agrees(name, ended.value.code, output, error)


@pytest.mark.parametrize("name", ONE_FOR_EACH_EXIT_CODE)
def test_the_command_in_a_process_of_its_own_agrees_with_the_pair(name):
    """The others run in this process, for speed; these show that it makes no difference."""
    command = [sys.executable, "-m", "treadle", *arguments(name)]
    environment = os.environ | {"PYTHONIOENCODING": "utf-8"}
    run = subprocess.run(command, env=environment, capture_output=True, encoding="utf-8", check=False)
    assert_agrees(name, run.returncode, run.stdout, run.stderr)


def test_the_pairs_run_apart_have_every_exit_code():
    assert [expected_of(name)["exit"] for name in ONE_FOR_EACH_EXIT_CODE] == [0, 1, 2]


def test_every_pair_of_the_list_is_here_and_whole():
    listed = re.findall(r"^\| (\d\d-[a-z0-9-]+) \|", (PAIRS / "README.md").read_text(encoding="utf-8"), re.M)
    wanted = {f"{name}.{half}.json" for name in listed for half in ("walkaround", "expected")}
    assert wanted == {path.name for path in PAIRS.iterdir()} - {"README.md"}
    assert list(range(1, 55)) == [int(name[:2]) for name in listed]


def arguments(name: str) -> list[str]:
    """Law only, on the day the walk-around was taken."""
    return ["judge", str(PAIRS / f"{name}.walkaround.json"), "--json"]


def expected_of(name: str) -> dict[str, object]:
    return json.loads((PAIRS / f"{name}.expected.json").read_text(encoding="utf-8"))


def assert_agrees(name: str, exit_code: int, output: str, error: str) -> None:
    differences = run_differences(expected_of(name), exit_code, standard_output=output, standard_error=error)
    if differences:
        pytest.fail(f"{name}:\n  " + "\n  ".join(differences), pytrace=False)
