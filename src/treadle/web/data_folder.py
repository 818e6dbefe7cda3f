"""The folder of one shop: where it is, that only its owner may read it, and what `treadle serve` keeps there."""

from __future__ import annotations

import os
import secrets
import sys
from collections.abc import Mapping
from pathlib import Path

KEY_FILE = "secret-key"
_OWNER_ONLY, _FOLDER_OWNER_ONLY = 0o600, 0o700


def default_data_folder(*, environment: Mapping[str, str], home: Path, platform: str, name: str = "treadle") -> Path:
    """Return where data of this kind belongs on this system.

    Parameters
    ----------
    environment : Mapping
        The environment's variables.
    home : Path
        The home folder of whoever runs it.
    platform : str
        The system, as `sys.platform` names it.
    name : str
        The last folder.

    Returns
    -------
    Path
        The folder, which need not exist.

    Examples
    --------
    >>> default_data_folder(environment={}, home=Path("h"), platform="linux").as_posix()
    'h/.local/share/treadle'
    """
    if platform == "win32":
        base = Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(environment.get("XDG_DATA_HOME") or home / ".local" / "share")
    return base / name


def here() -> Path:
    """Return the default data folder of this system and person."""
    return default_data_folder(environment=os.environ, home=Path.home(), platform=sys.platform)


def source_tree() -> Path | None:
    """Return the checkout that this code runs from; None where it is installed."""
    root = Path(__file__).resolve().parents[3]
    return root if (root / "pyproject.toml").is_file() else None


def in_source_tree(folder: Path) -> bool:
    """Whether a folder lies in the checkout, where records do not belong."""
    tree = source_tree()
    return tree is not None and folder.resolve().is_relative_to(tree)


def make_private(folder: Path) -> None:
    """Make a folder that nobody but its owner can look into; one that exists is closed to others."""
    folder.mkdir(parents=True, exist_ok=True, mode=_FOLDER_OWNER_ONLY)
    folder.chmod(_FOLDER_OWNER_ONLY)


def write_private(path: Path, text: str) -> None:
    """Write a file that nobody but its owner can read, whole or not at all."""
    partial = path.with_name(f"{path.name}.partial")
    partial.unlink(missing_ok=True)
    with os.fdopen(os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ONLY), "w", encoding="utf-8") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())
    partial.replace(path)


def secret_key(folder: Path) -> str:
    """Return the key that signs this installation's sessions; made the first time, then kept in its folder."""
    path = folder / KEY_FILE
    if not path.exists():
        write_private(path, secrets.token_urlsafe(64))
    return path.read_text(encoding="utf-8").strip()
