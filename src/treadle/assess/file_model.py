"""The assessment file, version 1, as it is written: the description its JSON Schema is published from."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

Outcome = Literal["hold", "fix", "unseen", "watch", "good"]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class EndEntry(_Strict):
    """Outcome of a wheel end; null where the occasion did not ask for it."""

    side: Literal["left", "right"]
    outcome: Outcome | None


class AxleEntry(_Strict):
    """Outcome of an axle and its ends."""

    axle: int
    outcome: Outcome | None
    wheel_ends: list[EndEntry]


class UnitEntry(_Strict):
    """Outcome of a unit and its axles."""

    number: str
    outcome: Outcome | None
    axles: list[AxleEntry]


class CountedEntry(_Strict):
    """A wheel end that adds one or two halves to the roadside share."""

    unit: str
    axle: int
    side: Literal["left", "right"]
    halves: Literal[1, 2]
    rules: list[str]


class CombinationEntry(_Strict):
    """Outcome of units coupled together, with their share of defective brakes in halves."""

    units: list[str]
    outcome: Outcome | None
    halves: int
    brakes: int
    counted: list[CountedEntry]


class FindingEntry(_Strict):
    """One thing found, with its proof; quantities carry their unit, `excess` is positive past the limit."""

    outcome: Outcome
    unit: str | None
    axle: int | None
    side: Literal["left", "right"] | None
    rule: str | None
    layer: Literal["operate", "roadside", "periodic", "practice", "policy", "build", "records"] | None
    jurisdiction: str | None
    measured: str | None
    limit: str | None
    excess: str | None
    citation: str | None
    basis: Literal["found", "secondary", "derived", "chosen", "practice", "memory"] | None
    unconfirmed: bool
    missing: list[str]
    code: str
    args: dict[str, Any]
    says: str
    remedy: str


class NotJudgedEntry(_Strict):
    """Something optional that is absent, or that no rule could be held against."""

    unit: str
    axle: int | None
    side: Literal["left", "right"] | None
    what: str
    why: str
    says: str


class AssessmentFile(_Strict):
    """What was judged of one walk-around on one day under one edition of the rules."""

    treadle: Literal["assessment/1"]
    on: str
    occasion: Literal["daily", "service", "received", "roadside", "periodic", "after_work"]
    edition: str
    outcome: Outcome
    unseen_blocks: bool | None
    units: list[UnitEntry]
    combinations: list[CombinationEntry]
    findings: list[FindingEntry]
    not_judged: list[NotJudgedEntry]


def assessment_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of the assessment file."""
    schema = AssessmentFile.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "assessment/1", **schema}
