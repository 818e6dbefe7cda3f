"""From an assessment to a proposed job: every finding goes to a task or a list, and each task brings what it needs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from treadle.assess import Assessment, Finding
from treadle.errors import BadInput, Problem
from treadle.fleet.records import SIDES, Axle, Unit, WalkAround
from treadle.planning.answers import Answer, answers
from treadle.planning.hours import hours_from
from treadle.planning.needs import lifting_for, needs_of
from treadle.planning.parts import parts_of
from treadle.planning.proposal import Proposal, Task
from treadle.procedures import Facts, Sentence, Step, shipped, steps_for

_NOTHING_KNOWN: Mapping[int, Facts] = MappingProxyType({})
_NO_HISTORY: Mapping[str, Sequence[float]] = MappingProxyType({})

ORDER_OF_WORK = (
    "find_overstroke_cause",
    "scam_reline",
    "drum_replacement",
    "chamber_replacement",
    "adjuster_replacement",
)
"""A cause is found before anything is taken apart, for afterwards it cannot be."""

_OPENS_THE_BRAKE = frozenset({"scam_reline", "drum_replacement"})
_BOTH_ENDS = frozenset({"scam_reline"})
_NEAR = frozenset({"near", "near_at_limit"})
_PAPERWORK = frozenset({"not_confirmed", "not_confirmed_part", "count_over", "count_rests_on_halves"})
_ALWAYS = ("makers_prevail", "qualified_person")


def propose(
    assessment: Assessment,
    walk_around: WalkAround,
    unit_number: str,
    *,
    facts: Mapping[int, Facts] = _NOTHING_KNOWN,
    history: Mapping[str, Sequence[float]] = _NO_HISTORY,
) -> Proposal:
    """Propose a job for one unit.

    Parameters
    ----------
    assessment : Assessment
        What was judged.
    walk_around : WalkAround
        What it was judged from, for the units as they stand.
    unit_number : str
        The unit the job is for.
    facts : mapping, optional
        What the bay knows of each axle, by its number.
    history : mapping, optional
        Hours of the shop's own finished jobs, by procedure. [h]

    Returns
    -------
    Proposal
        Tasks in the order of work, and everything else that is not good in a list that says where it goes.

    Raises
    ------
    BadInput
        The walk-around has no such unit.
    """
    unit = _unit(walk_around, unit_number)
    sorted_out = _Sorting(unit)
    for finding in assessment.findings:
        if finding.outcome != "good" and _concerns(finding, unit_number):
            sorted_out.take(finding)
    tasks = sorted_out.tasks(history)
    steps = {task.id: _steps(task, unit, facts) for task in tasks}
    every_step = [step for task in tasks for step in steps[task.id]]
    cautions = [Sentence(f"procedure.caution.{caution}") for caution in _ALWAYS]
    cautions += [caution for task in tasks for caution in shipped()[task.procedure].cautions]
    return Proposal(
        unit=unit_number,
        tasks=tasks,
        measure_first=tuple(sorted_out.lists["measure_first"]),
        look_and_repair=tuple(sorted_out.lists["repair"]),
        keep_watching=tuple(sorted_out.lists["watch"]),
        by_hand=tuple(sorted_out.lists["by_hand"]),
        parts=parts_of(tasks, facts),
        tools=_once(tool for step in every_step for tool in step.tools),
        lifting=lifting_for(tasks, unit, facts),
        hazards=tuple({hazard.key: hazard for step in every_step for hazard in step.hazards}.values()),
        needs=needs_of(every_step),
        cautions=_once(cautions),
    )


def _unit(walk_around: WalkAround, number: str) -> Unit:
    for unit in walk_around.units:
        if unit.number == number:
            return unit
    details = {"given": number, "allowed": ", ".join(unit.number for unit in walk_around.units)}
    raise BadInput(Problem("unknown_unit", "unit", details))


def _concerns(finding: Finding, unit_number: str) -> bool:
    """Whether a finding is of this unit, or of a combination's share it is part of."""
    if finding.unit is not None:
        return finding.unit == unit_number
    return unit_number in finding.verdict.args.get("units", ())


def _steps(task: Task, unit: Unit, facts: Mapping[int, Facts]) -> tuple[Step, ...]:
    return steps_for(shipped()[task.procedure], unit, task.axle, task.sides, facts.get(task.axle, Facts()))


def _once(sentences: Iterable[Sentence]) -> tuple[Sentence, ...]:
    return tuple({sentence.code: sentence for sentence in sentences}.values())


