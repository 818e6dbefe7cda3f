"""Setting a paper: a template and the data it lays out go in, a tagged PDF comes out, always the same bytes."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from treadle.errors import BadInput, Problem
from treadle.reports.faces import printable
from treadle.reports.marks import HUES_ON_PAPER, picture
from treadle.words import catalogue, say

if TYPE_CHECKING:
    import typst

PAPERS = {"a4": "a4", "letter": "us-letter"}
"""Papers by the name we give them, and by Typst's."""

STANDARD: Final = "ua-1"
"""PDF/UA-1: tagged, so that a screen reader can follow it."""

LIBRARY: Final = "paper.typ"
"""What every template shares; it stands beside them."""

_ESCAPED = re.compile(r"\\(?:u[0-9a-f]{4}|.)")
_CONTROL = re.compile(r"\\(?:u[0-9a-f]{4}|[bfrt])")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All that a paper needs: which template, what it says, and what stands at the foot of each page.

    `data` holds texts and, where quantities may stand, lines of `wording.runs`; `at` dates the document.
    """

    template: str
    language: str
    title: str
    author: str
    at: datetime
    subject: str
    footing: str
    data: Mapping[str, Any]


def pdf(sheet: Sheet, paper: str) -> bytes:
    """Return a sheet as a PDF on a paper, "a4" or "letter".

    Raises
    ------
    BadInput
        There is no such paper.
    """
    return compiled(sheet, paper)[0]


def compiled(sheet: Sheet, paper: str) -> tuple[bytes, list[str]]:
    """Return the PDF and what Typst warned of while setting it; a missing face is only ever a warning."""
    if paper not in PAPERS:
        raise BadInput(Problem("word_not_allowed", "paper", {"given": paper, "allowed": ", ".join(PAPERS)}))
    import typst  # noqa: PLC0415  (loaded only when a paper is asked for)

    made, warnings = typst.compile_with_warnings(  # type: ignore[call-overload]  # files by name: its types lack that
        {"main.typ": _source(sheet.template), LIBRARY: _source(LIBRARY), "sheet.json": _data(sheet, paper).encode()},
        format="pdf",
        font_paths=_fonts(),
        pdf_standards=[STANDARD],
        timestamp=_stamp(sheet.at),
    )
    return made, [str(warning) for warning in warnings]


def _stamp(at: datetime) -> datetime:
    """Return a moment as a PDF carries it: whole seconds, and an offset in place of a zone."""
    return at.replace(microsecond=0, tzinfo=timezone(at.utcoffset() or timedelta()))


def words_of(*tables: str, language: str) -> dict[str, str]:
    """Return the fixed words of some tables of the catalogue by what follows the table's name; a later table wins.

    >>> words_of("report.sign", language="en")["signature"]
    'signature'
    """
    return {
        code.removeprefix(f"{table}."): text
        for table in tables
        for code, text in catalogue(language).items()
        if code.startswith(f"{table}.") and "{" not in text
    }


def _data(sheet: Sheet, paper: str) -> str:
    """Return all the paper needs, as JSON: it travels as data, so that nothing in it can be markup."""
    around = {
        "language": sheet.language,
        "title": sheet.title,
        "author": sheet.author,
        "subject": sheet.subject,
        "footing": sheet.footing,
        "page_of": say("report.page", sheet.language, page="{page}", pages="{pages}"),
        "paper": PAPERS[paper],
        "hues": HUES_ON_PAPER,
        "pictures": {outcome: picture(outcome) for outcome in HUES_ON_PAPER},
    }
    written = json.dumps({**sheet.data, **around}, ensure_ascii=False, default=fields_of)
    return printable(_ESCAPED.sub(_no_control, written))


def _no_control(escaped: re.Match[str]) -> str:
    """Return a space for a control character, which no face has; any other escape, a line's end too, as it is."""
    return " " if _CONTROL.fullmatch(escaped[0]) else escaped[0]


def fields_of(record: Any) -> dict[str, Any]:
    """Return a record as a table of its fields."""
    return {field.name: getattr(record, field.name) for field in dataclasses.fields(record)}


@cache
def _source(name: str) -> bytes:
    return (_folder() / name).read_bytes()


@cache
def _folder() -> Path:
    """Return where the templates and the faces stand."""
    return Path(str(files(__package__)))


@cache
def _fonts() -> typst.Fonts:
    """Return the shipped faces, and none of this system's or of Typst's own."""
    import typst  # noqa: PLC0415  (as above)

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[_folder() / "fonts"])
