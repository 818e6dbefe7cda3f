"""A step as its screen shows it: words, hazards, figures with their source, what is read already and its verdict."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from treadle.assess import Finding
from treadle.procedures import Step, shipped
from treadle.reports.star_drawing import star_drawing
from treadle.reports.wording import capital
from treadle.web.bay.models import StepRecord
from treadle.web.bay.papers import held_of, readings_at
from treadle.web.bay.steps import StepState
from treadle.web.bay.wording import read_with_verdicts, step_place
from treadle.words import say, term


@dataclass(frozen=True, slots=True)
class Folded:
    """A step in the list: its title, where, how it stands and who did it."""

    task: int
    step: str
    number: int
    says: str
    where: str
    done: bool
    held: bool
    here: bool
    row: StepRecord | None
    hold: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Phase:
    """The steps of one phase."""

    key: str
    title: str
    steps: tuple[Folded, ...]

    @property
    def done(self) -> int:
        """How many of them are done."""
        return sum(step.done for step in self.steps)

    @property
    def here(self) -> bool:
        """Whether the step on the screen is one of them."""
        return any(step.here for step in self.steps)


def phases_of(states: Sequence[StepState], here: StepState | None, language: str) -> list[Phase]:
    """Return the steps of a job by phase, in the order of the work; a phase that comes twice stands twice."""
    found = []
    several = len({state.task.pk for state in states}) > 1
    for phase, together in groupby(states, key=lambda state: state.step.phase):
        members = list(together)
        title = capital(members[0].step.phase_title.says(language))
        found.append(Phase(phase, title, tuple(_folded(one, here, language, named=several) for one in members)))
    return found


def _folded(state: StepState, here: StepState | None, language: str, *, named: bool) -> Folded:
    return Folded(
        task=state.task.position + 1,
        step=state.step.id,
        number=state.step.number,
        says=state.step.action.says(language),
        where=_place(state, language, named=named),
        done=state.done,
        held=state.step.hold is not None,
        here=here is not None and (state.task.pk, state.step.id) == (here.task.pk, here.step.id),
        row=state.row,
        hold=tuple(held_of(state, language)) if state.row is not None else (),
    )


def _place(state: StepState, language: str, *, named: bool) -> str:
    """Return where a step is done, and of which task it is where the job has several."""
    where = step_place(state.task, state.step, language)
    title = shipped()[state.task.procedure].title.says(language)
    return say("bay.task", language, title=title, where=where) if named else where


def step_shown(state: StepState, language: str, *, named: bool) -> dict[str, Any]:
    """Return a step with all that is said of it, as its screen shows it; of which task, where it is `named`."""
    step = state.step
    return {
        "number": step.number,
        "id": step.id,
        "task": state.task.position + 1,
        "where": step_place(state.task, step, language),
        "said_place": _place(state, language, named=named),
        "phase": capital(step.phase_title.says(language)),
        "action": step.action.says(language),
        "purpose": step.purpose.says(language),
        "good": step.good.says(language),
        "otherwise": step.otherwise.says(language),
        "tools": capital(", ".join(tool.says(language) for tool in step.tools)),
        "hazards": [hazard.says.says(language) for hazard in step.hazards],
        "hazard_sources": _sources(step, language),
        "figures": [
            {"says": figure.says.says(language), "source": _source(str(figure.citation), figure.basis, language)}
            for figure in step.figures
        ],
        "disagree": len(step.torque) > 1,
        "order": _order(step, language),
        "asks": _asks(step, language),
    }


def _sources(step: Step, language: str) -> list[str]:
    """Return where each hazard of a step is written, each once."""
    found = (_source("; ".join(map(str, one.citations)), one.basis, language) for one in step.hazards)
    return list(dict.fromkeys(found))


def _source(cited: str, basis: str, language: str) -> str:
    return say("report.rule", language, citation=cited, basis=basis) if cited else term(basis, language)


def _order(step: Step, language: str) -> dict[str, str] | None:
    if not step.order:
        return None
    order = ", ".join(map(str, step.order))
    return {
        "svg": star_drawing(step.order),
        "says": say("paper.card.order", language, nuts=len(step.order), order=order),
    }


def _asks(step: Step, language: str) -> str:
    """Return what a hold point asks for, in words for its band."""
    if step.hold is None:
        return ""
    return ", ".join(say(f"bay.hold.{kind}", language) for kind in step.hold.kinds)


def readings_shown(state: StepState, findings: Iterable[Finding], language: str) -> list[dict[str, Any]]:
    """Return what a hold point wants from the after-work walk-around, what is read, and what the judge says of it."""
    hold, found = state.step.hold, list(findings)
    if hold is None:
        return []
    return [
        {
            "says": measurement.says.says(language),
            "wanted": measurement.count,
            "read": [_value(row.fields, language) for row in readings_at(state, measurement.kind)],
            "verdicts": read_with_verdicts(_about(found, state, measurement.kind), language),
        }
        for measurement in hold.measurements
        if measurement.is_reading
    ]


def _about(findings: Iterable[Finding], state: StepState, kind: str) -> list[Finding]:
    """Return the findings on readings of a kind at the end of a step, or of its unit."""
    places = {(state.task.axle, state.step.side), (None, None)}
    if state.step.side is None:
        places |= {(state.task.axle, side) for side in ("left", "right")}
    asked = (state.task.job.unit.number, kind)
    return [
        one
        for one in findings
        if (one.unit, _kind(one)) == asked and (one.axle, one.side) in places and one.verdict.code != "missing"
    ]


def _kind(finding: Finding) -> str:
    args = finding.verdict.args
    return "condition" if args.get("condition") else str(args.get("kind"))


def _value(fields: dict[str, Any], language: str) -> str:
    """Return what was read, in short: the value with its shoe and place, or the word."""
    if fields.get("start"):
        return say("bay.from_to", language, start=fields["start"], end=fields["end"], seconds=fields.get("seconds", ""))
    value = fields.get("value") or fields.get("special") or ""
    shown = value if any(letter.isdigit() for letter in value) else term(value, language)
    part, place = fields.get("shoe") or fields.get("pad"), fields.get("place")
    return ", ".join([*(term(word, language) for word in (part, place) if word), shown])


def token_of(states: Sequence[StepState], readings: int) -> str:
    """Return what tells this state of the steps from any later one."""
    rows = [state.row for state in states if state.row is not None]
    last = max((row.entered_at for row in rows), default=None)
    return f"{len(rows)}-{readings}-{'' if last is None else int(last.timestamp() * 1000)}"
