"""What papers share: reasons and rows from an assessment, the QR code, and the characters of the face."""

import re

import pytest
import segno

from treadle.reports.faces import characters, printable
from treadle.reports.parts import measured_rows, reasons_of
from treadle.reports.qr import QUIET, qr_picture
from treadle.words import LANGUAGES, catalogue

ADDRESS = "https://shop.example/units/K-12/"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_finding_that_is_not_good_is_in_a_reason_with_its_citation(pair, language):
    assessment = pair("27").assessment
    reasons = reasons_of(assessment.findings, language)
    bad = [finding for finding in assessment.findings if finding.outcome != "good"]
    said = " ".join(f"{reason.says} {reason.rule}" for reason in reasons)
    assert bad
    for finding in bad:
        assert finding.verdict.citation is None or finding.verdict.citation in said
    assert reasons[0].outcome == assessment.outcome


def test_a_citation_is_not_said_twice(pair):
    for reason in reasons_of(pair("27").assessment.findings, "en"):
        assert all(cited not in reason.says for cited in reason.rule.split("; ") if cited)


def test_every_reading_judged_has_a_row_from_the_front_left_before_right(demo):
    rows = measured_rows(*demo, "en")
    good = [finding for finding in demo.assessment.findings if finding.outcome == "good"]
    assert len(rows) == len(good) + len(reasons_of(demo.assessment.findings, "en"))
    places = list(dict.fromkeys(row.where for row in rows if "axle" in row.where))
    assert places == [
        f"{unit} axle {axle} {side}"
        for unit, axles in (("K-12", (1, 2, 3)), ("T-7", (1, 2)))
        for axle in axles
        for side in ("left", "right")
    ]


# -- the code


def modules_of(picture):
    """The dark modules of a drawn code, read back from its strokes, as row and column without the quiet zone."""
    path = re.findall(r' d="([^"]+)"', picture)[-1]
    dark, x, y = set(), 0.0, 0.0
    for command, numbers in re.findall(r"([MmhH])([-\d. ]+)", path):
        given = [float(number) for number in re.findall(r"-?[\d.]+", numbers)]
        if command == "M":
            x, y = given
        elif command == "m":
            x, y = x + given[0], y + given[1]
        else:
            dark |= {(int(y) - QUIET, int(x) + step - QUIET) for step in range(int(given[0]))}
            x += given[0]
    return dark


def test_the_drawn_code_has_exactly_the_modules_of_the_address():
    matrix = segno.make_qr(ADDRESS, error="m").matrix
    expected = {(row, column) for row, line in enumerate(matrix) for column, dark in enumerate(line) if dark}
    assert modules_of(qr_picture(ADDRESS)) == expected


def test_the_quiet_zone_is_four_modules_wide_all_round():
    """ISO/IEC 18004 asks for four modules of white; from memory."""
    picture = qr_picture(ADDRESS)
    size = len(segno.make_qr(ADDRESS, error="m").matrix)
    assert QUIET == 4
    assert f'viewBox="0 0 {size + 8} {size + 8}"' in picture
    assert f'fill="#fff" d="M0 0h{size + 8}v{size + 8}' in picture


def test_a_short_text_makes_no_micro_code():
    assert len(segno.make("K-12").matrix) < 21
    dark = modules_of(qr_picture("K-12"))
    assert max(row for row, _ in dark) == 20


def test_no_address_makes_no_code():
    assert qr_picture("") == ""


# -- the face


def test_the_face_has_every_character_the_papers_can_say():
    said = [
        text
        for language in LANGUAGES
        for code, text in catalogue(language).items()
        if code.startswith(("paper.", "procedure.", "planning.", "report.", "outcome.", "finding.", "remedy.", "term."))
    ]
    assert set("".join(said)) - characters() == set()


def test_what_the_face_lacks_is_shown_to_be_lacking():
    assert "漢" not in characters()
    assert "⅛" not in characters()
    assert printable("Łódź, 1 3/4 in, ½") == "Łódź, 1 3/4 in, ½"
    assert printable("a\u3000b\u2028c") == "a b c"
    assert printable("⅛ 漢") == "1\N{FRACTION SLASH}8 [?]"
