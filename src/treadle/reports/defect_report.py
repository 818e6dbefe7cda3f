"""A driver's report of an inspection, as 49 CFR 396.11 asks for it: what was found, its repair, the next review."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from treadle.errors import BadInput, Problem
from treadle.reports import typesetting
from treadle.reports.parts import Shop, by_whom, code_of, fact, one_of, shop_lines
from treadle.reports.typesetting import Sheet, words_of
from treadle.reports.wording import breakable, listed, moment_of, runs
from treadle.sources import cite
from treadle.words import say

ITEMS = (
    "service_brakes",
    "parking_brake",
    "steering",
    "lights",
    "tires",
    "horn",
    "wipers",
    "mirrors",
    "coupling",
    "wheels",
    "emergency",
    "other",
)
"""What 49 CFR 396.11 has a driver report on, and anything else."""

ANSWERS = ("repaired", "not_needed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    """A defect as the driver told it; `item` is one of `ITEMS`, `unit` which of the units has it.

    Raises
    ------
    BadInput
        There is no such item.
    """

    item: str
    says: str
    unit: str = ""

    def __post_init__(self) -> None:
        """Refuse an item nobody knows."""
        one_of(self.item, ITEMS, "defect.item")


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The carrier's certificate on a defect, by its index: it was repaired, or need not be, who says so and when.

    Raises
    ------
    BadInput
        It is neither.
    """

    defect: int
    outcome: str
    says: str
    by: str
    at: datetime

    def __post_init__(self) -> None:
        """Refuse a certificate of anything else."""
        one_of(self.outcome, ANSWERS, "answer.outcome")


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """The next driver's review of the report and its answers."""

    driver: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class DefectReport:
    """What a driver reported; `none_found` is the driver's own statement, never taken from an empty list.

    Raises
    ------
    BadInput
        Neither a defect nor the statement that none was found, or both; or an answer to a defect that is not there.
    """

    shop: Shop
    units: tuple[str, ...]
    driver: str
    at: datetime
    defects: tuple[Defect, ...]
    none_found: bool
    url: str
    answers: tuple[Answer, ...] = ()
    review: Review | None = None
    meter: str = ""

    def __post_init__(self) -> None:
        """Refuse a report that says nothing, or two things."""
        if bool(self.defects) == self.none_found:
            raise BadInput(Problem("missing_field", "defect_report", {"field": "defects"}))
        for answer in self.answers:
            one_of(str(answer.defect), [str(index) for index in range(len(self.defects))], "answer.defect")


def pdf(report: DefectReport, language: str = "en", paper: str = "a4") -> bytes:
    """Return the report as a PDF.

    Raises
    ------
    BadInput
        There is no such paper.
    """
    return typesetting.pdf(sheet(report, language), paper)


def sheet(report: DefectReport, language: str) -> Sheet:
    """Put together what the report says."""
    units = listed(report.units, language)
    found = {defect.item for defect in report.defects}
    answers = {answer.defect: answer for answer in report.answers}
    data = {
        "words": words_of("paper.sign", "paper.defects", language=language),
        "units": breakable(units),
        "described": say("paper.defects.by", language, driver=breakable(report.driver)),
        "shop": shop_lines(report.shop),
        "code": code_of(report.url, language),
        "statement": _statement(report, language),
        "facts": [
            fact("paper.defects.fact.at", language, moment_of(report.at, language)),
            fact("paper.defects.fact.driver", language, report.driver),
            fact("paper.defects.fact.meter", language, report.meter or say("report.state.not_noted", language)),
            fact("paper.defects.fact.carrier", language, report.shop.name),
        ],
        "items": [{"name": say(f"paper.defects.item.{item}", language), "found": item in found} for item in ITEMS],
        "defects": [_defect(defect, answers.get(index), language) for index, defect in enumerate(report.defects)],
        "driver": breakable(report.driver),
        "review": None if report.review is None else runs(by_whom(report.review.driver, report.review.at, language)),
        "law": say(
            "paper.defects.law", language, citation=cite("cfr-49-396", "396.11"), next=cite("cfr-49-396", "396.13")
        ),
    }
    return Sheet(
        template="defect_report.typ",
        language=language,
        title=say("paper.defects.of", language, units=units),
        author=report.driver,
        at=report.at,
        subject=units,
        footing=moment_of(report.at, language),
        data=data,
    )


def _statement(report: DefectReport, language: str) -> str:
    if report.none_found:
        return say("paper.defects.none_found", language)
    count = len(report.defects)
    return say(f"paper.defects.{'one_found' if count == 1 else 'found'}", language, count=count)


def _defect(defect: Defect, answer: Answer | None, language: str) -> dict[str, Any]:
    return {
        "item": say(f"paper.defects.item.{defect.item}", language),
        "unit": runs(defect.unit),
        "says": runs(defect.says),
        "answer": None
        if answer is None
        else {
            "outcome": say(f"paper.defects.answer.{answer.outcome}", language),
            "says": runs(answer.says),
            "done": runs(by_whom(answer.by, answer.at, language)),
        },
    }
