"""From a procedure to the steps of one job: this unit, this axle, these ends, and what the bay knows of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from types import MappingProxyType

from treadle.errors import BadInput, Problem
from treadle.fleet.records import SIDES, Axle, Unit
from treadle.procedures.model import Hold, Procedure, Sentence, Step, StepPlan, TorqueRecord
from treadle.procedures.read import torque_records
from treadle.procedures.star import star_order

FACT_WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "suspension": ("air", "spring"),
        "mounting": ("hub_piloted_m22", "hub_piloted_m20", "stud_piloted"),
        "drum_fit": ("outboard", "inboard"),
        "adjuster_release": ("pull_pawl", "none"),
    }
)
"""The words a fact of the bay may have."""

UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What the bay knows of an axle beyond the fleet's record; None is not known, and nothing is assumed for it.

    Parameters
    ----------
    suspension : str, optional
        ``air`` or ``spring``.
    mounting : str, optional
        How the wheels are held: ``hub_piloted_m22``, ``hub_piloted_m20`` or ``stud_piloted``.
    studs : int, optional
        Studs a wheel: 5, 6, 8 or 10.
    duals : bool, optional
        Whether two wheels stand side by side at each end.
    drum_fit : str, optional
        ``outboard`` where the drum slides off over the hub, ``inboard`` where the hub comes off with it.
    adjuster_release : str, optional
        ``pull_pawl`` where a pawl must be held clear before the hex is turned back, else ``none``.
    spring_brake : bool, optional
        Whether the ends have spring brakes; left out, the fleet's record of each end says so.
    torque : TorqueRecord, optional
        The shop's own record, from the paper of the wheel's maker.

    Raises
    ------
    BadInput
        A word or a stud count that is not one of those above.
    """

    suspension: str | None = None
    mounting: str | None = None
    studs: int | None = None
    duals: bool | None = None
    drum_fit: str | None = None
    adjuster_release: str | None = None
    spring_brake: bool | None = None
    torque: TorqueRecord | None = None

    def __post_init__(self) -> None:
        """Refuse a word nobody knows."""
        for fact, allowed in FACT_WORDS.items():
            given = getattr(self, fact)
            if given is not None and given not in allowed:
                details = {"given": given, "allowed": ", ".join(allowed)}
                raise BadInput(Problem("word_not_allowed", fact, details))
        if self.studs is not None:
            star_order(self.studs)


NOTHING_KNOWN = Facts()


def steps_for(
    procedure: Procedure,
    unit: Unit,
    axle: int,
    sides: Sequence[str] = SIDES,
    facts: Facts = NOTHING_KNOWN,
) -> tuple[Step, ...]:
    """Return the steps of a job on one axle, in order of work.

    A step done at each end comes once a side; of each phase the left end is worked through before the right, but for
    steps that go round both ends first.

    Parameters
    ----------
    procedure : Procedure
        The kind of job.
    unit : Unit
        The vehicle, as the fleet has it.
    axle : int
        Number of the axle, from the front from 1.
    sides : sequence of str, optional
        The ends worked on; both if left out.
    facts : Facts, optional
        What the bay knows; nothing if left out.

    Raises
    ------
    BadInput
        The unit has no such axle, a side is not one, or an end has no air drum brake.
    """
    there = _axle(unit, axle)
    wanted = _sides(sides)
    for side in wanted:
        brake = there.end(side).brake
        if brake != "air_drum":
            details = {"given": brake, "allowed": "air_drum"}
            raise BadInput(Problem("word_not_allowed", f"{unit.number}, {axle}, {side}", details))
    return tuple(
        _step(number, plan, side, unit=unit, axle=axle, facts=facts)
        for number, (plan, side) in enumerate(_in_order(procedure.plans, there, wanted, facts), start=1)
    )


