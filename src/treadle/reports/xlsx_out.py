"""The assessment as a workbook: findings, outcomes of every wheel end, and what was not judged; same in, same bytes."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, time
from typing import Any

import xlsxwriter

from treadle.assess.verdict import Assessment, Finding
from treadle.reports.wording import limit_of, measured_of, place_of, subject_of
from treadle.words import say, term

_WIDE = {
    "where": 24,
    "what": 24,
    "measured": 14,
    "limit": 20,
    "says": 60,
    "remedy": 60,
    "rule": 44,
    "why": 60,
}
_NARROW = 16

_FINDINGS = (
    "outcome",
    "where",
    "what",
    "measured",
    "limit",
    "excess",
    "says",
    "remedy",
    "rule",
    "basis",
    "unconfirmed",
    "layer",
    "jurisdiction",
)
_OUTCOMES = ("unit", "axle", "side", "outcome")
_NOT_JUDGED = ("where", "what", "why")


def workbook(assessment: Assessment, language: str = "en") -> bytes:
    """Return the assessment as an XLSX file for people; its words are those of `language`."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties(
        {
            "title": say("report.title", language),
            "comments": say("report.footing", language, edition=assessment.edition),
            "created": datetime.combine(assessment.on, time(), UTC),
        }
    )
    _sheet(book, "findings", _FINDINGS, (_finding(one, language) for one in assessment.findings), language)
    _sheet(book, "outcomes", _OUTCOMES, _outcomes(assessment, language), language)
    _sheet(book, "not_judged", _NOT_JUDGED, _left(assessment, language), language)
    book.close()
    return out.getvalue()


def _sheet(book: Any, name: str, columns: Sequence[str], rows: Iterable[Sequence[str | int]], language: str) -> None:
    """Write one sheet: a heading row that stays in sight and can be filtered, then text and whole numbers."""
    sheet = book.add_worksheet(say(f"report.sheet.{name}", language))
    heading = book.add_format({"bold": True, "bottom": 1, "valign": "top"})
    body = book.add_format({"text_wrap": True, "valign": "top"})
    for at, column in enumerate(columns):
        sheet.set_column(at, at, _WIDE.get(column, _NARROW), body)
        sheet.write_string(0, at, say(f"report.column.{column}", language), heading)
    last = 0
    for last, row in enumerate(rows, start=1):
        for at, value in enumerate(row):
            if isinstance(value, int):
                sheet.write_number(last, at, value, body)
            elif value:
                sheet.write_string(last, at, value, body)
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, last, len(columns) - 1)


def _finding(finding: Finding, language: str) -> list[str]:
    verdict = finding.verdict
    limited = verdict.limit is not None or verdict.unconfirmed
    return [
        say(f"outcome.{finding.outcome}", language),
        place_of(finding.unit, finding.axle, finding.side, language),
        subject_of(finding, language),
        measured_of(finding, language),
        limit_of(verdict, language),
        "" if verdict.excess is None else str(verdict.excess),
        finding.says(language),
        finding.remedy(language),
        verdict.citation or "",
        term(verdict.basis, language) if verdict.basis else "",
        say(f"report.answer.{'unconfirmed' if verdict.unconfirmed else 'confirmed'}", language) if limited else "",
        say(f"report.layer.{verdict.layer}", language) if verdict.layer else "",
        term(verdict.jurisdiction, language) if verdict.jurisdiction else "",
    ]


def _outcomes(assessment: Assessment, language: str) -> Iterable[list[str | int]]:
    """Return each unit, its axles and their ends, one row each; what is above has the cells below it empty."""
    for unit in assessment.units:
        yield [unit.number, "", "", _word(unit.outcome, language)]
        for axle in unit.axles:
            yield [unit.number, axle.axle, "", _word(axle.outcome, language)]
            for side, outcome in axle.ends:
                yield [unit.number, axle.axle, term(side, language), _word(outcome, language)]


def _word(outcome: str | None, language: str) -> str:
    return say("report.nothing_asked" if outcome is None else f"outcome.{outcome}", language)


def _left(assessment: Assessment, language: str) -> Iterable[list[str]]:
    for entry in assessment.not_judged:
        yield [
            place_of(entry.unit, entry.axle, entry.side, language),
            term(entry.what, language),
            say(f"not_judged.{entry.why}", language, what=entry.what),
        ]
