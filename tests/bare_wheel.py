"""A script, not a test: tries the wheel, run by a Python that holds the wheel and its requirements alone.

`python3 do.py test` builds the wheel, makes that Python, and calls this with a walk-around file to judge.  The judge
runs where the web's libraries cannot be loaded, for it needs none of them; then an empty shop is served.
"""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import urllib.error
import urllib.request
from pathlib import Path

JUDGED = (0, 1)  # good or watch; hold, fix or unseen
TEST_TOOLS = ("pytest", "hypothesis", "mypy")
WITHOUT_WEB = """\
import sys
sys.modules.update(dict.fromkeys(("django", "granian", "ninja", "pydantic_settings")))  # None: cannot be imported
from treadle.cli import main
main()
"""
PATIENCE = 120
"""How long a new shop may take to answer on a slow machine. [s]"""


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
            *serve_problems(Path(folder)),
        ]
    if problems:
        sys.exit("\n".join(f"bare wheel: {problem}" for problem in problems))
    print("bare wheel: without the checkout and the test tools, judge gives an assessment and a PDF, and serve a page")


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
    """Run `treadle judge` on the copied walk-around, away from the checkout and without the web's libraries."""
    command = [sys.executable, "-c", WITHOUT_WEB, "judge", "walkaround.json", *options]
    return subprocess.run(command, cwd=folder, env=surroundings(), capture_output=True, encoding="utf-8", check=False)


def serve_problems(folder: Path) -> list[str]:
    """Say what is wrong with serving a new shop: it must say where it is, answer there, and stop when told to."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "treadle", "serve", "--data", str(folder / "shop"), "--port", str(port)]
    server = subprocess.Popen(
        command, cwd=folder, env=surroundings(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8"
    )
    too_long = threading.Timer(PATIENCE, server.kill)
    too_long.start()
    try:
        address = f"http://127.0.0.1:{port}/"
        said = server.stdout.readline() if server.stdout else ""
        if address not in said:
            server.kill()
            return [f"serve did not say where it is: {said}{server.communicate()[0]}"]
        with urllib.request.urlopen(address) as page:
            problems = [] if page.status == 200 else [f"serve answered the first page with {page.status}"]
    except urllib.error.HTTPError as refused:
        problems = [f"serve answered the first page with {refused.code}"]
    finally:
        server.terminate()
        rest = server.communicate()[0]
        too_long.cancel()
    if server.returncode != 0 and os.name != "nt":  # there, to terminate is to kill
        problems.append(f"serve ended with {server.returncode}:\n{rest}")
    return problems


def surroundings() -> dict[str, str]:
    """Return the environment, less what would lead back to the checkout or to another shop."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONPATH" and "TREADLE_" not in name}
    return kept | {"PYTHONIOENCODING": "utf-8", "PYTHONUNBUFFERED": "1"}


def failure(what: str, done: subprocess.CompletedProcess[str]) -> str:
    """Return one message for a command that did not do its work, with the end of what it said."""
    said = (done.stderr or done.stdout).strip().splitlines()[-12:]
    return f"{what} ended with {done.returncode}:\n    " + "\n    ".join(said or ["(it said nothing)"])


if __name__ == "__main__":
    main()
