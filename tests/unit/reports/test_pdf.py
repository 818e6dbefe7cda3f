"""The paper: tagged, without a warning, the same bytes again, saying what the page says, hostile text harmless."""

import io
import re
import struct
import tomllib
from concurrent.futures import ThreadPoolExecutor
from importlib.resources import files

import pypdf
import pytest

from treadle.errors import BadInput
from treadle.reports.pdf import compiled, pdf
from treadle.rules.load import shipped
from treadle.words import LANGUAGES, catalogue, say

SLASH = "\N{FRACTION SLASH}"
SIZES = {"a4": (595.28, 841.89), "letter": (612, 792)}
SHOWN = ("report.", "outcome.", "finding.", "remedy.", "not_judged.", "term.")


def reader_of(content):
    return pypdf.PdfReader(io.BytesIO(content))


def words_of(content):
    """The text of every page on one line; where a line was broken is the page's own affair."""
    pages = "\n".join(page.extract_text() for page in reader_of(content).pages)
    return " ".join(pages.replace("\u00a0", " ").replace("\u200b", "").split())


def squeezed(text):
    """A text without the spaces and breaks that setting it in a narrow column may add or take."""
    return re.sub(r"[\s\u00a0\u200b]", "", re.sub(r"(\d+)/(\d+) in\b", rf"\1{SLASH}\2 in", text))


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("language", LANGUAGES)
def test_it_is_set_without_a_warning_on_the_paper_asked_for(demo, language, paper):
    content, warnings = compiled(*demo, language, paper)
    assert warnings == []
    for page in reader_of(content).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(SIZES[paper], abs=0.05)


