"""Judging one wheel end: each thing measured or seen there, what the occasion needs, and what it adds to the share."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import partial
from typing import Any

from treadle.assess.comparison import (
    Circumstances,
    Comparison,
    breach_of,
    circumstances,
    compare,
    words_against,
)
from treadle.assess.conditions import conditions_that_count, weigh_condition
from treadle.assess.facts import end_facts
from treadle.assess.law import Law
from treadle.assess.limits import Group, Limits, limits_for
from treadle.assess.linings import lining_against
from treadle.assess.verdict import Verdict
from treadle.assess.weigh import Share, Weighed, weigh_against, weigh_fitted
from treadle.fleet.records import Axle, Reading, Taken, Unit, WheelEnd
from treadle.measure import Quantity, show_number
from treadle.rules.model import Window

_SHOES = (("upper", "lower"), ("front", "rear"))
_PADS = (("inner", "outer"),)
_SINGLE_LENGTHS = ("free_stroke", "running_clearance", "end_play", "hub_temperature", "cam_angle")
_KINDS_WITH_CIRCUMSTANCES = frozenset({"applied_stroke", "rod_released", "rod_applied"})
_MOST_REMEMBERED = 20_000
_OPTIONAL = {
    "air_drum": ("wear_indicator", "free_stroke", "drum_diameter"),
    "air_disc": ("rotor_thickness",),
    "air_wedge": ("drum_diameter",),
    "hydraulic_drum": ("drum_diameter",),
    "hydraulic_disc": ("rotor_thickness",),
    "electric": ("drum_diameter",),
}


@dataclass(slots=True)
class EndPlan:
    """What the rules say of a wheel end with these parts, on this day; resolved once for all ends alike."""

    law: Law
    unit: Unit
    axle: Axle
    end: WheelEnd
    facts: dict[str, Any] = field(init=False)
    steering: bool = field(init=False)
    _limits: dict[str, Limits] = field(default_factory=dict)
    _standings: dict[Any, int] = field(default_factory=dict)
    _standing_numbers: dict[tuple[Circumstances, ...], int] = field(default_factory=dict)
    seen: dict[Any, Weighed] = field(default_factory=dict)
    """What readings already came to here; equal readings in equal circumstances come to the same."""

    def __post_init__(self) -> None:
        """Gather the facts the rules ask about."""
        self.facts = end_facts(self.unit, self.axle, self.end)
        self.steering = self.facts["steering"]

    def limits(self, quantity: str) -> Limits:
        """Return everything the rules say of one kind of reading here."""
        if quantity not in self._limits:
            self._limits[quantity] = limits_for(
                quantity,
                self.law.by_quantity.get(quantity, ()),
                rule_set=self.law.rule_set,
                on=self.law.on,
                runs_in=self.unit.runs_in,
                facts=self.facts,
                part_figures=self._part_figures(),
            )
        return self._limits[quantity]

    def standing(self, taken: Taken) -> int:
        """Return a number for how circumstances stand to every window the stroke rules ask for; alike, the same one."""
        key = (taken.reservoir, taken.engine, taken.spring_brakes, taken.supply)
        known = self._standings.get(key)
        if known is None:
            windows = dict.fromkeys(group.rule.window for group in self.limits("applied_stroke").groups)
            stands = tuple(self.circumstances(window, taken) for window in windows)
            known = self._standings[key] = self._standing_numbers.setdefault(stands, len(self._standing_numbers))
        return known

    def circumstances(self, window: Window, taken: Taken) -> Circumstances:
        """Say how the circumstances of a reading here stand to what a rule asks."""
        return circumstances(window, taken, spring_brake=self.end.spring_brake, has_engine=self.unit.is_power_unit)

    def _part_figures(self) -> dict[str, Quantity | None]:
        end = self.end
        return {
            "drum.discard": end.drum.discard if end.drum else None,
            "rotor.discard": end.rotor.discard if end.rotor else None,
            "chamber.rated_stroke": end.chamber.rated_stroke if end.chamber else None,
            "chamber.marked_limit": end.chamber.marked_limit if end.chamber else None,
        }


def judge_end(plan: EndPlan, readings: Sequence[Reading], needs: Sequence[str]) -> Weighed:
    """Judge everything read at a wheel end, and name what the occasion needs and nobody read.

    Ends alike at which the same was read come to the same, so each is worked out once.
    """
    key = _all_that_was_read(plan, readings, needs)
    if key not in plan.seen:
        if len(plan.seen) > _MOST_REMEMBERED:
            plan.seen.clear()
        plan.seen[key] = _EndJudge(plan, readings, needs).run().settled()
    return plan.seen[key]


def _all_that_was_read(plan: EndPlan, readings: Sequence[Reading], needs: Sequence[str]) -> tuple[Any, ...]:
    key: list[Any] = [needs]
    looked_at: list[datetime] = []
    for reading in readings:
        key += (reading.kind, reading.part, reading.place, reading.value, reading.special)
        if reading.kind in _KINDS_WITH_CIRCUMSTANCES:
            key.append(plan.standing(reading.taken))
        elif reading.kind == "condition":
            looked_at.append(reading.taken.at)
        elif reading.kind == "not_seen":
            key += (reading.what, reading.reason)
    if len(looked_at) > 1:  # which came later decides what stands
        key += looked_at
    return tuple(key)


class _EndJudge:
    def __init__(self, plan: EndPlan, readings: Sequence[Reading], needs: Sequence[str]) -> None:
        self.plan, self.needs = plan, needs
        self.read: dict[str, list[Reading]] = {}
        for reading in readings:
            self.read.setdefault(reading.kind, []).append(reading)
        self.not_seen = {reading.what: reading for reading in self.of_kind("not_seen")}
        self.out = Weighed()

    def of_kind(self, kind: str) -> list[Reading]:
        return self.read.get(kind, [])

    def run(self) -> Weighed:
        for kinds, judge in _JUDGES:
            if not kinds.isdisjoint(self.read):
                judge(self)
        self._take_once(("fitted",), self._fitted)
        self._missing()
        self._optional()
        self._unseen_share()
        return self.out

    # -- strokes -----------------------------------------------------------------------------------------------

    def _strokes(self) -> None:
        for reading in self.of_kind("applied_stroke"):
            if reading.special == "no_movement" or _is_zero(reading.value):
                self._no_movement(reading.taken)
            else:
                measured = reading.value if isinstance(reading.value, Quantity) else None
                self._stroke(measured, reading.taken)
        released, applied = self.of_kind("rod_released"), self.of_kind("rod_applied")
        if released and applied:
            self._rods(released[0], applied[0])

    def _no_movement(self, taken: Taken) -> None:
        """A rod that did not move is a brake that does not act, unless it could not be expected to move."""
        if taken.spring_brakes == "applied":
            self._unseen("unseen_spring_brakes_applied", "applied_stroke", ("applied_stroke",))
        elif taken.engine == "running":
            self._unseen("unseen_engine_running", "applied_stroke", ("applied_stroke",))
        else:
            self._condition_of("no_braking_action", "applied_stroke")

    def _rods(self, released: Reading, applied: Reading) -> None:
        """The stroke is how far the rod moved from one fixed point."""
        assert isinstance(released.value, Quantity)  # noqa: S101 - the file reader made it one
        assert isinstance(applied.value, Quantity)  # noqa: S101 - the file reader made it one
        taken = applied.taken
        if released.taken.spring_brakes == "applied":
            taken = replace(taken, spring_brakes="applied")
        unit = applied.value.unit
        moved = applied.value.value - released.value.in_unit(unit)
        if moved < 0:
            self._unseen("rods_backwards", "applied_stroke", ("rod_released", "rod_applied"))
        elif moved == 0:
            self._no_movement(taken)
        else:
            number = show_number(moved, unit, decimal=applied.value.decimal)
            step = max(released.value.resolution, applied.value.resolution)
            self._stroke(Quantity(moved, unit, resolution=step, shown=f"{number} {unit}"), taken)

    def _stroke(self, measured: Quantity | None, taken: Taken) -> None:
        """Judge a stroke; None is a rod that bottomed, which is past any limit."""
        self._take_once(
            ("stroke", measured, self.plan.standing(taken)),
            lambda: self._weigh(
                "applied_stroke",
                lambda group: self._stroke_against(group, measured, taken),
                needed="stroke" in self.needs,
                missing=("applied_stroke",),
                args=None if measured is not None else {"word": "bottomed"},
            ),
        )

    def _stroke_against(self, group: Group, measured: Quantity | None, taken: Taken) -> Comparison:
        given = self.plan.circumstances(group.rule.window, taken)
        if measured is not None:
            return compare(group, measured, given)
        if given.standing in ("met", "below"):
            return breach_of(group)
        return Comparison(group, "open", why=given.why, missing=given.missing)

    # -- linings -----------------------------------------------------------------------------------------------

    def _linings(self) -> None:
        parts: dict[str, dict[str, Quantity]] = {}
        for reading in self.of_kind("lining"):
            if isinstance(reading.value, Quantity) and reading.part and reading.place:
                parts.setdefault(reading.part, {})[reading.place] = reading.value
        above = {
            reading.part: reading.value
            for reading in self.of_kind("above_fastener")
            if isinstance(reading.value, Quantity)
        }
        for part, at in parts.items():
            key = ("lining", part, at.get("centre"), at.get("thinnest"), above.get(part))
            self._take_once(key, partial(self._lining, part, at, above.get(part)))
        if self.of_kind("above_fastener") and not self._asks_for_height():
            self.out.not_judged.append(("above_fastener", "no_limit_held"))

    def _asks_for_height(self) -> bool:
        return any(group.rule.either is not None for group in self.plan.limits("lining").groups)

    def _lining(self, part: str, at: Mapping[str, Quantity], above: Quantity | None) -> Weighed:
        return self._weigh(
            "lining",
            lambda group: lining_against(group, at, above),
            needed=bool({"shoes", "pads"} & set(self.needs)),
            missing=("lining", part),
            args={"part": part},
        )

    # -- other measurements --------------------------------------------------------------------------------------

    def _lengths(self) -> None:
        for kind in _SINGLE_LENGTHS:
            for reading in self.of_kind(kind):
                self._length(reading)

    def _length(self, reading: Reading) -> None:
        measured = reading.value
        assert isinstance(measured, Quantity)  # noqa: S101 - the file reader made it one
        self._take_once(
            (reading.kind, measured),
            lambda: self._weigh(
                reading.kind,
                lambda group: compare(group, measured),
                needed=reading.kind in self.needs,
                missing=(reading.kind,),
            ),
        )

    def _drum(self) -> None:
        self._size_that_decides("drum_diameter", max)

    def _rotor(self) -> None:
        self._size_that_decides("rotor_thickness", min)

    def _size_that_decides(self, kind: str, pick: Callable[..., Quantity]) -> None:
        """Judge the size that decides of several places: the largest drum diameter, the thinnest rotor."""
        sizes = [reading.value for reading in self.of_kind(kind) if isinstance(reading.value, Quantity)]
        if sizes:
            decides = pick(sizes, key=lambda size: size.in_unit("mm"))
            self._take_once(
                (kind, decides),
                lambda: self._weigh(
                    kind,
                    lambda group: compare(group, decides),
                    needed=kind in self.needs,
                    missing=(kind,),
                ),
            )

    def _scribe_marks(self) -> None:
        marks = self.of_kind("scribe_movement")
        sizes = [reading.value for reading in marks if isinstance(reading.value, Quantity)]
        for reading in marks:
            self._length(reading)
        if len(sizes) == 2:
            unit = sizes[0].unit if sizes[0].unit == sizes[1].unit else "mm"
            both = Quantity(sizes[0].in_unit(unit) + sizes[1].in_unit(unit), unit)
            self.out.take(
                self._weigh(
                    "scribe_movement_sum",
                    lambda group: compare(group, both),
                    needed=True,
                    missing=("scribe_movement",),
                )
            )

    def _wear_indicator(self) -> None:
        for reading in self.of_kind("wear_indicator"):
            self._word(reading)

    def _word(self, reading: Reading) -> None:
        word = str(reading.value)
        self._take_once(
            (reading.kind, reading.part, word),
            lambda: self._weigh(
                reading.kind,
                lambda group: words_against(group, word),
                needed=reading.kind in self.needs,
                missing=(reading.kind,),
                args={"word": word},
            ),
        )

    def _tags(self) -> None:
        for reading in self.of_kind("tags"):
            if reading.value == "differ":
                self._unseen("tags_differ", "tags", ("chamber", "adjuster"))

    def _fitted(self) -> Weighed:
        """Judge what the build date asks to be fitted: facts of the unit, not readings of the day."""
        end, scale = self.plan.end, self.plan.law.scale
        out = weigh_fitted(self.plan.limits("brake_fitted"), end.brake, scale, kind="brake_fitted")
        kind = end.adjuster.kind if end.adjuster else None
        out.take(weigh_fitted(self.plan.limits("adjuster_kind"), kind, scale, kind="adjuster_kind"))
        return out

    # -- conditions --------------------------------------------------------------------------------------------

    def _conditions(self) -> None:
        for name in conditions_that_count(self.of_kind("condition")):
            if name == "none_seen":
                self.out.verdicts.append(Verdict(outcome="good", code="none_seen", remedy="within"))
            else:
                self._condition_of(name, "condition")

    def _condition_of(self, name: str, kind: str) -> None:
        self._take_once(
            ("condition", name, kind),
            lambda: weigh_condition(self.plan.law, name, self.plan.unit.runs_in, self.plan.facts, kind=kind),
        )

    # -- what was not read ---------------------------------------------------------------------------------------

    def _missing(self) -> None:
        have = self.read.keys()
        for need in self.needs:
            match need:
                case "stroke":
                    if "applied_stroke" not in have and not {"rod_released", "rod_applied"} <= have:
                        half = [kind for kind in ("rod_released", "rod_applied") if kind in have]
                        self._miss("applied_stroke", (), half=half)
                case "shoes":
                    self._miss_parts(_SHOES)
                case "pads":
                    self._miss_parts(_PADS)
                case "scribe_movement":
                    read = {reading.part for reading in self.of_kind("scribe_movement")}
                    if len(read) < 2:
                        self._miss("scribe_movement", ())
                case _:
                    if need not in have:
                        self._miss(need, ())

    def _miss_parts(self, pairs: tuple[tuple[str, str], ...]) -> None:
        read = {reading.part for reading in self.of_kind("lining")}
        pair = next((pair for pair in pairs if set(pair) & read), pairs[0])
        absent = tuple(part for part in pair if part not in read)
        if absent:
            self._miss("lining", absent)

    def _miss(self, kind: str, parts: tuple[str, ...], half: Iterable[str] = ()) -> None:
        why_not = self.not_seen.get(kind)
        code = "not_seen" if why_not else "missing"
        absent = {"rod_released": "rod_applied", "rod_applied": "rod_released"}
        missing = (kind, *parts, *(absent[rod] for rod in half))
        reason = {"reason": why_not.reason} if why_not else {}
        self._unseen(code, kind, missing, **reason)

    def _unseen(self, code: str, kind: str, missing: tuple[str, ...], **args: Any) -> None:
        self.out.verdicts.append(
            Verdict(
                outcome="unseen",
                code=code,
                remedy=code,
                missing=missing,
                args={"kind": kind, "parts": missing[1:], **args},
            )
        )

    def _optional(self) -> None:
        have = self.read.keys()
        for kind in _OPTIONAL.get(self.plan.end.brake, ()):
            if kind not in have and kind not in self.needs:
                self.out.not_judged.append((kind, "not_seen" if kind in self.not_seen else "optional"))
        if "stroke" not in self.needs and self.plan.end.brake == "air_drum" and "shoes" in self.needs:
            self.out.not_judged.append(("applied_stroke", "rod_hidden"))

    def _unseen_share(self) -> None:
        """An end left unseen in something that can be a brake defect might be a whole defective brake."""
        for verdict in self.out.verdicts:
            if verdict.outcome != "unseen":
                continue
            for place in self.plan.unit.runs_in:
                if self.plan.law.counts(place, str(verdict.args.get("kind"))):
                    self.out.shares.setdefault(place, Share()).most = 2

    # -- shared ------------------------------------------------------------------------------------------------

    def _take_once(self, key: tuple[Any, ...], make: Callable[[], Weighed]) -> None:
        """Add what a reading comes to, worked out once for all equal readings at ends alike."""
        key = (*key, self.needs)
        if key not in self.plan.seen:
            self.plan.seen[key] = make()
        self.out.take(self.plan.seen[key])

    def _weigh(
        self,
        kind: str,
        against: Callable[[Group], Comparison],
        *,
        needed: bool,
        missing: tuple[str, ...],
        args: Mapping[str, Any] | None = None,
    ) -> Weighed:
        return weigh_against(
            self.plan.limits(kind),
            against,
            self.plan.law.scale,
            kind=kind,
            needed=needed,
            missing=missing,
            steering=self.plan.steering,
            args=args,
        )


def _is_zero(value: Any) -> bool:
    return isinstance(value, Quantity) and value.value == 0


_JUDGES: tuple[tuple[frozenset[str], Callable[[_EndJudge], None]], ...] = (
    (frozenset({"applied_stroke", "rod_released"}), _EndJudge._strokes),
    (frozenset({"lining", "above_fastener"}), _EndJudge._linings),
    (frozenset({"wear_indicator"}), _EndJudge._wear_indicator),
    (frozenset(_SINGLE_LENGTHS), _EndJudge._lengths),
    (frozenset({"drum_diameter"}), _EndJudge._drum),
    (frozenset({"rotor_thickness"}), _EndJudge._rotor),
    (frozenset({"scribe_movement"}), _EndJudge._scribe_marks),
    (frozenset({"condition"}), _EndJudge._conditions),
    (frozenset({"tags"}), _EndJudge._tags),
)
"""Which reading kinds each part of the judging is for, in the order it is done."""
