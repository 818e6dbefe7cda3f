"""Every source of the bibliography stands behind something."""

from contracts.test_rules import RULE_FILES, source_keys_in, source_keys_in_code

from treadle.sources import bibliography


def unused_sources(files, cited, known):
    return [
        f"{key}: nothing cites it. Cite it where it stands behind a figure, or remove it from sources.toml."
        for key in known
        if key not in source_keys_in(files) and key not in cited
    ]


def test_every_source_of_the_bibliography_is_used():
    assert unused_sources(RULE_FILES, source_keys_in_code(), bibliography()) == []


def test_a_source_that_nothing_cites_is_found():
    assert len(unused_sources({"us.a_rule": {"value": [{"source": "one"}]}}, {"two"}, ["one", "two", "three"])) == 1
