"""The release of a combination for dispatch on paper, with the readings it rests on and their age."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from treadle.errors import BadInput, Problem
from treadle.reports import typesetting
from treadle.reports.parts import Reason, Shop, by_whom, code_of, fact, one_of, reason_lines, shop_lines, told
from treadle.reports.typesetting import Sheet, words_of
from treadle.reports.wording import breakable, capital, moment_of, runs
from treadle.words import say

MAY_GO = ("good", "watch", "unseen")
"""Outcomes that may be released: hold and fix never; unseen only by the shop's policy."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """A kind of reading the release rests on: when the oldest of it was taken, by whom, and how far it ran since."""

    what: str
    by: str
    at: datetime
    distance: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitReleased:
    """One unit of the combination, what it came to, what that rests on, and what to look at again.

    Raises
    ------
    BadInput
        Its outcome is never released, or it rests on nothing.
    """

    number: str
    described: str
    outcome: str
    rests_on: tuple[Rest, ...]
    notes: tuple[Reason, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what cannot be released."""
        one_of(self.outcome, MAY_GO, f"dispatch.{self.number}")
        if not self.rests_on:
            raise BadInput(Problem("missing_field", f"dispatch.{self.number}", {"field": "rests_on"}))


@dataclass(frozen=True, slots=True, kw_only=True)
class DispatchRelease:
    """What a dispatch release says; `count` is the sentence on the combination's share of defective brakes.

    Raises
    ------
    BadInput
        The outcome is one that is never released, or unseen without the policy that lets it go; or there is no unit.
    """

    shop: Shop
    units: tuple[UnitReleased, ...]
    outcome: str
    count: str
    at: datetime
    by: str
    url: str
    policy: str = ""

    def __post_init__(self) -> None:
        """Refuse what cannot be released."""
        one_of(self.outcome, MAY_GO, "dispatch.outcome")
        if not self.units:
            raise BadInput(Problem("missing_field", "dispatch", {"field": "units"}))
        if not self.policy and "unseen" in (self.outcome, *(unit.outcome for unit in self.units)):
            raise BadInput(Problem("missing_field", "dispatch", {"field": "policy"}))


def pdf(release: DispatchRelease, language: str = "en", paper: str = "a4") -> bytes:
    """Return the release as a PDF.

    Raises
    ------
    BadInput
        There is no such paper.
    """
    return typesetting.pdf(sheet(release, language), paper)


def sheet(release: DispatchRelease, language: str) -> Sheet:
    """Put together what the release says."""
    combination = " + ".join(unit.number for unit in release.units)
    means = say(f"outcome.means.{release.outcome}", language)
    outcome = capital(say(f"outcome.{release.outcome}", language))
    data = {
        "words": words_of("paper.sign", "paper.dispatch", language=language),
        "combination": breakable(combination),
        "described": "",
        "shop": shop_lines(release.shop),
        "code": code_of(release.url, language),
        "outcome": release.outcome,
        "headline": say("report.headline", language, outcome=outcome, means=means),
        "count": runs(release.count),
        "policy": runs(release.policy),
        "facts": [
            fact("paper.dispatch.fact.released_by", language, release.by),
            fact("paper.dispatch.fact.released_at", language, moment_of(release.at, language)),
        ],
        "units": [_unit(unit, release.at, language) for unit in release.units],
        "released_by": breakable(release.by),
    }
    return Sheet(
        template="dispatch_release.typ",
        language=language,
        title=say("paper.dispatch.of", language, units=combination),
        author=release.by,
        at=release.at,
        subject=combination,
        footing=say("paper.dispatch.foot", language, moment=moment_of(release.at, language)),
        data=data,
    )


def _unit(unit: UnitReleased, at: datetime, language: str) -> dict[str, Any]:
    return {
        "number": breakable(unit.number),
        "described": breakable(unit.described),
        "main": told(unit.outcome, language),
        "rests_on": [
            {
                "what": runs(rest.what),
                "read": runs(by_whom(rest.by, rest.at, language)),
                "age": _age((at.date() - rest.at.astimezone(at.tzinfo).date()).days, language),
                "distance": runs(rest.distance or say("report.state.not_noted", language)),
            }
            for rest in unit.rests_on
        ],
        "notes": [reason_lines(note, language) for note in unit.notes],
    }


def _age(days: int, language: str) -> str:
    """Say how old a reading is, in days of the calendar."""
    if days == 0:
        return say("paper.dispatch.age.same_day", language)
    return say(f"paper.dispatch.age.{'day' if days == 1 else 'days'}", language, days=days)
