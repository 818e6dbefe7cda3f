"""What the tasks of a proposal need of stands, air and people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from treadle.fleet.records import Unit
from treadle.planning.proposal import Task
from treadle.procedures import Facts, Sentence, Step, shipped


def lifting_for(tasks: Sequence[Task], unit: Unit, facts: Mapping[int, Facts]) -> tuple[Sentence, ...]:
    """Return what to lift and how to hold it, axle by axle; for work with the wheels on, that nothing is lifted.

    Parameters
    ----------
    tasks : sequence of Task
        The tasks of a proposal.
    unit : Unit
        The vehicle, for the ratings of its axles.
    facts : mapping
        What the bay knows of each axle, by its number.
    """
    if not tasks:
        return ()
    lifted = sorted({task.axle for task in tasks if shipped()[task.procedure].wheels_off})
    if not lifted:
        return (Sentence("planning.lifting.wheels_stay_down"),)
    rated = {axle.number: axle.gawr for axle in unit.axles}
    out = []
    for axle in lifted:
        arguments = {"axle": axle, "gawr": rated.get(axle)}
        known = "unknown" if rated.get(axle) is None else "rated"
        out.append(Sentence(f"planning.lifting.stands_{known}", arguments))
        suspension = facts.get(axle, Facts()).suspension or "unknown"
        if suspension != "spring":
            out.append(Sentence(f"planning.lifting.suspension_{suspension}", arguments))
    return (*out, Sentence("planning.lifting.jack"), Sentence("planning.lifting.chocks"))


def needs_of(steps: Sequence[Step]) -> tuple[Sentence, ...]:
    """Return what steps need of air and people.

    Parameters
    ----------
    steps : sequence of Step
        The steps of every task.
    """
    keys = {step.key for step in steps}
    asked = (
        ("level_bay", "make_safe.level" in keys),
        ("system_air", "make_safe.pressure" in keys),
        ("impact_air", any(key.startswith("strip.wheels_off") for key in keys)),
        ("person_in_cab", bool({"prove.applied_stroke", "find.as_found"} & keys)),
        ("second_look", any(step.hold is not None and "second_person" in step.hold.kinds for step in steps)),
        ("calibrated_wrench", any(step.torque for step in steps)),
    )
    return tuple(Sentence(f"planning.need.{name}") for name, is_asked in asked if is_asked)
