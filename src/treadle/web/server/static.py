"""The style sheets, scripts and typefaces, gathered once for each state of them under names that browsers may keep."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

from django.core.management import call_command

from treadle import __version__

_TREADLE = Path(__file__).resolve().parents[2]
COMPLETE = ".complete"


def static_folder(data: Path) -> Path:
    """Return the folder for the static files as they are now; its name changes when one of them does."""
    return data / "cache" / f"static-{_state()}"


def gather_static(folder: Path) -> None:
    """Fill the folder unless it is whole, and remove those of earlier states."""
    for other in folder.parent.glob("static-*"):
        if other != folder or not (other / COMPLETE).exists():
            shutil.rmtree(other)
    if not folder.exists():
        call_command("collectstatic", interactive=False, verbosity=0)
        (folder / COMPLETE).touch()


def _state() -> str:
    """A name for the version and for every file's path, size and time of change."""
    folders = [*sorted((_TREADLE / "web").glob("*/static")), _TREADLE / "reports" / "fonts"]
    files = sorted(path for folder in folders for path in folder.rglob("*") if path.is_file())
    seen = [(path.relative_to(_TREADLE).as_posix(), path.stat().st_size, path.stat().st_mtime_ns) for path in files]
    return hashlib.sha256(repr((__version__, seen)).encode()).hexdigest()[:16]
