"""The parts to have ready for the tasks of a proposal, with the rule that says how many."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from treadle.fleet.records import SIDES
from treadle.planning.answers import Wanted, parts_wanted
from treadle.planning.proposal import Part, Task
from treadle.procedures import Facts, Sentence
from treadle.sources import cite


def parts_of(tasks: Sequence[Task], facts: Mapping[int, Facts]) -> tuple[Part, ...]:
    """Return the parts of all tasks; what two tasks on one axle both take is there once.

    Parameters
    ----------
    tasks : sequence of Task
        The tasks of a proposal.
    facts : mapping
        What the bay knows of each axle, by its number.
    """
    drums = {(task.axle, side) for task in tasks if task.procedure == "drum_replacement" for side in task.sides}
    taken: set[tuple[int, str, str]] = set()
    parts = []
    for task in tasks:
        for part in _of_task(task, facts.get(task.axle, Facts()), drums):
            sides = tuple(side for side in part.sides if (part.axle, part.key, side) not in taken)
            if sides:
                parts.append(_of_these(part, sides))
                taken |= {(part.axle, part.key, side) for side in sides}
    return tuple(parts)


def _of_these(part: Part, sides: tuple[str, ...]) -> Part:
    """Return a part for some of its ends, with as many as they take."""
    if part.quantity is None or sides == part.sides:
        return replace(part, sides=sides)
    return replace(part, sides=sides, quantity=part.quantity // len(part.sides) * len(sides))


def _of_task(task: Task, facts: Facts, drums: set[tuple[int, str]]) -> Iterator[Part]:
    for wanted in parts_wanted().get(task.procedure, ()):
        judged_already = wanted.when == "if_found" and wanted.key == "drum"
        sides = tuple(side for side in task.sides if not (judged_already and (task.axle, side) in drums))
        if sides:
            yield _part(task, wanted, sides, facts)
    if task.procedure == "drum_replacement":
        yield from _mate_of_drum(task)


def _part(task: Task, wanted: Wanted, sides: tuple[str, ...], facts: Facts) -> Part:
    only_a_mismatch = all(finding.side is None for finding in task.because)
    counted = wanted.each_end is not None and not (only_a_mismatch and wanted.key in ("chamber", "adjuster"))
    return Part(
        key=wanted.key,
        axle=task.axle,
        sides=sides,
        quantity=wanted.each_end * len(sides) if counted and wanted.each_end is not None else None,
        rule=wanted.rule,
        certain=wanted.when == "always" or (wanted.when == "hub_off" and facts.drum_fit == "inboard"),
        opportunistic=not task.must,
        basis=wanted.basis,
        citation=wanted.citation,
    )


def _mate_of_drum(task: Task) -> Iterator[Part]:
    """The drum of the other end: best replaced as a pair, if the lead says so."""
    mates = tuple(side for side in SIDES if side not in task.sides)
    if mates:
        yield Part(
            key="drum",
            axle=task.axle,
            sides=mates,
            quantity=len(mates),
            rule=Sentence("planning.rule.drum_pairs"),
            certain=False,
            opportunistic=True,
            basis="secondary",
            citation=cite("drum-page", "on replacing in pairs"),
        )
