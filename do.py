#!/usr/bin/env python3
"""The two commands, for every system, with nothing installed but Python: `demo` and `test`."""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
import time
import venv
from pathlib import Path

USAGE = """\
python3 do.py demo               judge the walk-around of examples/demo and write its report as a PDF
python3 do.py test               run every check that CI runs
python3 do.py test ARGUMENTS     run pytest alone, with these arguments (-k NAME, a file, --pdb, ...)

On Windows: py do.py ...   The first start makes an environment, .venv-run or .venv-test; later ones use it.
The demo writes into your data folder, or into the one that TREADLE_DEMO_DIR names."""

ROOT = Path(__file__).resolve().parent
WALKAROUND = Path("examples") / "demo" / "walkaround.json"
WINDOWS = os.name == "nt"
ONLY_LOCKED = ("--require-hashes", "--only-binary", ":all:")


def main() -> None:
    """Run the command named on the command line."""
    if sys.version_info < (3, 11):  # noqa: UP036 - this file is what tells the owner of an older Python
        sys.exit("Treadle needs Python 3.11 or newer; this is " + sys.version.split()[0] + ".")
    command, *arguments = sys.argv[1:] or ["help"]
    if command == "demo" and not arguments:
        demo()
    elif command == "test":
        test(arguments)
    elif command in {"help", "-h", "--help"}:
        print(USAGE)
    else:
        print(f"do.py does not know: {' '.join(sys.argv[1:])}\n\n{USAGE}", file=sys.stderr)
        sys.exit(2)


# ---- the two commands


def demo() -> None:
    """Judge the example walk-around and leave its report as a PDF in the user's data folder."""
    python = environment("run", project=True)
    report = demo_folder() / "walkaround-report.pdf"
    report.parent.mkdir(parents=True, exist_ok=True)
    report.unlink(missing_ok=True)
    code = run([python, "-m", "treadle", "judge", WALKAROUND, "--pdf", report])
    if code not in (0, 1):  # 1 is an answer too: the vehicle may not leave
        sys.exit(f"demo: judging {WALKAROUND} failed (exit code {code})")
    if not report.exists():
        sys.exit(f"demo: judging {WALKAROUND} wrote no report (exit code {code})")
    print(f"\nThe report: {report}")


def test(arguments: list[str]) -> None:
    """Run every check and stop at the first that fails; with arguments, pytest alone."""
    python = environment("test", project=True)
    if arguments:
        sys.exit(run([python, "-m", "pytest", *arguments]))
    started = time.monotonic()
    check("format", [python, "-m", "ruff", "format", "--check"])
    check("lint", [python, "-m", "ruff", "check"])
    check("types", [python, "-m", "mypy"])
    check("layers", [program(python, "lint-imports"), "--no-logo"])
    check("security", [python, "-m", "bandit", "-q", "-c", "pyproject.toml", "-r", "src"])
    check("tests", [python, "-m", "pytest", "-n", "2"])
    check_bare_wheel(python)
    print(f"\nEvery check passed, in {time.monotonic() - started:.0f} s.")


def check(name: str, command: list[str | Path]) -> None:
    """Run one check; a failure ends everything with a line that names it."""
    print(f"\n== {name}", flush=True)
    code = run(command)
    if code != 0:
        sys.exit(f"\ndo.py test: the check '{name}' failed (exit code {code}). Checks after it did not run.")


def check_bare_wheel(python: Path) -> None:
    """Build the wheel and try it where nothing is installed but the wheel and what it needs."""
    bare = environment("bare", lock="run", project=False)
    with tempfile.TemporaryDirectory(prefix="treadle-wheel-") as folder:
        check("wheel: build", [python, "-m", "hatchling", "build", "-t", "wheel", "-d", folder])
        wheel = next(Path(folder).glob("*.whl"))
        check("wheel: install", installer(bare, "install", "--no-deps", "--force-reinstall", wheel))
    check("wheel: requirements", installer(bare, "check"))
    check("wheel: judge", [bare, ROOT / "tests" / "bare_wheel.py", ROOT / WALKAROUND])


# ---- environments


def environment(name: str, *, lock: str = "", project: bool) -> Path:
    """Return the Python of `.venv-<name>`, which is made first if it is missing or out of date.

    `lock` names the lock it is made from, `name` unless given.  The stamp covers all that goes into it and is
    written last, so a half-made environment is made anew.
    """
    started = time.monotonic()
    folder = ROOT / f".venv-{name}"
    lock_file = ROOT / "requirements" / f"{lock or name}.lock"
    python = folder / ("Scripts/python.exe" if WINDOWS else "bin/python")
    stamp = folder / ".stamp"
    parts = (
        lock_file.read_bytes(),
        (ROOT / "pyproject.toml").read_bytes(),
        sys.version.encode(),
        bytes(ROOT),
    )
    wanted = hashlib.sha256(b"\0".join(parts)).hexdigest()
    if python.exists() and stamp.exists() and stamp.read_text(encoding="ascii") == wanted:
        print(f"{folder.name} is current.", flush=True)
        return python
    print(f"Making {folder.name} from {lock_file.relative_to(ROOT)} ...", flush=True)
    make_empty(folder)
    set_up(installer(python, "install", *ONLY_LOCKED, "-r", lock_file))
    if project:
        set_up(installer(python, "install", "--no-deps", "--no-build-isolation", "-e", ROOT))
    stamp.write_text(wanted, encoding="ascii")
    with_what = "uv" if uv() else "pip"
    print(f"Made {folder.name} in {time.monotonic() - started:.1f} s, with {with_what}.", flush=True)
    return python


def make_empty(folder: Path) -> None:
    """Make an empty virtual environment, over an old one if there is one."""
    if uv():
        set_up([uv(), "venv", "-q", "--clear", "--python", sys.executable, folder])
    elif importlib.util.find_spec("ensurepip") is None:
        sys.exit("This Python cannot make environments. Debian, Ubuntu: apt-get install python3-venv")
    else:
        venv.EnvBuilder(with_pip=True, clear=True, symlinks=not WINDOWS).create(folder)


def installer(python: Path, action: str, *arguments: str | Path) -> list[str | Path]:
    """Return the command that installs into or checks the environment of `python`, by uv or else by pip."""
    if uv():
        return [uv(), "pip", action, "-q", "--python", python, *arguments]
    return [python, "-m", "pip", action, "-q", "--disable-pip-version-check", *arguments]


def set_up(command: list[str | Path]) -> None:
    """Run one step of making an environment; a failure ends everything."""
    code = run(command)
    if code != 0:
        sys.exit(f"do.py: the set-up failed (exit code {code}) at: {' '.join(map(str, command))}")


def uv() -> str:
    """Return the path of uv, or nothing where there is none."""
    return shutil.which("uv") or ""


def program(python: Path, name: str) -> Path:
    """Return the path of a command installed beside `python`."""
    return python.parent / (f"{name}.exe" if WINDOWS else name)


# ---- the rest


def demo_folder() -> Path:
    """Return where the demo may write: never in the source tree."""
    chosen = os.environ.get("TREADLE_DEMO_DIR")
    if chosen:
        return Path(chosen).expanduser().resolve()
    if WINDOWS:
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    return base / "treadle-demo"


def run(command: list[str | Path]) -> int:
    """Run a command at the root of the checkout, without the caller's Python settings; return its exit."""
    apart = ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV")
    settings = {name: value for name, value in os.environ.items() if name not in apart}
    return subprocess.run([str(part) for part in command], cwd=ROOT, env=settings, check=False).returncode


if __name__ == "__main__":
    main()
