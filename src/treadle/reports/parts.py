"""What several papers share: who answers, what was found and measured as text, the re-check, the seal, the code."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from treadle.assess.verdict import SEVERITY, Assessment, Finding
from treadle.errors import BadInput, Problem
from treadle.fleet.records import SIDES, WalkAround
from treadle.measure import Quantity
from treadle.reports.qr import qr_picture
from treadle.reports.rows import by_reading, read_of, readings_of
from treadle.reports.wording import (
    breakable,
    day_of,
    limit_of,
    measured_of,
    moment_of,
    place_of,
    rule_of,
    runs,
    subject_of,
)
from treadle.words import say

_HASH = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Shop:
    """The shop that answers for a paper; `address` are lines to print, its telephone among them."""

    name: str
    address: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One thing found, as text: the sentence, the rules behind it that the sentence does not cite, and its remedy."""

    outcome: str
    where: str
    says: str
    rule: str = ""
    remedy: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One reading with the limit it was held against and by which rule, as text."""

    where: str
    what: str
    measured: str
    limit: str = ""
    rule: str = ""
    outcome: str
    read: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recheck:
    """When wheels and strokes are looked at again: the distance, as meter readings, the last day, by what source."""

    distance: str
    low: str = ""
    high: str = ""
    on: date | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """What makes a record unalterable: its hash and the head of the chain once it was added, as 64 hex figures.

    Raises
    ------
    BadInput
        One of them is no such hash.
    """

    record: str
    head: str
    number: int | None = None

    def __post_init__(self) -> None:
        """Refuse what is no hash."""
        for name, given in (("seal.record", self.record), ("seal.head", self.head)):
            if not _HASH.fullmatch(given):
                raise BadInput(Problem("word_not_allowed", name, {"given": given, "allowed": _HASH.pattern}))


# -- from an assessment --------------------------------------------------------------------------------------------


def reasons_of(findings: Iterable[Finding], language: str) -> tuple[Reason, ...]:
    """Return what is not good among some findings, worst first, several rules on one reading as one reason."""
    return tuple(_reason(together, language) for together in by_reading(findings))


def _reason(findings: Sequence[Finding], language: str) -> Reason:
    first = findings[0]
    says = first.says(language)
    cited = dict.fromkeys(one.verdict.citation for one in findings if one.verdict.citation)
    return Reason(
        outcome=first.outcome,
        where=place_of(first.unit, first.axle, first.side, language),
        says=says,
        rule="; ".join(citation for citation in cited if citation not in says),
        remedy=first.remedy(language),
    )


def measured_rows(assessment: Assessment, walk_around: WalkAround, language: str) -> tuple[Measured, ...]:
    """Return every reading that was judged, by place from the front, with what decided; the worst at a place first."""
    good = [[finding] for finding in assessment.findings if finding.outcome == "good"]
    order = {unit.number: index for index, unit in enumerate(walk_around.units)}
    gathered = sorted([*by_reading(assessment.findings), *good], key=lambda found: _place_order(found[0], order))
    return tuple(_measured(found[0], walk_around, language) for found in gathered)


def _place_order(finding: Finding, order: Mapping[str, int]) -> tuple[int, int, int, int]:
    unit = len(order) if finding.unit is None else order[finding.unit]
    side = len(SIDES) if finding.side is None else SIDES.index(finding.side)
    axle = 1_000 if finding.axle is None else finding.axle
    return unit, axle, side, SEVERITY[finding.outcome]


def _measured(finding: Finding, walk_around: WalkAround, language: str) -> Measured:
    readings = readings_of(finding, walk_around)
    values = [str(reading.value) for reading in readings if isinstance(reading.value, Quantity)]
    return Measured(
        where=place_of(finding.unit, finding.axle, finding.side, language),
        what=subject_of(finding, language),
        measured=measured_of(finding, language, as_read=values[-1] if values else ""),
        limit=limit_of(finding.verdict, language),
        rule=rule_of(finding.verdict, language),
        outcome=finding.outcome,
        read=read_of(readings, walk_around, language),
    )


# -- ready for a template ------------------------------------------------------------------------------------------


def told(outcome: str, language: str) -> dict[str, Any]:
    """Return an outcome with its word, for a template to draw."""
    return {"outcome": outcome, "word": say(f"outcome.{outcome}", language)}


def reason_lines(reason: Reason, language: str) -> dict[str, Any]:
    """Return a reason for a template to set."""
    return {
        "main": told(reason.outcome, language),
        "where": runs(reason.where),
        "says": runs(reason.says),
        "rule": runs(reason.rule),
        "remedy": runs(reason.remedy),
    }


def measured_lines(row: Measured, language: str) -> dict[str, Any]:
    """Return a measured row for a template to set."""
    return {
        "main": told(row.outcome, language),
        "where": runs(row.where),
        "what": runs(row.what),
        "measured": runs(row.measured),
        "limit": runs(row.limit or say("report.measured.none", language)),
        "rule": runs(row.rule),
        "read": runs(row.read),
    }


def fact(code: str, language: str, *values: str) -> dict[str, Any]:
    """Return one thing to know, its name the sentence of `code`, its values one below the other; empty ones go."""
    return {"name": say(code, language), "values": tuple(runs(value) for value in values if value)}


def by_whom(name: str, at: datetime, language: str) -> str:
    """Return who did something and when: "M. Aldana, 2 October 2026, 07:40"."""
    return say("paper.by_at", language, name=name, moment=moment_of(at, language))


def recheck_lines(recheck: Recheck, language: str) -> dict[str, Any]:
    """Return a re-check for a template to set: when it is due, in one line, and by what source."""
    due = [say("paper.recheck.after", language, distance=recheck.distance)]
    if recheck.low and recheck.high:
        due.append(say("paper.recheck.meter", language, low=recheck.low, high=recheck.high))
    if recheck.on is not None:
        due.append(say("paper.recheck.day", language, day=day_of(recheck.on, language)))
    return {"due": tuple(map(runs, due)), "source": runs(recheck.source)}


def seal_lines(seal: Seal) -> dict[str, str]:
    """Return a seal's hashes in groups of eight, as people compare them."""
    return {"record": _in_groups(seal.record), "head": _in_groups(seal.head)}


def _in_groups(figures: str) -> str:
    return " ".join(figures[at : at + 8] for at in range(0, len(figures), 8))


def code_of(url: str, language: str) -> dict[str, str] | None:
    """Return the QR code of an address with what it says to those who cannot scan it; None without an address."""
    if not url:
        return None
    return {
        "svg": qr_picture(url),
        "alt": say("paper.code.alt", language, url=url),
        "says": say("paper.code.says", language),
        "url": breakable(url),
    }


def shop_lines(shop: Shop) -> dict[str, Any]:
    """Return the shop's name and address for a template to set."""
    return {"name": breakable(shop.name), "address": tuple(map(breakable, shop.address))}


def one_of(given: str | None, allowed: Sequence[str], where: str) -> None:
    """Refuse a word that has no place there.

    Raises
    ------
    BadInput
        It is none of those allowed.
    """
    if given not in allowed:
        raise BadInput(Problem("word_not_allowed", where, {"given": given, "allowed": ", ".join(allowed)}))
