"""Every source of the bibliography stands behind something."""

import tomllib

from contracts.test_rules import RULE_FILES, source_keys_in, source_keys_in_code
from contracts.tree import SOURCE

from treadle.sources import bibliography


def unused_sources(files, cited, known):
    return [
        f"{key}: nothing cites it. Cite it where it stands behind a figure, or remove it from sources.toml."
        for key in known
        if key not in source_keys_in(files) and key not in cited
    ]


def files_of_work():
    """The data of procedures and planning, by path."""
    return {
        str(path): tomllib.loads(path.read_text(encoding="utf-8"))
        for package in ("procedures", "planning")
        for path in (SOURCE / package).rglob("*.toml")
    }


def test_every_source_of_the_bibliography_is_used():
    assert unused_sources(RULE_FILES | files_of_work(), source_keys_in_code(), bibliography()) == []


def test_a_source_that_nothing_cites_is_found():
    assert len(unused_sources({"us.a_rule": {"value": [{"source": "one"}]}}, {"two"}, ["one", "two", "three"])) == 1
