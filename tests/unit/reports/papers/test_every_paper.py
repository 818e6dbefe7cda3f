"""Every paper of the shop: set without a warning, tagged, the same bytes again, hostile text harmless."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from treadle.errors import BadInput
from treadle.reports import (
    dash_tag,
    defect_report,
    dispatch_release,
    job_card,
    recheck_slip,
    release_record,
)
from treadle.reports.faces import STAND_IN
from treadle.reports.typesetting import compiled
from treadle.words import LANGUAGES

PAPERS = {"a4": (595.28, 841.89), "letter": (612, 792)}
NAMES = ("hold", "fix, half", "waiting", "released", "release", "dispatch", "slip", "report", "none found", "card")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", NAMES)
def test_it_is_set_without_a_warning_on_the_paper_asked_for(sheets, read_paper, name, language, paper):
    content, warnings = compiled(sheets(name, language), paper)
    assert warnings == []
    sizes = sorted(PAPERS[paper], reverse=name.endswith("half"))
    for page in read_paper(content).reader.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(sizes, abs=0.05)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", NAMES)
def test_it_is_tagged_and_titled_in_its_language_with_the_address_said_for_its_code(sheets, read_paper, name, language):
    sheet = sheets(name, language)
    paper = read_paper(compiled(sheet, "a4")[0])
    root = paper.reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == language
    assert paper.reader.metadata.title == sheet.title
    assert paper.reader.metadata.creation_date == sheet.at
    assert [alt for alt in paper.alternatives if "https://shop.example/" in alt]


@pytest.mark.parametrize("name", NAMES)
def test_only_the_shipped_faces_are_in_it(sheets, read_paper, name):
    for page in read_paper(compiled(sheets(name, "es"), "letter")[0]).reader.pages:
        for font in page["/Resources"]["/Font"].values():
            assert "AtkinsonHyperlegibleNext" in font.get_object()["/BaseFont"]


@pytest.mark.parametrize("name", NAMES)
def test_the_same_record_gives_the_same_bytes_at_any_time_and_side_by_side(sheets, name):
    sheet = sheets(name, "en")
    once = compiled(sheet, "a4")[0]
    with ThreadPoolExecutor(3) as several:
        assert set(several.map(lambda _: compiled(sheet, "a4")[0], range(3))) == {once}


MAKERS = {
    "held": dash_tag.pdf,
    "release": release_record.pdf,
    "dispatch": dispatch_release.pdf,
    "slip": recheck_slip.pdf,
    "reported": defect_report.pdf,
    "card": job_card.pdf,
}


@pytest.mark.parametrize("record", MAKERS)
def test_a_paper_nobody_has_is_refused(request, record):
    with pytest.raises(BadInput) as refused:
        MAKERS[record](request.getfixturevalue(record)(), "en", "foolscap")
    assert refused.value.problems[0].details["given"] == "foolscap"


HOSTILE = "<script>alert(1)</script> #emph[Q] $x$ *b* `raw` @ref https://example.org/" + "a" * 90
SPOILT = {
    "held": ("unit", "described"),
    "release": ("released_by", "job", "described"),
    "dispatch": ("by", "count", "policy"),
    "slip": ("job", "unit"),
    "reported": ("driver", "meter"),
    "card": ("job", "bay", "described"),
}


@pytest.mark.parametrize("record", MAKERS)
def test_hostile_text_is_never_markup(request, read_paper, record):
    spoilt = replace(request.getfixturevalue(record)(), **dict.fromkeys(SPOILT[record], HOSTILE))
    paper = read_paper(MAKERS[record](spoilt, "en", "letter"))
    assert paper.says(HOSTILE)


def test_a_character_the_face_lacks_stops_no_paper(reported, read_paper):
    told = "Hose \N{VULGAR FRACTION ONE EIGHTH} in off \N{GRINNING FACE}, Łódź\tyard \\u0007 \x07 end"
    report = reported(defects=(defect_report.Defect(item="wheels", says=told),), answers=())
    paper = read_paper(defect_report.pdf(report))
    assert paper.says(f"Hose 1\N{FRACTION SLASH}8 in off {STAND_IN}, Łódź yard \\u0007 end")
