#!/usr/bin/env python3
"""The two commands, for every system, with nothing installed but Python: `demo` and `test`; and the long `faults`."""

from __future__ import annotations

import ctypes.util
import hashlib
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import venv
from pathlib import Path
from typing import NoReturn

USAGE = """\
python3 do.py demo               serve the shop of an invented carrier, with its vehicles and three years of work
python3 do.py demo ARGUMENTS     the same, with options of `treadle serve` (--port 8400, --language es)
python3 do.py test               run every check that CI runs
python3 do.py test ARGUMENTS     run pytest alone, with these arguments (-k NAME, a file, --pdb, ...)
python3 do.py faults             kill servers in the middle of their work, in full count; `test` runs a sample

On Windows: py do.py ...   The first start makes an environment, .venv-run or .venv-test; later ones use it.
The demo keeps its records in your data folder, or in the one that TREADLE_DEMO_DIR names.  Remove that folder to begin
it anew."""

ROOT = Path(__file__).resolve().parent
WALKAROUND = Path("examples") / "demo" / "walkaround.json"
WINDOWS = os.name == "nt"
CHROMIUMS = ("chromium", "chromium-browser", "google-chrome", "msedge")
DEBIAN_CHROMIUM = ("chromium", "fonts-dejavu-core")
FAULT_ROUNDS = "15"
DEMO_PASSWORD = "chock-the-wheels-first"  # noqa: S105 - no secret: `treadle serve` refuses the demo as a shop
ONLY_LOCKED = ("--require-hashes", "--only-binary", ":all:")


def main() -> None:
    """Run the command named on the command line."""
    if sys.version_info < (3, 11):  # noqa: UP036 - this file is what tells the owner of an older Python
        sys.exit("Treadle needs Python 3.11 or newer; this is " + sys.version.split()[0] + ".")
    command, *arguments = sys.argv[1:] or ["help"]
    if command == "demo":
        demo(arguments)
    elif command == "test":
        test(arguments)
    elif command == "faults" and not arguments:
        faults()
    elif command in {"help", "-h", "--help"}:
        print(USAGE)
    else:
        print(f"do.py does not know: {' '.join(sys.argv[1:])}\n\n{USAGE}", file=sys.stderr)
        sys.exit(2)


# ---- the two commands


def demo(arguments: list[str]) -> None:
    """Serve the demo until stopped; its carrier's records are made the first time."""
    from demo.people import CARRIER, PEOPLE  # noqa: PLC0415 - only after the check of Python's version

    python = environment("run", project=True)
    folder = demo_folder()
    made = folder / "demo-made"  # written last, so that records half made are made anew
    if not made.exists():
        print(f"Making the records of {CARRIER} in {folder}; this takes a minute or two ...", flush=True)
        set_up([python, "-m", "demo.load", "--data", folder, "--password", DEMO_PASSWORD])
        made.touch()
    print(f"\nSign in at {CARRIER} with the password {DEMO_PASSWORD} and one of these names:")
    for person in PEOPLE:
        print(f"    {person.sign_in:10} {person.name}, {', '.join(person.roles)} ({person.language})")
    print(flush=True)
    become([python, "-m", "treadle", "serve", "--data", folder, *arguments], TREADLE_DEMO="1")


def test(arguments: list[str]) -> None:
    """Run every check and stop at the first that fails; with arguments, pytest alone."""
    python = environment("test", project=True)
    os.environ["TREADLE_CHROMIUM"] = chromium(python)
    if arguments:
        sys.exit(run([python, "-m", "pytest", *arguments]))
    started = time.monotonic()
    check("format", [python, "-m", "ruff", "format", "--check"])
    check("lint", [python, "-m", "ruff", "check"])
    check("types", [python, "-m", "mypy"])
    check("layers", [program(python, "lint-imports"), "--no-logo"])
    check("security", [python, "-m", "bandit", "-q", "-c", "pyproject.toml", "-r", "src"])
    browser: list[str | Path] = ["tests/browser"]  # in a run of its own: it leaves an event loop behind in its process
    check("tests", [python, "-m", "pytest", "-n", "2", "--ignore", *browser])
    check("browser tests", [python, "-m", "pytest", "-n", "2", *browser])
    # What hangs on the database: scope, seals, the job table, records, and the whole line of a job.
    stored = ("base", "records", "server/test_worker.py", "test_line.py")
    web: list[str | Path] = [python, "-m", "pytest", "-n", "2", *(Path("tests") / "web" / one for one in stored)]
    check("web tests on PostgreSQL", web, TREADLE_TEST_DATABASE="postgresql")
    check_bare_wheel(python)
    print(f"\nEvery check passed, in {time.monotonic() - started:.0f} s.")


def faults() -> None:
    """Run the tests of faults in full count."""
    python = environment("test", project=True)
    sys.exit(run([python, "-m", "pytest", "tests/faults"], FAULT_ROUNDS=FAULT_ROUNDS))


def check(name: str, command: list[str | Path], **settings: str) -> None:
    """Run one check, with these settings in its environment; a failure ends everything with a line that names it."""
    print(f"\n== {name}", flush=True)
    code = run(command, **settings)
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


def chromium(python: Path) -> str:
    """Return the path of a Chromium for the tests; nothing where Playwright brings its own.

    Playwright's own download fails behind many networks, so it is the last to be tried.  Its driver needs libatomic,
    which a bare Debian lacks.
    """
    found = os.environ.get("TREADLE_CHROMIUM") or next(filter(None, map(shutil.which, CHROMIUMS)), "")
    if is_debian() and hasattr(os, "geteuid") and os.geteuid() == 0:
        packages = [
            *([] if found else DEBIAN_CHROMIUM),
            *([] if ctypes.util.find_library("atomic") else ["libatomic1"]),
        ]
        if packages:
            set_up(["apt-get", "update", "-q"])
            set_up(["apt-get", "install", "-y", "-q", "--no-install-recommends", *packages])
        return found or shutil.which("chromium") or ""
    if not found:
        set_up([python, "-m", "playwright", "install", "chromium"])
    return found


def is_debian() -> bool:
    """Whether this is Debian itself: what Ubuntu calls chromium is no browser but a pointer to a snap."""
    about = Path("/etc/os-release")
    return about.exists() and "ID=debian" in about.read_text(encoding="utf-8").splitlines()


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


def run(command: list[str | Path], **settings: str) -> int:
    """Run a command at the root of the checkout, without the caller's Python settings; return its exit."""
    words, surroundings = prepared(command, settings)
    return subprocess.run(words, cwd=ROOT, env=surroundings, check=False).returncode


def become(command: list[str | Path], **settings: str) -> NoReturn:
    """Go over into a command, so that whatever stops this stops that, and it can end in its own time."""
    words, surroundings = prepared(command, settings)
    if not WINDOWS:
        os.chdir(ROOT)
        os.execve(words[0], words, surroundings)
    signal.signal(signal.SIGINT, lambda *_: None)  # Ctrl+C reaches the command too, and it is the one to end
    sys.exit(subprocess.run(words, cwd=ROOT, env=surroundings, check=False).returncode)


def prepared(command: list[str | Path], settings: dict[str, str]) -> tuple[list[str], dict[str, str]]:
    """Return the words of a command, and the environment it runs in."""
    apart = ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV")
    kept = {name: value for name, value in os.environ.items() if name not in apart}
    return [str(part) for part in command], kept | settings


if __name__ == "__main__":
    main()