# -- where a finding goes


@dataclass(slots=True)
class _Asked:
    """What findings ask of one procedure on one axle."""

    because: list[Finding] = field(default_factory=list)
    notes: list[Sentence] = field(default_factory=list)
    must: bool = False


class _Sorting:
    """Sends each finding of a unit to a task or a list."""

    def __init__(self, unit: Unit) -> None:
        self.axles = {axle.number: axle for axle in unit.axles}
        self.unit = unit
        self.lists: dict[str, list[Finding]] = {"measure_first": [], "repair": [], "watch": [], "by_hand": []}
        self.asked: dict[tuple[str, int], _Asked] = {}

    def take(self, finding: Finding) -> None:
        answer = self._answer(finding)
        if answer.task is None or finding.axle is None:
            self.lists[answer.goes_to if answer.task is None else "by_hand"].append(finding)
            return
        asked = self.asked.setdefault((answer.task, finding.axle), _Asked())
        asked.because.append(finding)
        asked.notes += answer.notes
        asked.must = asked.must or finding.outcome in ("hold", "fix")

    def _answer(self, finding: Finding) -> Answer:
        verdict = finding.verdict
        kind, code = str(verdict.args.get("kind")), verdict.code
        if finding.outcome == "unseen" or code.startswith("identify_"):
            return Answer(None, "measure_first")
        if code in _PAPERWORK:
            return Answer(None, "by_hand")
        answer = answers().to(kind, verdict.args.get("condition"))
        if code in _NEAR and answer.task not in _OPENS_THE_BRAKE:
            return Answer(None, "watch")
        if answer.task is None:
            return answer
        axle = self.axles.get(finding.axle or 0)
        if axle is None:
            return Answer(None, "by_hand")
        if not _is_drum(axle, finding.side) or verdict.args.get("word") == "no_movement":
            return Answer(None, "repair")
        if kind == "applied_stroke":
            return Answer(answer.task, "task", (*answer.notes, *_of_the_adjuster(axle, finding.side)))
        return answer

    # -- tasks

    def tasks(self, history: Mapping[str, Sequence[float]]) -> tuple[Task, ...]:
        tasks = [
            self._task(procedure, axle, asked, history.get(procedure, ()))
            for (procedure, axle), asked in self.asked.items()
        ]
        return tuple(sorted(tasks, key=lambda task: (not task.must, ORDER_OF_WORK.index(task.procedure), task.axle)))

    def _task(self, procedure: str, axle: int, asked: _Asked, history: Sequence[float]) -> Task:
        found = {side for one in asked.because for side in ((one.side,) if one.side else SIDES)}
        sides = SIDES if procedure in _BOTH_ENDS else tuple(side for side in SIDES if side in found)
        return Task(
            procedure=procedure,
            unit=self.unit.number,
            axle=axle,
            sides=sides,
            mate_sides=tuple(side for side in sides if side not in found),
            must=asked.must,
            because=tuple(asked.because),
            notes=self._notes(procedure, axle, asked, sides),
            hours=hours_from(history),
        )

    def _notes(self, procedure: str, axle: int, asked: _Asked, sides: tuple[str, ...]) -> tuple[Sentence, ...]:
        notes = list(asked.notes)
        reline = self.asked.get(("scam_reline", axle))
        relined = reline is not None and reline.must
        if procedure == "drum_replacement":
            if relined:
                notes = [note for note in notes if note.code != "planning.note.reline_question"]
                notes.append(Sentence("planning.note.drum_with_reline"))
            if len(sides) == 1:
                notes.append(Sentence("planning.note.drum_mate"))
        if procedure == "find_overstroke_cause" and relined:
            notes.append(Sentence("planning.note.measure_before_reline"))
        if not asked.must:
            notes.append(Sentence("planning.note.opportunity"))
        return _once(notes)


def _is_drum(axle: Axle, side: str | None) -> bool:
    """Whether the ends a finding is of have the brake that the procedures are written for."""
    return all(axle.end(one).brake == "air_drum" for one in ((side,) if side else SIDES))


def _of_the_adjuster(axle: Axle, side: str | None) -> tuple[Sentence, ...]:
    """What the kind of adjuster adds to a stroke past its limit."""
    kinds = {adjuster.kind if (adjuster := axle.end(one).adjuster) else None for one in ((side,) if side else SIDES)}
    if None in kinds:
        return (Sentence("planning.note.which_adjuster"),)
    return (Sentence("planning.note.manual_adjuster"),) if "manual" in kinds else ()