def _axle(unit: Unit, number: int) -> Axle:
    for axle in unit.axles:
        if axle.number == number:
            return axle
    details = {"unit": unit.number, "axle": number, "axles": len(unit.axles)}
    raise BadInput(Problem("unknown_axle", unit.number, details))


def _sides(sides: Sequence[str]) -> tuple[str, ...]:
    for side in sides:
        if side not in SIDES:
            raise BadInput(Problem("word_not_allowed", "sides", {"given": side, "allowed": ", ".join(SIDES)}))
    return tuple(side for side in SIDES if side in sides)


def _in_order(
    plans: Iterable[StepPlan], axle: Axle, sides: tuple[str, ...], facts: Facts
) -> Iterator[tuple[StepPlan, str | None]]:
    ends = {side: _known(axle, (side,), facts) for side in sides}
    whole = _known(axle, sides, facts)
    for _, block in groupby(plans, key=_done_together):
        steps = tuple(block)
        if not steps[0].each_end:
            yield from ((plan, None) for plan in steps if _belongs(plan, whole))
        else:
            yield from ((plan, side) for side in sides for plan in steps if _belongs(plan, ends[side]))


def _done_together(plan: StepPlan) -> tuple[str, bool, str]:
    """Return what steps share that are done at one end before the next end's turn."""
    return plan.phase, plan.each_end, plan.key if plan.goes_round else ""


def _belongs(plan: StepPlan, known: Mapping[str, str]) -> bool:
    return all(known[fact] in words for fact, words in plan.when.items())


def _known(axle: Axle, sides: tuple[str, ...], facts: Facts) -> dict[str, str]:
    """Return every fact that steps ask about as a word, ``unknown`` among them."""
    ends = [axle.end(side) for side in sides]
    spring_brakes = [end.spring_brake if facts.spring_brake is None else facts.spring_brake for end in ends]
    manual = [end.adjuster is not None and end.adjuster.kind == "manual" for end in ends]
    return {
        "suspension": facts.suspension or UNKNOWN,
        "mounting": facts.mounting or UNKNOWN,
        "studs": UNKNOWN if facts.studs is None else "known",
        "duals": _any([facts.duals]),
        "drum_fit": facts.drum_fit or UNKNOWN,
        "adjuster_release": "manual" if all(manual) else facts.adjuster_release or UNKNOWN,
        "spring_brake": _any(spring_brakes),
        "abs": _any([end.abs for end in ends]),
    }


def _any(facts: Sequence[bool | None]) -> str:
    """Say whether a thing is there at any of some ends: yes, no, or unknown."""
    if any(facts):
        return "yes"
    return UNKNOWN if None in facts else "no"


def _step(number: int, plan: StepPlan, side: str | None, *, unit: Unit, axle: int, facts: Facts) -> Step:
    order = star_order(facts.studs) if plan.shows_order and facts.studs is not None else ()
    arguments = {"unit": unit.number, "axle": axle, "studs": facts.studs, "order": " ".join(map(str, order))}
    return Step(
        number=number,
        key=plan.key,
        like=plan.like,
        phase=plan.phase,
        side=side,
        arguments=arguments,
        tools=tuple(Sentence(code) for code in plan.tools),
        hazards=plan.hazards,
        figures=plan.figures,
        torque=_torque(facts) if plan.shows_torque else (),
        order=order,
        hold=_hold(plan, side, arguments),
    )


def _torque(facts: Facts) -> tuple[TorqueRecord, ...]:
    return torque_records(facts.mounting) if facts.torque is None else (facts.torque,)


def _hold(plan: StepPlan, side: str | None, arguments: Mapping[str, object]) -> Hold | None:
    if not plan.hold_kinds:
        return None
    asks = "confirm" in plan.hold_kinds or "second_person" in plan.hold_kinds
    return Hold(
        plan.hold_kinds,
        Sentence(f"procedure.{plan.like}.confirm", arguments) if asks else None,
        tuple(replace(one, side=side) for one in plan.measurements),
    )
