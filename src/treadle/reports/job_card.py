"""A job on paper for the bay: why, what with, every step with its hazards, room to measure and sign at hold points."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby
from typing import Any

from treadle.assess.verdict import Assessment
from treadle.errors import BadInput, Problem
from treadle.fleet.records import Unit
from treadle.planning import Part, Task
from treadle.procedures import Hazard, Hold, Measurement, Procedure, Step
from treadle.reports import typesetting
from treadle.reports.parts import Reason, Shop, code_of, fact, reason_lines, reasons_of, shop_lines
from treadle.reports.plan_view import Manner, plan_view
from treadle.reports.star_drawing import star_drawing
from treadle.reports.typesetting import Sheet, words_of
from treadle.reports.wording import breakable, capital, listed, moment_of, runs
from treadle.words import say, term

BOXES = {"air_loss": ("start", "end", "seconds"), "build_up": ("start", "end", "seconds")}
"""Kinds of reading that are written down as several numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CardTask:
    """One task of the job, where, why, and its steps; `opportunistic` where nothing found asks for it."""

    title: str
    where: str
    because: tuple[Reason, ...]
    steps: tuple[Step, ...]
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    opportunistic: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPart:
    """A part to have ready; not `certain` is only if the work shows the need."""

    name: str
    where: str = ""
    quantity: str = ""
    rule: str = ""
    certain: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class JobCard:
    """What a job card says; `ends` are the wheel ends worked on, axle number and side, `url` the address of the job.

    Raises
    ------
    BadInput
        There is no task, or not one caution: no card leaves without them.
    """

    shop: Shop
    job: str
    made_at: datetime
    unit: Unit
    described: str
    assessment: Assessment
    tasks: tuple[CardTask, ...]
    parts: tuple[CardPart, ...]
    tools: tuple[str, ...]
    cautions: tuple[str, ...]
    ends: frozenset[tuple[int, str]]
    url: str
    hands: tuple[str, ...] = ()
    bay: str = ""
    meter: str = ""

    def __post_init__(self) -> None:
        """Refuse a card without work, or without its cautions."""
        if not self.tasks:
            raise BadInput(Problem("missing_field", "job_card", {"field": "tasks"}))
        if not self.every_caution:
            raise BadInput(Problem("missing_field", "job_card", {"field": "cautions"}))

    @property
    def every_caution(self) -> tuple[str, ...]:
        """The cautions of the job and of each of its tasks, each once."""
        of_tasks = [caution for task in self.tasks for caution in task.cautions]
        return tuple(dict.fromkeys([*self.cautions, *of_tasks]))


def card_task(task: Task, procedure: Procedure, steps: Iterable[Step], language: str) -> CardTask:
    """Return a planned task with the steps of its procedure as a card has it."""
    return CardTask(
        title=procedure.title.says(language),
        where=_where(task.axle, task.sides, language),
        because=reasons_of(task.because, language),
        steps=tuple(steps),
        cautions=tuple(caution.says(language) for caution in procedure.cautions),
        notes=tuple(note.says(language) for note in task.notes),
        opportunistic=not task.must,
    )


def card_part(part: Part, language: str) -> CardPart:
    """Return a planned part as a card has it."""
    return CardPart(
        name=part.says.says(language),
        where=_where(part.axle, part.sides, language),
        quantity=say("paper.card.as_found", language) if part.quantity is None else str(part.quantity),
        rule=part.rule.says(language),
        certain=part.certain,
    )


def _where(axle: int, sides: Iterable[str], language: str) -> str:
    return f"{term('axle', language)} {axle} {listed([term(side, language) for side in sides], language)}".rstrip()


def pdf(card: JobCard, language: str = "en", paper: str = "a4") -> bytes:
    """Return the card as a PDF.

    Raises
    ------
    BadInput
        There is no such paper.
    """
    return typesetting.pdf(sheet(card, language), paper)


def sheet(card: JobCard, language: str) -> Sheet:
    """Put together what the card says."""
    number = card.unit.number
    drawing = plan_view(card.unit, card.assessment, language, manner=Manner(worked=card.ends))
    data = {
        "words": words_of("paper.sign", "paper.card", language=language),
        "unit": breakable(number),
        "described": breakable(card.described),
        "shop": shop_lines(card.shop),
        "code": code_of(card.url, language),
        "facts": [
            fact("paper.card.fact.job", language, card.job),
            fact("paper.card.fact.bay", language, card.bay or say("report.state.not_noted", language)),
            fact("paper.card.fact.hands", language, listed(card.hands, language) or say("paper.card.nobody", language)),
            fact("paper.card.fact.meter", language, card.meter or say("report.state.not_noted", language)),
            fact("paper.card.fact.made", language, moment_of(card.made_at, language)),
        ],
        "cautions": [runs(caution) for caution in card.every_caution],
        "drawing": {"svg": drawing.svg, "description": drawing.description},
        "tasks": [_task(task, language) for task in card.tasks],
        "parts": [_part(part) for part in card.parts],
        "tools": [runs(capital(tool)) for tool in card.tools],
        "sources": _sources(card.tasks, language),
    }
    return Sheet(
        template="job_card.typ",
        language=language,
        title=say("paper.card.of", language, job=card.job, unit=number),
        author=card.shop.name,
        at=card.made_at,
        subject=number,
        footing=say("paper.card.foot", language, job=card.job, moment=moment_of(card.made_at, language)),
        data=data,
    )


