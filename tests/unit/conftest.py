"""Reading, refusing and judging in one call each, for the tests of single packages."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any

import pytest

from treadle.assess import Assessment, assess
from treadle.errors import BadInput, Problem
from treadle.fleet.read import Vocabulary, read_walkaround
from treadle.fleet.records import WalkAround
from treadle.rules.model import RuleSet
from treadle.words import LANGUAGES, explain

Fields = dict[str, Any]


@pytest.fixture
def read(vocabulary: Vocabulary) -> Callable[[Fields], WalkAround]:
    """Read the fields of a walk-around as a file of them would be read."""
    return lambda raw: read_walkaround(json.dumps(raw), vocabulary)


@pytest.fixture
def refusal_of(read: Callable[[Fields], WalkAround]) -> Callable[[Fields], tuple[Problem, ...]]:
    """The problems for which a walk-around is refused, each said with its place in every language."""

    def problems_of(raw: Fields) -> tuple[Problem, ...]:
        with pytest.raises(BadInput) as refused:
            read(raw)
        assert_each_is_said_with_its_place(refused.value)
        return refused.value.problems

    return problems_of


def assert_each_is_said_with_its_place(error: BadInput) -> None:
    for language in LANGUAGES:
        for problem, line in zip(error.problems, explain(error, language).splitlines(), strict=True):
            assert line.startswith(f"{problem.where}: ")


@pytest.fixture
def judged(read: Callable[[Fields], WalkAround], rules: RuleSet) -> Callable[..., Assessment]:
    """Judge the fields of a walk-around."""
    return lambda raw, **how: assess(read(raw), rules, **how)


@pytest.fixture
def found() -> Callable[[Assessment], Iterable[tuple[str, str]]]:
    """The outcome and code of every finding that is not good."""
    return lambda assessment: [
        (finding.outcome, finding.verdict.code) for finding in assessment.findings if finding.outcome != "good"
    ]
