"""The walk-around report on paper, as a tagged PDF; the same bytes from the same assessment."""

from __future__ import annotations

from treadle.assess.verdict import Assessment
from treadle.fleet.records import WalkAround
from treadle.reports import typesetting
from treadle.reports.content import report_of
from treadle.reports.typesetting import Sheet, fields_of
from treadle.words import say


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
    """Return the PDF and what was warned of while setting it."""
    report = report_of(assessment, walk_around, language)
    sheet = Sheet(
        template="walkaround.typ",
        language=language,
        title=f"{say('report.title', language)}: {report.units}",
        author=report.walked_by,
        at=walk_around.taken.at,
        subject=report.units,
        footing=f"{report.day} · {say('report.footing', language, edition=report.edition)}",
        data=fields_of(report),
    )
    return typesetting.compiled(sheet, paper)
