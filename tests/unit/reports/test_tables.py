"""Findings as CSV and the assessment as a workbook: whole, in both languages, formulas never run, same bytes again."""

import csv
import io
import zipfile

import pytest
from python_calamine import CalamineWorkbook

from treadle.reports.csv_out import COLUMNS, findings_csv
from treadle.reports.xlsx_out import workbook
from treadle.words import LANGUAGES, say


def rows_of(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def sheets_of(content):
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    return {name: book.get_sheet_by_name(name).to_python() for name in book.sheet_names}


@pytest.mark.parametrize("language", LANGUAGES)
def test_csv_has_every_finding_as_the_file_has_it(demo, language):
    rows = rows_of(findings_csv(demo.assessment, language))
    assert len(rows) == len(demo.assessment.findings)
    for row, finding in zip(rows, demo.assessment.as_json(language)["findings"], strict=True):
        assert list(row) == list(COLUMNS)
        assert row["outcome"] == finding["outcome"]
        assert row["measured"] == (finding["measured"] or "")
        assert row["limit"] == (finding["limit"] or "")
        assert row["citation"] == (finding["citation"] or "")
        assert row["unconfirmed"] == str(finding["unconfirmed"]).lower()
        assert row["missing"] == " ".join(finding["missing"])
        assert row["says"] == finding["says"]
        assert row["remedy"] == finding["remedy"]


def test_the_columns_are_those_of_a_finding(demo):
    finding = demo.assessment.findings[0].as_json("en")
    assert set(COLUMNS) == set(finding) - {"args"}


def test_a_spreadsheet_takes_no_entry_of_a_csv_for_a_formula(hostile):
    units = {row["unit"] for row in rows_of(findings_csv(hostile.assessment))}
    assert f"'{hostile.walk_around.units[1].number}" in units
    assert not [unit for unit in units if unit.startswith(("=", "+", "-", "@"))]


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_workbook_has_its_three_sheets_in_the_words_of_its_language(demo, language):
    sheets = sheets_of(workbook(demo.assessment, language))
    names = [say(f"report.sheet.{name}", language) for name in ("findings", "outcomes", "not_judged")]
    findings, outcomes, left = (sheets[name] for name in names)
    assert list(sheets) == names
    assert len(findings) == 1 + len(demo.assessment.findings)
    assert len(left) == 1 + len(demo.assessment.not_judged)
    assert len(outcomes) == 1 + sum(1 + 3 * len(unit.axles) for unit in demo.assessment.units)
    first = demo.assessment.findings[0]
    assert findings[1][0] == say("outcome.fix", language)
    assert findings[1][3] == "2 1/8 in"
    assert first.says(language) in findings[1]
    assert first.verdict.citation in findings[1]


def test_a_workbook_holds_text_and_no_formula(hostile):
    sheets = sheets_of(workbook(hostile.assessment))
    assert any(hostile.walk_around.units[1].number in str(cell) for row in sheets["outcomes"] for cell in row)
    assert b"<f>" not in b"".join(parts_of(workbook(hostile.assessment)))


def parts_of(content):
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        return [parts.read(name) for name in parts.namelist()]


def test_the_same_assessment_gives_the_same_workbook_dated_by_its_day(demo):
    content = workbook(demo.assessment)
    assert workbook(demo.assessment) == content
    core = next(part for part in parts_of(content) if b"dcterms:created" in part)
    assert demo.assessment.on.isoformat().encode() in core
