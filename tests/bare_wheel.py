"""A script, not a test: tries the wheel, run by a Python that holds the wheel and its requirements alone.

`python3 do.py test` builds the wheel, makes that Python, and calls this with a walk-around file to judge.
"""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

JUDGED = (0, 1)  # good or watch; hold, fix or unseen
TEST_TOOLS = ("pytest", "hypothesis", "mypy")


def main() -> None:
    """Print each thing that is wrong with the wheel and end with 1, or say that it works."""
    if len(sys.argv) != 2:
        sys.exit("usage: python bare_wheel.py WALKAROUND.json")
    example = Path(sys.argv[1]).resolve()
    checkout = Path(__file__).resolve().parent.parent
    with tempfile.TemporaryDirectory(prefix="treadle-wheel-") as folder:
        shutil.copy(example, Path(folder) / "walkaround.json")
        problems = [
            *environment_problems(checkout),
            *missing_files(checkout),
            *assessment_problems(Path(folder)),
            *pdf_problems(Path(folder)),
        ]
    if problems:
        sys.exit("\n".join(f"bare wheel: {problem}" for problem in problems))
    print("bare wheel: judge gives an assessment and a PDF without the checkout and without the test tools")


def environment_problems(checkout: Path) -> list[str]:
    """Say what would make this trial worthless: the source tree within reach, or test tools installed."""
    problems = [f"{tool} is installed here" for tool in TEST_TOOLS if importlib.util.find_spec(tool)]
    treadle = importlib.util.find_spec("treadle")
    if treadle is None or treadle.origin is None:
        problems.append("the wheel holds no package treadle")
    elif Path(treadle.origin).resolve().is_relative_to(checkout / "src"):
        problems.append(f"treadle comes from the source tree, {treadle.origin}, and not from the wheel")
    return problems


def missing_files(checkout: Path) -> list[str]:
    """Name each file of the package that the wheel left behind; a lost typeface would not show otherwise."""
    treadle = importlib.util.find_spec("treadle")
    if treadle is None or treadle.origin is None:
        return []
    source, installed = checkout / "src" / "treadle", Path(treadle.origin).parent
    wanted = (path.relative_to(source) for path in sorted(source.rglob("*")) if path.is_file())
    return [
        f"the wheel lacks {path.as_posix()}"
        for path in wanted
        if "__pycache__" not in path.parts and not path.name.startswith(".") and not (installed / path).exists()
    ]


def assessment_problems(folder: Path) -> list[str]:
    """Say what is wrong with the JSON that `judge --json` prints."""
    done = judge(folder, "--json")
    if done.returncode not in JUDGED:
        return [failure("judge --json", done)]
    try:
        answer = json.loads(done.stdout)
    except ValueError as error:
        return [failure(f"judge --json printed no JSON ({error}) and", done)]
    contract = answer.get("treadle") if isinstance(answer, dict) else None
    if contract != "assessment/1":
        return [f'judge --json: "treadle" should be "assessment/1" and is {contract!r}']
    return []


def pdf_problems(folder: Path) -> list[str]:
    """Say what is wrong with the file that `judge --pdf` writes."""
    report = folder / "report.pdf"
    done = judge(folder, "--pdf", report.name)
    if done.returncode not in JUDGED:
        return [failure("judge --pdf", done)]
    if not report.exists():
        return [failure("judge --pdf wrote no file and", done)]
    start = report.read_bytes()[:8]
    return [] if start.startswith(b"%PDF") else [f"judge --pdf wrote a file that is no PDF; it starts {start!r}"]


def judge(folder: Path, *options: str) -> subprocess.CompletedProcess[str]:
    """Run `treadle judge` on the copied walk-around, away from the checkout."""
    command = [sys.executable, "-m", "treadle", "judge", "walkaround.json", *options]
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    environment["PYTHONIOENCODING"] = "utf-8"
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, encoding="utf-8", check=False)


def failure(what: str, done: subprocess.CompletedProcess[str]) -> str:
    """Return one message for a command that did not do its work, with the end of what it said."""
    said = (done.stderr or done.stdout).strip().splitlines()[-12:]
    return f"{what} ended with {done.returncode}:\n    " + "\n    ".join(said or ["(it said nothing)"])


if __name__ == "__main__":
    main()
