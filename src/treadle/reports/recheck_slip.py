"""The slip a driver takes along after a job: what to check again, when, by what figures, and where to send it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from treadle.errors import BadInput, Problem
from treadle.reports import typesetting
from treadle.reports.parts import Recheck, Shop, code_of, fact, recheck_lines, shop_lines
from treadle.reports.typesetting import Sheet, words_of
from treadle.reports.wording import breakable, moment_of, runs
from treadle.words import say

CAUTIONS = ("chocks", "cool", "tightening", "wrench", "duals", "loose")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheel:
    """A wheel whose nuts are checked; `torque` is the whole torque record, band, lubrication and source together."""

    where: str
    studs: int | None = None
    torque: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A relined end whose stroke is taken again: what it was after the work, and its limit."""

    where: str
    last: str = ""
    limit: str = ""
    rule: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecheckSlip:
    """What the slip says; `url` is the address where the re-check is entered.

    Raises
    ------
    BadInput
        There is nothing to check.
    """

    shop: Shop
    unit: str
    described: str
    job: str
    released_at: datetime
    meter: str
    recheck: Recheck
    wheels: tuple[Wheel, ...]
    strokes: tuple[Stroke, ...]
    url: str

    def __post_init__(self) -> None:
        """Refuse a slip that asks for nothing."""
        if not (self.wheels or self.strokes):
            raise BadInput(Problem("missing_field", "recheck", {"field": "wheels"}))


def pdf(slip: RecheckSlip, language: str = "en", paper: str = "a4") -> bytes:
    """Return the slip as a PDF.

    Raises
    ------
    BadInput
        There is no such paper.
    """
    return typesetting.pdf(sheet(slip, language), paper)


def sheet(slip: RecheckSlip, language: str) -> Sheet:
    """Put together what the slip says."""
    data = {
        "words": words_of("paper.sign", "paper.slip", language=language),
        "unit": breakable(slip.unit),
        "described": breakable(slip.described),
        "shop": shop_lines(slip.shop),
        "code": code_of(slip.url, language),
        "recheck": recheck_lines(slip.recheck, language),
        "facts": [
            fact("paper.slip.fact.job", language, slip.job),
            fact("paper.slip.fact.released", language, moment_of(slip.released_at, language)),
            fact("paper.slip.fact.meter", language, slip.meter or say("report.state.not_noted", language)),
        ],
        "cautions": [say(f"paper.slip.caution.{caution}", language) for caution in CAUTIONS],
        "wheels": [_wheel(wheel, language) for wheel in slip.wheels],
        "strokes": [_stroke(stroke, language) for stroke in slip.strokes],
    }
    return Sheet(
        template="recheck_slip.typ",
        language=language,
        title=say("paper.slip.of", language, unit=slip.unit, job=slip.job),
        author=slip.shop.name,
        at=slip.released_at,
        subject=slip.unit,
        footing=say("paper.slip.foot", language, job=slip.job),
        data=data,
    )


def _wheel(wheel: Wheel, language: str) -> dict[str, Any]:
    studs = "" if wheel.studs is None else say("paper.slip.studs", language, studs=wheel.studs)
    return {
        "where": runs(wheel.where),
        "studs": studs,
        "torque": runs(wheel.torque or say("paper.slip.no_torque", language)),
    }


def _stroke(stroke: Stroke, language: str) -> dict[str, Any]:
    not_noted = say("report.state.not_noted", language)
    return {
        "where": runs(stroke.where),
        "last": runs(stroke.last or not_noted),
        "limit": runs(stroke.limit or not_noted),
        "rule": runs(stroke.rule),
    }
