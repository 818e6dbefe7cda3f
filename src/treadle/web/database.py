"""Which database, and in which mode: SQLite beside the files of one shop, PostgreSQL for several."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

from treadle.web.config import Config

_FIXED = {(3, 44): 6, (3, 50): 7, (3, 51): 3}
"""The first patch of each SQLite line without the WAL-reset bug, by which committed writes could be lost."""


def databases(config: Config, data: Path, sqlite_version: tuple[int, ...]) -> dict[str, dict[str, Any]]:
    """Return Django's DATABASES."""
    return {"default": _postgresql(config.database_url) if config.database_url else _sqlite(data, sqlite_version)}


def journal_mode(sqlite_version: tuple[int, ...]) -> str:
    """Return WAL where this SQLite keeps it safe, else TRUNCATE.

    >>> journal_mode((3, 40, 1)), journal_mode((3, 44, 6)), journal_mode((3, 51, 2)), journal_mode((3, 53, 4))
    ('TRUNCATE', 'WAL', 'TRUNCATE', 'WAL')
    """
    line, patch = sqlite_version[:2], sqlite_version[2]
    if line > (3, 51):
        return "WAL"
    fixed = _FIXED.get((line[0], line[1]))
    return "WAL" if fixed is not None and patch >= fixed else "TRUNCATE"


def _sqlite(data: Path, sqlite_version: tuple[int, ...]) -> dict[str, Any]:
    pragmas = (
        f"PRAGMA journal_mode={journal_mode(sqlite_version)};PRAGMA synchronous=FULL;"
        "PRAGMA journal_size_limit=67108864;PRAGMA cache_size=-20000;PRAGMA temp_store=MEMORY;"
    )
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": data / "treadle.sqlite3",
        "CONN_MAX_AGE": None,
        "OPTIONS": {"timeout": 20, "transaction_mode": "IMMEDIATE", "init_command": pragmas},
    }


def _postgresql(url: str) -> dict[str, Any]:
    """The parts of the address; what stands behind its question mark goes to the driver, ``host`` for a socket too."""
    parts = urlsplit(url)
    options = dict(parse_qsl(parts.query))
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": unquote(parts.path.lstrip("/")),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": options.pop("host", unquote(parts.hostname or "")),
        "PORT": str(parts.port or ""),
        "CONN_MAX_AGE": None,
        "CONN_HEALTH_CHECKS": True,
        "OPTIONS": options,
    }
