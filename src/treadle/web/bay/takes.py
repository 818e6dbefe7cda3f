"""What a job takes, worked out from its tasks: parts, tools, lifting, air and hands, hazards and cautions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from treadle.planning import Part, Task, hours_from
from treadle.planning.needs import lifting_for, needs_of
from treadle.planning.parts import parts_of
from treadle.procedures import Facts, Hazard, Sentence, shipped
from treadle.web.bay.models import Job, JobTask
from treadle.web.bay.to_core import steps_of
from treadle.web.units.to_core import record_of_unit

ALWAYS = ("makers_prevail", "qualified_person")
"""The cautions of any work on brakes."""


@dataclass(frozen=True, slots=True)
class Takes:
    """What has to be there for a job, and what it warns of."""

    parts: tuple[Part, ...]
    tools: tuple[Sentence, ...]
    lifting: tuple[Sentence, ...]
    needs: tuple[Sentence, ...]
    hazards: tuple[Hazard, ...]
    cautions: tuple[Sentence, ...]


def what_it_takes(job: Job) -> Takes:
    """Return what the tasks of a job take, as its steps stand."""
    unit = record_of_unit(job.unit)
    rows = [task for task in job.tasks.all() if task.axle is not None]
    tasks = [_planned(task) for task in rows]
    facts = {task.axle or 0: Facts(**task.facts) for task in rows}
    steps = [step for task in rows for step in steps_of(task, unit)]
    return Takes(
        parts=parts_of(tasks, facts),
        tools=_once(tool for step in steps for tool in step.tools),
        lifting=lifting_for(tasks, unit, facts),
        needs=needs_of(steps),
        hazards=tuple({hazard.key: hazard for step in steps for hazard in step.hazards}.values()),
        cautions=cautions_of(rows),
    )


def cautions_of(tasks: Iterable[JobTask]) -> tuple[Sentence, ...]:
    """Return the cautions of any work on brakes and of these tasks, each once."""
    always = [Sentence(f"procedure.caution.{caution}") for caution in ALWAYS]
    return _once([*always, *(caution for task in tasks for caution in shipped()[task.procedure].cautions)])


def _planned(task: JobTask) -> Task:
    """Return a task as planning has it; what asks for it stands with the row."""
    return Task(
        procedure=task.procedure,
        unit=task.job.unit.number,
        axle=task.axle or 0,
        sides=tuple(task.sides),
        must=must_be_done(task.why),
        because=(),
        hours=hours_from(()),
    )


def must_be_done(why: Sequence[dict[str, str]]) -> bool:
    """Whether what asks for a task keeps the unit in: something is hold or fix."""
    return any(finding["outcome"] in ("hold", "fix") for finding in why)


def _once(sentences: Iterable[Sentence]) -> tuple[Sentence, ...]:
    return tuple({sentence.code: sentence for sentence in sentences}.values())
