"""Every exception Treadle raises on purpose; their sentences live in `treadle.words`.

TreadleError
├── BadInput          something entered, or in a file, cannot be used as it stands
├── OutOfRange        a value lies outside the range a model or table is good for
├── NoRuleInForce     the rules were asked about a day, or a thing, they do not cover
└── DataFault         one of Treadle's own data files is broken

A brake that fails is not an exception: it is a finding.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong: `slug` names the message, `where` the place, `details` fill the sentence."""

    slug: str
    where: str
    details: dict[str, Any] = field(default_factory=dict)


class TreadleError(Exception):
    """Root of the tree. `problems` holds at least one `Problem`; `words.explain` turns them into sentences."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("; ".join(f"{p.slug} at {p.where}: {p.details}" for p in self.problems))


class BadInput(TreadleError):
    """Something entered, or in a file, cannot be used as it stands."""


class OutOfRange(TreadleError):
    """A value lies outside the range a model or table is good for; nothing is extrapolated."""


class NoRuleInForce(TreadleError):
    """The rules were asked about a day, or a thing, they do not cover."""


class DataFault(TreadleError):
    """One of Treadle's own data files is broken; `where` is file and line."""
