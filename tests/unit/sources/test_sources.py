"""The bibliography and the citation that points into it."""

import pytest

from treadle import sources
from treadle.errors import DataFault
from treadle.sources import bibliography, cite
from treadle.words import explain


@pytest.fixture
def bibliography_of(monkeypatch, tmp_path):
    """Read a bibliography of our own; the shipped one is read anew afterwards."""

    def read(text):
        tmp_path.joinpath("sources.toml").write_text(text, encoding="utf-8")
        monkeypatch.setattr(sources, "files", lambda package: tmp_path)
        bibliography.cache_clear()
        return bibliography()

    yield read
    bibliography.cache_clear()


ENTRY = 'cite = "49 CFR"\ntitle = "Parts"\nkind = "regulation"\npublisher = "The printer"\nread = "A copy"\n'


def test_a_source_is_found_by_its_key(bibliography_of):
    (source,) = bibliography_of(f"[cfr]\n{ENTRY}").values()
    assert (source.key, source.cite, source.read, source.note) == ("cfr", "49 CFR", "A copy", "")


@pytest.mark.parametrize("field", ["cite", "title", "kind", "publisher", "read"])
def test_a_source_without_one_of_its_fields_is_refused_by_name(bibliography_of, field):
    lines = [line for line in ENTRY.splitlines() if not line.startswith(field)]
    with pytest.raises(DataFault) as fault:
        bibliography_of("[cfr]\n" + "\n".join(lines))
    (problem,) = fault.value.problems
    assert (problem.slug, problem.where, problem.details["key"]) == ("bad_data_entry", "sources/sources.toml", "cfr")
    assert field in problem.details["reason"]
    assert "cfr" in explain(fault.value)


def test_a_source_with_a_field_nobody_knows_is_refused_by_name(bibliography_of):
    with pytest.raises(DataFault) as fault:
        bibliography_of(f'[cfr]\n{ENTRY}colour = "red"\n')
    assert "colour" in fault.value.problems[0].details["reason"]


def test_a_citation_reads_as_source_and_place():
    assert str(cite("cfr-49-393", "393.47(d)(1)")) == "49 CFR 393.47(d)(1)"


def test_a_citation_without_a_place_is_its_source():
    assert str(cite("cfr-49-393", "")) == "49 CFR"


def test_no_citation_is_made_from_a_source_that_is_not_listed():
    with pytest.raises(KeyError, match="no-such-source"):
        cite("no-such-source", "1")