def _task(task: CardTask, language: str) -> dict[str, Any]:
    return {
        "title": runs(task.title),
        "where": runs(task.where),
        "because": [reason_lines(reason, language) for reason in task.because],
        "opportunistic": say("paper.card.opportunistic", language) if task.opportunistic else "",
        "notes": [runs(note) for note in task.notes],
        "phases": [_phase(steps, language) for steps in _phases(task.steps)],
    }


def _part(part: CardPart) -> dict[str, Any]:
    return {
        "name": runs(capital(part.name)),
        "where": runs(part.where),
        "quantity": runs(part.quantity),
        "rule": runs(part.rule),
        "certain": part.certain,
    }


# -- the steps -----------------------------------------------------------------------------------------------------


def _phases(steps: Iterable[Step]) -> list[list[tuple[Step, ...]]]:
    """Gather steps by phase; what is done at each end alike stands once, its left step and its right together."""
    phases = []
    for _, of_phase in groupby(steps, key=lambda step: step.phase):
        together: dict[Any, list[Step]] = {}
        for step in of_phase:
            together.setdefault(_but_for_its_end(step), []).append(step)
        phases.append([tuple(one) for one in together.values()])
    return phases


def _but_for_its_end(step: Step) -> tuple[Any, ...]:
    """Return what a step asks for, whichever end it is at: two steps alike in it are printed as one."""
    hold = step.hold
    if hold is not None:
        hold = replace(hold, measurements=tuple(replace(one, side=None) for one in hold.measurements))
    return step.key, step.side is None, repr(hold), step.torque, step.order, repr(step.arguments)


def _phase(steps: Sequence[tuple[Step, ...]], language: str) -> dict[str, Any]:
    return {
        "title": capital(steps[0][0].phase_title.says(language)),
        "both": any(len(alike) > 1 for alike in steps),
        "steps": [_step(alike, language) for alike in steps],
    }


def _step(alike: Sequence[Step], language: str) -> dict[str, Any]:
    """Return a step, once for every end it is done at."""
    step = alike[0]
    ends = ((one.number, "" if one.side is None else term(one.side, language)) for one in alike)
    return {
        "ends": [{"number": str(number), "side": side} for number, side in ends],
        "action": runs(step.action.says(language)),
        "purpose": runs(step.purpose.says(language)),
        "good": runs(step.good.says(language)),
        "otherwise": runs(step.otherwise.says(language)),
        "tools": runs(listed([tool.says(language) for tool in step.tools], language)),
        "hazards": [runs(hazard.says.says(language)) for hazard in step.hazards],
        "figures": [
            {"says": runs(figure.says.says(language)), "source": _source(str(figure.citation), figure.basis, language)}
            for figure in step.figures
        ],
        "torque": [
            {"says": runs(record.says.says(language)), "basis": term(record.basis, language)} for record in step.torque
        ],
        "order": _order(step, language),
        "hold": None if step.hold is None else _hold(step.hold, language),
    }


def _sources(tasks: Iterable[CardTask], language: str) -> list[dict[str, Any]]:
    """Return every hazard of the card once, with where it is written: at the steps stands the hazard alone."""
    hazards = dict.fromkeys(hazard for task in tasks for step in task.steps for hazard in step.hazards)
    return [_hazard(hazard, language) for hazard in hazards]


def _hazard(hazard: Hazard, language: str) -> dict[str, Any]:
    cited = "; ".join(map(str, hazard.citations))
    return {"says": runs(hazard.says.says(language)), "source": _source(cited, hazard.basis, language)}


def _source(cited: str, basis: str, language: str) -> Any:
    """Return where something is written and how we know it."""
    return runs(say("report.rule", language, citation=cited, basis=basis) if cited else term(basis, language))


def _order(step: Step, language: str) -> dict[str, str] | None:
    if not step.order:
        return None
    order = ", ".join(map(str, step.order))
    return {
        "svg": star_drawing(step.order),
        "alt": say("paper.card.order", language, nuts=len(step.order), order=order),
    }


def _hold(hold: Hold, language: str) -> dict[str, Any]:
    return {
        "confirm": None if hold.confirm is None else runs(hold.confirm.says(language)),
        "measurements": [_measurement(one, language) for one in hold.measurements],
        "torque": "torque" in hold.kinds,
        "second": "second_person" in hold.kinds,
    }


def _measurement(one: Measurement, language: str) -> dict[str, Any]:
    """Return what is to be measured, with a box for each number there will be."""
    boxes = [say(f"paper.card.box.{box}", language) for box in BOXES.get(one.kind, ())]
    return {
        "says": runs(one.says.says(language)),
        "boxes": boxes or [str(number) if one.count > 1 else "" for number in range(1, one.count + 1)],
        "figure": () if one.at_least is None else runs(one.at_least.says.says(language)),
    }
