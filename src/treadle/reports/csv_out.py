"""The findings as CSV, one line each, in the words and fields of the assessment's file."""

from __future__ import annotations

import csv
import io
from typing import Any

from treadle.assess.verdict import Assessment

COLUMNS = (
    "outcome",
    "unit",
    "axle",
    "side",
    "rule",
    "layer",
    "jurisdiction",
    "measured",
    "limit",
    "excess",
    "citation",
    "basis",
    "unconfirmed",
    "missing",
    "code",
    "says",
    "remedy",
)
_FREE_TEXT = frozenset({"unit", "says", "remedy"})
_READ_AS_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def findings_csv(assessment: Assessment, language: str = "en") -> str:
    """Return every finding as CSV, worst first; the two sentences in `language`, all else in the file's own words."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for finding in assessment.findings:
        fields = finding.as_json(language)
        writer.writerow([_cell(name, fields[name]) for name in COLUMNS])
    return out.getvalue()


def _cell(name: str, value: Any) -> str:
    """Return a field as its cell; text that a spreadsheet would take for a formula is marked as text."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    text = " ".join(value) if isinstance(value, list) else str(value)
    return f"'{text}" if name in _FREE_TEXT and text.startswith(_READ_AS_FORMULA) else text
