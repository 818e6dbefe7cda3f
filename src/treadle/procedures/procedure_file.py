"""How procedures, steps, hazards, figures and torque records stand in their files; `procedures.read` reads them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Basis = Literal["found", "secondary", "derived", "chosen", "practice", "memory"]
Words = Annotated[list[str], Field(min_length=1)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class CitationEntry(_Strict):
    """A place in a source."""

    source: str
    locator: str = ""


class HazardEntry(_Strict):
    """A hazard; one without a source is common practice or general knowledge, and its basis says so."""

    basis: Basis
    cites: list[CitationEntry] = []


class FigureEntry(_Strict):
    """A number or a band of two."""

    low: str
    high: str | None = None
    dimension: str
    source: str
    locator: str = ""
    basis: Basis


class TorqueEntry(_Strict):
    """A wheel torque, its lubrication and its source, never apart."""

    mounting: Literal["hub_piloted_m22", "hub_piloted_m20", "stud_piloted"]
    fastener: str
    low: str
    high: str
    lubrication: Literal["dry", "open"]
    source: str
    locator: str = ""
    basis: Basis


class MeasureEntry(_Strict):
    """Something to measure at a hold point; its key is the label's."""

    key: str
    kind: str
    place: Literal["centre", "thinnest"] | None = None
    state: Literal["released", "applied"] | None = None
    count: int = Field(default=1, ge=1)
    parts_differ: bool = False
    at_least: str | None = None
    kept: bool = False


class WhenEntry(_Strict):
    """The facts under which a step belongs to the work, each with the words that let it in."""

    suspension: Words | None = None
    mounting: Words | None = None
    studs: Words | None = None
    duals: Words | None = None
    drum_fit: Words | None = None
    adjuster_release: Words | None = None
    spring_brake: Words | None = None
    abs: Words | None = None


class StepEntry(_Strict):
    """A step; its sentences stand in the words, under its key.

    `like` names a step of the same phase that differs only in what is done: all but the action is said as there.
    """

    like: str | None = None
    each_end: bool = False
    goes_round: bool = False
    when: WhenEntry = WhenEntry()
    tools: list[str] = []
    hazards: list[str] = []
    figures: list[str] = []
    hold: list[Literal["measurement", "confirm", "second_person", "torque", "note"]] = []
    measure: list[MeasureEntry] = []
    order: bool = False
    torque: bool = False


class ProcedureFile(_Strict):
    """A procedure: its cautions and its steps, in the order of work."""

    cautions: Words
    steps: Words
