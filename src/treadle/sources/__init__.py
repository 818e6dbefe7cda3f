"""The one bibliography, and the citation that points into it.

`sources.toml` holds every source once; docs, reports and screens print from it.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from treadle.errors import DataFault, Problem


@dataclass(frozen=True, slots=True)
class Source:
    """A text that a figure comes from.

    `cite` is how it stands before a locator ("49 CFR"); `read` says what was before our eyes: the text itself, a
    copy, a summary, or nothing (memory).
    """

    key: str
    cite: str
    title: str
    kind: str
    publisher: str
    read: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Citation:
    """A place in a source."""

    source: Source
    locator: str

    def __str__(self) -> str:
        return f"{self.source.cite} {self.locator}".strip()


@cache
def bibliography() -> dict[str, Source]:
    """Return every source by key.

    Raises
    ------
    DataFault
        `sources.toml` has an entry without one of the fields of `Source`.
    """
    text = files(__package__).joinpath("sources.toml").read_text(encoding="utf-8")
    entries = {}
    for key, fields in tomllib.loads(text).items():
        try:
            entries[key] = Source(key=key, **fields)
        except TypeError as fault:
            raise DataFault(
                Problem("bad_data_entry", "sources/sources.toml", {"key": key, "reason": str(fault)})
            ) from fault
    return entries


def cite(key: str, locator: str) -> Citation:
    """Return the citation of a place in a source.

    Raises
    ------
    KeyError
        No source has that key.

    >>> str(cite("cfr-49-393", "393.47(e)"))
    '49 CFR 393.47(e)'
    """
    return Citation(bibliography()[key], locator)