@pytest.mark.parametrize("number", ["01", "11", "18", "20", "22", "27", "28", "32", "36", "39", "40"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_kind_of_answer_is_set_without_a_warning(pair, number, language):
    content, warnings = compiled(*pair(number), language)
    assert warnings == []
    assert content.startswith(b"%PDF-")


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_says_every_finding_with_its_citation(demo, language):
    said = squeezed(words_of(pdf(*demo, language)))
    for finding in demo.assessment.findings:
        if finding.outcome != "good":
            assert squeezed(finding.says(language)) in said
            assert squeezed(finding.remedy(language)) in said
        if finding.verdict.citation:
            assert squeezed(finding.verdict.citation) in said


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_says_every_outcome_in_a_word_and_every_caution(pair, language):
    said = squeezed(words_of(pdf(*pair("27"), language)))
    for outcome in ("hold", "fix", "watch", "good"):
        assert squeezed(say(f"outcome.{outcome}", language)) in said
    for caution in ("kills", "scope", "first", "clear", "chocks", "caged"):
        assert squeezed(say(f"report.caution.{caution}", language)) in said


def test_every_page_says_of_which_units_of_which_day_and_by_which_edition_it_is(demo):
    pages = [page.extract_text() for page in reader_of(pdf(*demo)).pages]
    for number, text in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in text
        assert f"K-12 + T-7 · 2 October 2026 · rules of edition {demo.assessment.edition}" in text


def test_a_whole_number_and_its_fraction_do_not_run_together(demo):
    said = words_of(pdf(*demo))
    assert f"2 1{SLASH}8 in" in said
    assert f"21{SLASH}8" not in said


def test_it_has_room_for_those_who_walked_and_reviewed(demo):
    last = reader_of(pdf(*demo)).pages[-1].extract_text()
    for word in ("walked by", "reviewed by", "R. Quill and J. Amsel"):
        assert word in last
    assert last.count("signature") == 2


def test_the_same_assessment_gives_the_same_bytes_at_any_time_and_side_by_side(demo):
    once = pdf(*demo)
    with ThreadPoolExecutor(4) as several:
        again = list(several.map(lambda _: pdf(*demo), range(4)))
    assert set(again) == {once}


def test_it_is_dated_by_the_walk_and_names_its_title_author_and_language(demo):
    for language in LANGUAGES:
        reader = reader_of(pdf(*demo, language))
        assert reader.metadata.creation_date == demo.walk_around.taken.at
        assert reader.metadata.title == f"{say('report.title', language)}: K-12 + T-7"
        assert "R. Quill" in reader.metadata.author
        assert reader.trailer["/Root"]["/Lang"] == language


def test_it_is_tagged_with_a_description_for_every_drawing(demo):
    reader = reader_of(pdf(*demo))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    described = [alt for alt in alternatives(root["/StructTreeRoot"]) if "applied stroke" in alt]
    assert len(described) == len(demo.walk_around.units)


def alternatives(element):
    """Every alternative description below an element of the tags."""
    element = element.get_object()
    if isinstance(element, pypdf.generic.ArrayObject):
        return [found for child in element for found in alternatives(child)]
    if not isinstance(element, pypdf.generic.DictionaryObject):
        return []
    found = [str(element["/Alt"])] if "/Alt" in element else []
    return found + (alternatives(element["/K"]) if "/K" in element else [])


def test_only_the_shipped_faces_are_in_it(demo, pair):
    for judged in (demo, pair("22")):
        for page in reader_of(pdf(*judged)).pages:
            for font in page["/Resources"]["/Font"].values():
                assert "AtkinsonHyperlegibleNext" in font.get_object()["/BaseFont"]


def test_hostile_text_is_never_markup(hostile):
    for language in LANGUAGES:
        content, warnings = compiled(*hostile, language)
        said = squeezed(words_of(content))
        assert warnings == []
        assert squeezed(hostile.walk_around.taken.by) in said
        assert squeezed(hostile.walk_around.units[1].number) in said
        assert squeezed("<img src=x onerror=alert(2)> #emph[strong] @ref `raw` https://example.org/") in said


def test_a_paper_nobody_has_is_refused_by_name(demo):
    with pytest.raises(BadInput) as refused:
        pdf(*demo, "en", "foolscap")
    assert refused.value.problems[0].details["given"] == "foolscap"


# -- the face --------------------------------------------------------------------------------------------------------


def characters_of(name):
    """Every character a TrueType face has, read from its table of format 4."""
    data = files("treadle.reports").joinpath("fonts", name).read_bytes()
    tables = {
        data[at : at + 4]: struct.unpack(">II", data[at + 8 : at + 16])
        for at in range(12, 12 + 16 * struct.unpack(">H", data[4:6])[0], 16)
    }
    start = tables[b"cmap"][0]
    for at in range(start + 4, start + 4 + 8 * struct.unpack(">H", data[start + 2 : start + 4])[0], 8):
        table = start + struct.unpack(">I", data[at + 4 : at + 8])[0]
        if struct.unpack(">H", data[table : table + 2])[0] == 4:
            return _format_4(data, table)
    raise AssertionError("no table of format 4")


def _format_4(data, table):
    segments = struct.unpack(">H", data[table + 6 : table + 8])[0] // 2
    ends = struct.unpack(f">{segments}H", data[table + 14 : table + 14 + 2 * segments])
    at = table + 16 + 2 * segments
    starts = struct.unpack(f">{segments}H", data[at : at + 2 * segments])
    return {chr(code) for first, last in zip(starts, ends, strict=True) for code in range(first, last + 1)}


@pytest.mark.parametrize("weight", ["Regular", "Bold"])
def test_the_face_has_every_character_the_report_can_say(weight):
    has = characters_of(f"AtkinsonHyperlegibleNext-{weight}.ttf")
    assert "⅛" not in has
    rules = shipped()
    said = [text for language in LANGUAGES for code, text in catalogue(language).items() if code.startswith(SHOWN)]
    said += [value.cited for rule in rules.rules.values() for value in rule.values]
    said += [text for condition in rules.conditions.values() for text in condition.label.values()]
    said += ["\u2044\u00a00123456789½·"]
    assert set("".join(said)) - has - {"\n"} == set()


def test_what_the_faces_are_and_under_which_terms_is_shipped_with_them():
    folder = files("treadle.reports").joinpath("fonts")
    described = folder.joinpath("FONTS.txt").read_text(encoding="utf-8")
    for face in folder.iterdir():
        assert face.name in described or face.name == "FONTS.txt"


def test_both_languages_have_the_same_entries_with_the_same_arguments():
    here = files("treadle.words")
    texts = [here.joinpath(language, "report.toml").read_text(encoding="utf-8") for language in LANGUAGES]
    english, spanish = (dict(flat(tomllib.loads(text))) for text in texts)
    assert english.keys() == spanish.keys()
    for code, text in english.items():
        assert sorted(re.findall(r"\{.*?\}", text)) == sorted(re.findall(r"\{.*?\}", spanish[code])), code


def flat(table, prefix=""):
    for key, value in table.items():
        if isinstance(value, dict):
            yield from flat(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", value
