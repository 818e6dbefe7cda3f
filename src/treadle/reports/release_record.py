"""The release of a job on paper: what was done and measured, by whom, and the record's seal; nothing is judged here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from treadle.errors import BadInput, Problem
from treadle.reports import typesetting
from treadle.reports.parts import (
    Measured,
    Recheck,
    Seal,
    Shop,
    by_whom,
    code_of,
    fact,
    measured_lines,
    one_of,
    recheck_lines,
    seal_lines,
    shop_lines,
)
from treadle.reports.typesetting import Sheet, words_of
from treadle.reports.wording import breakable, day_of, moment_of, runs
from treadle.words import say


@dataclass(frozen=True, slots=True, kw_only=True)
class StepDone:
    """A step as it was done; `hold` are the sentences of what its hold point measured or confirmed, if it is one."""

    number: int
    says: str
    by: str
    at: datetime
    where: str = ""
    hold: tuple[str, ...] = ()
    second: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueDone:
    """Nuts as they were tightened: the torque record in one piece, the wrench, its stages, and the last value."""

    where: str
    says: str
    wrench: str
    calibration_due: date | None
    value: str
    by: str
    at: datetime
    stages: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFitted:
    """A part that was fitted, and the lot it came from."""

    where: str
    name: str
    lot: str = ""
    quantity: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """A person on the job, what they did, and how they were qualified at the time."""

    name: str
    did: str
    qualifications: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseRecord:
    """What the release of a job says; `url` is the address of the record.

    Raises
    ------
    BadInput
        Nothing was measured after the work, or something measured is hold, fix or unseen: that is no release.
    """

    shop: Shop
    unit: str
    described: str
    job: str
    opened_at: datetime
    released_at: datetime
    released_by: str
    meter: str
    tasks: tuple[str, ...]
    measured: tuple[Measured, ...]
    steps: tuple[StepDone, ...]
    torque: tuple[TorqueDone, ...]
    parts: tuple[PartFitted, ...]
    people: tuple[Hand, ...]
    recheck: Recheck | None
    seal: Seal
    url: str

    def __post_init__(self) -> None:
        """Refuse a release that nothing measured carries."""
        if not self.measured:
            raise BadInput(Problem("missing_field", "release", {"field": "measured"}))
        for row in self.measured:
            one_of(row.outcome, ("good", "watch"), "release.measured")


def pdf(record: ReleaseRecord, language: str = "en", paper: str = "a4") -> bytes:
    """Return the release as a PDF.

    Raises
    ------
    BadInput
        There is no such paper.
    """
    return typesetting.pdf(sheet(record, language), paper)


def sheet(record: ReleaseRecord, language: str) -> Sheet:
    """Put together what the release says."""
    released = by_whom(record.released_by, record.released_at, language)
    data = {
        "words": words_of("paper.sign", "paper.release", language=language) | _columns(language),
        "unit": breakable(record.unit),
        "described": breakable(record.described),
        "shop": shop_lines(record.shop),
        "code": code_of(record.url, language),
        "released": say("paper.release.released", language, released=released),
        "facts": [
            fact("paper.release.fact.job", language, record.job),
            fact("paper.release.fact.opened", language, moment_of(record.opened_at, language)),
            fact("paper.release.fact.released", language, moment_of(record.released_at, language)),
            fact("paper.release.fact.released_by", language, record.released_by),
            fact("paper.release.fact.meter", language, record.meter or say("report.state.not_noted", language)),
        ],
        "tasks": [runs(task) for task in record.tasks],
        "measured": [measured_lines(row, language) for row in record.measured],
        "steps": [_step(step, language) for step in record.steps],
        "torque": [_torque(torque, language) for torque in record.torque],
        "parts": [_part(part) for part in record.parts],
        "people": [_hand(hand, language) for hand in record.people],
        "recheck": None if record.recheck is None else recheck_lines(record.recheck, language),
        "seal": seal_lines(record.seal) | {"number": _link(record.seal, language)},
        "released_by": breakable(record.released_by),
    }
    return Sheet(
        template="release_record.typ",
        language=language,
        title=say("paper.release.of", language, job=record.job, unit=record.unit),
        author=record.released_by,
        at=record.released_at,
        subject=record.unit,
        footing=say("paper.release.foot", language, job=record.job, seal=record.seal.head[:8]),
        data=data,
    )


def _columns(language: str) -> dict[str, str]:
    """Return the names of the columns that the walk-around report has too."""
    names = ("outcome", "where", "what", "measured", "limit", "rule")
    return {f"column.{name}": say(f"report.column.{name}", language) for name in names}


def _step(step: StepDone, language: str) -> dict[str, Any]:
    return {
        "number": str(step.number),
        "says": runs(step.says),
        "where": runs(step.where),
        "done": runs(by_whom(step.by, step.at, language)),
        "hold": [runs(sentence) for sentence in step.hold],
        "second": runs(say("paper.release.second", language, name=step.second)) if step.second else (),
    }


def _torque(torque: TorqueDone, language: str) -> dict[str, Any]:
    return {
        "where": runs(torque.where),
        "says": runs(torque.says),
        "value": runs(torque.value),
        "stages": [runs(stage) for stage in torque.stages],
        "wrench": runs(torque.wrench),
        "calibration": runs(_calibration(torque, language)),
        "done": runs(by_whom(torque.by, torque.at, language)),
    }


def _calibration(torque: TorqueDone, language: str) -> str:
    """Say when the wrench is due to be calibrated, and where it was past that when it was used."""
    if torque.calibration_due is None:
        return say("paper.release.calibration.none", language)
    past = torque.calibration_due < torque.at.date()
    return say(
        f"paper.release.calibration.{'past' if past else 'due'}", language, day=day_of(torque.calibration_due, language)
    )


def _part(part: PartFitted) -> dict[str, Any]:
    return {
        "where": runs(part.where),
        "name": runs(part.name),
        "lot": runs(part.lot),
        "quantity": runs(part.quantity),
    }


def _hand(hand: Hand, language: str) -> dict[str, Any]:
    none = say("paper.release.no_qualification", language)
    return {
        "name": runs(hand.name),
        "did": runs(hand.did),
        "qualifications": [runs(one) for one in hand.qualifications or (none,)],
    }


def _link(seal: Seal, language: str) -> str:
    return "" if seal.number is None else say("paper.release.link", language, number=seal.number)
