"""The walk-around report on paper, as a tagged PDF set by Typst; the same bytes from the same assessment."""

from __future__ import annotations

import dataclasses
import json
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

import typst

from treadle.assess.verdict import Assessment
from treadle.errors import BadInput, Problem
from treadle.fleet.records import WalkAround
from treadle.reports.content import report_of
from treadle.reports.marks import HUES_ON_PAPER, picture
from treadle.words import say

PAPERS = {"a4": "a4", "letter": "us-letter"}
"""Papers by the name we give them, and by Typst's."""

STANDARD: Final = "ua-1"
"""PDF/UA-1: tagged, so that a screen reader can follow it."""


def pdf(assessment: Assessment, walk_around: WalkAround, language: str = "en", paper: str = "a4") -> bytes:
    """Return the report as a PDF.

    Parameters
    ----------
    assessment : Assessment
        What was judged.
    walk_around : WalkAround
        What it was judged from; its time dates the document.
    language : str
        "en" or "es".
    paper : str
        "a4" or "letter".

    Raises
    ------
    BadInput
        There is no such paper.
    """
    return compiled(assessment, walk_around, language, paper)[0]


def compiled(
    assessment: Assessment, walk_around: WalkAround, language: str = "en", paper: str = "a4"
) -> tuple[bytes, list[str]]:
    """Return the PDF and what Typst warned of while setting it; a missing face is only ever a warning."""
    if paper not in PAPERS:
        raise BadInput(Problem("word_not_allowed", "paper", {"given": paper, "allowed": ", ".join(PAPERS)}))
    made, warnings = typst.compile_with_warnings(
        _source(),
        format="pdf",
        font_paths=_fonts(),
        sys_inputs={"report": _data(assessment, walk_around, language, paper)},
        pdf_standards=[STANDARD],
        timestamp=walk_around.taken.at,
    )
    return made, [str(warning) for warning in warnings]


def _data(assessment: Assessment, walk_around: WalkAround, language: str, paper: str) -> str:
    """Return all the paper needs, as JSON: it travels as data, so that nothing in it can be markup."""
    report = report_of(assessment, walk_around, language)
    around = {
        "title": f"{say('report.title', language)}: {report.units}",
        "footing": say("report.footing", language, edition=report.edition),
        "paper": PAPERS[paper],
        "hues": HUES_ON_PAPER,
        "pictures": {outcome: picture(outcome) for outcome in HUES_ON_PAPER},
    }
    return json.dumps(_fields(report) | around, ensure_ascii=False, default=_fields)


def _fields(record: Any) -> dict[str, Any]:
    """Return one of the report's records as a table."""
    return {field.name: getattr(record, field.name) for field in dataclasses.fields(record)}


@cache
def _source() -> bytes:
    return files(__package__).joinpath("walkaround.typ").read_bytes()


@cache
def _fonts() -> typst.Fonts:
    """Return the shipped faces, and none of this system's or of Typst's own."""
    folder = Path(str(files(__package__).joinpath("fonts")))
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder])
