"""Judging what is tested on a whole unit or combination: leak-down, warning, build-up, spring brakes, parking hold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from treadle.assess.comparison import (
    Comparison,
    breach_of,
    circumstances,
    compare,
    words_against,
)
from treadle.assess.conditions import conditions_that_count, weigh_condition
from treadle.assess.facts import unit_facts
from treadle.assess.law import Law
from treadle.assess.limits import Group, Limits, limits_for
from treadle.assess.needs import needed_of, wheel_ends
from treadle.assess.verdict import Verdict
from treadle.assess.weigh import Weighed, weigh_against, weigh_fitted
from treadle.fleet.records import AIR_BRAKES, Reading, Unit
from treadle.measure import Quantity

_MINUTE = 60
_ACTS_AT = frozenset({"low_air_warning", "spring_brake_set", "cut_in", "cut_out"})
_OPTIONAL = ("low_air_warning", "build_up", "air_loss.released", "air_loss.applied", "spring_brake_set")


class UnitTests:
    """Judges the unit readings of one combination; its air tests stand at its power unit for all of it."""

    def __init__(
        self,
        law: Law,
        units: Sequence[Unit],
        readings: Mapping[str, Sequence[Reading]],
        touched: frozenset[str] | None,
    ) -> None:
        self.law, self.units, self.readings = law, units, readings
        self.asked = [unit for unit in units if touched is None or unit.number in touched]
        self.holder = next((unit for unit in units if unit.is_power_unit), units[0])
        self.needs = {unit.number: needed_of(law.scale.occasion, unit) for unit in units}

    def run(self) -> dict[str, Weighed]:
        """Return what the unit readings of every unit came to, and what is missing, by unit number."""
        out = {unit.number: Weighed() for unit in self.units}
        for unit in self.units:
            for reading in self.readings[unit.number]:
                out[unit.number].take(self._one(unit, reading))
            conditions = [reading for reading in self.readings[unit.number] if reading.kind == "condition"]
            for name in conditions_that_count(conditions):
                if name != "none_seen":
                    facts = unit_facts(unit)
                    out[unit.number].take(weigh_condition(self.law, name, unit.runs_in, facts, kind="condition"))
        for unit in self.asked:
            out[unit.number].take(self._abs(unit))
        self._missing(out)
        self._optional(out)
        for weighed in out.values():
            weighed.settled()
        return out

    def _abs(self, unit: Unit) -> Weighed:
        """Judge whether the unit has ABS at all: one fitted on some of its axles has it."""
        ends = [end for _, end in wheel_ends(unit)]
        stated = {end.abs for end in ends}
        word = "fitted" if True in stated else "absent" if stated == {False} else None
        facts = {**unit_facts(unit), "air_braked": any(end.brake in AIR_BRAKES for end in ends)}
        key = (word, unit.runs_in, *facts.values())
        if key not in self.law.abs_of_units:
            limits = self._limits_of("abs", unit, facts)
            self.law.abs_of_units[key] = weigh_fitted(limits, word, self.law.scale, kind="abs")
        return self.law.abs_of_units[key]

    def _one(self, unit: Unit, reading: Reading) -> Weighed:
        match reading.kind:
            case "air_loss":
                return self._air_loss(unit, reading)
            case "build_up":
                return self._build_up(unit, reading)
            case "parking_hold":
                word = str(reading.value)
                return self._weigh(unit, reading, lambda group: words_against(group, word), args={"word": word})
            case kind if kind in _ACTS_AT:
                return self._acts_at(unit, reading)
            case "reservoir_volume" | "brake_force" | "stop_distance":
                return Weighed(not_judged=[(reading.kind, "no_limit_held")])
        return Weighed()

    # -- one test each -----------------------------------------------------------------------------------------

    def _air_loss(self, unit: Unit, reading: Reading) -> Weighed:
        assert reading.start is not None  # noqa: S101 - the file reader asks for it
        assert reading.end is not None  # noqa: S101 - the file reader asks for it
        lost = reading.start.value - reading.end.in_unit(reading.start.unit)
        loss = Quantity(lost, reading.start.unit)
        seconds = reading.seconds or Fraction(0)

        def against(group: Group) -> Comparison:
            given = circumstances(group.rule.window, reading.taken, has_engine=unit.is_power_unit)
            result = compare(group, loss, given)
            if seconds < _MINUTE:
                return Comparison(group, "open", loss, why="under_a_minute")
            if seconds > _MINUTE and result.state == "breach":
                return Comparison(group, "open", loss, why="over_a_minute")
            return result

        return self._weigh(unit, reading, against, args={"state": reading.state, "seconds": float(seconds)})

    def _build_up(self, unit: Unit, reading: Reading) -> Weighed:
        """A build-up over a wider range that is fast enough passes; over a narrower one that is too slow fails."""
        assert reading.start is not None  # noqa: S101 - the file reader asks for it
        assert reading.end is not None  # noqa: S101 - the file reader asks for it
        start, end, taken = reading.start, reading.end, Quantity(reading.seconds or Fraction(0), "s")

        def against(group: Group) -> Comparison:
            result = compare(group, taken)
            if group.rule.over is None:
                return result
            low, high = group.rule.over
            below, above = start.in_unit(low.unit) <= low.value, end.in_unit(high.unit) >= high.value
            if result.state == "within" and not _slow_enough(reading.rpm, group.rule.rpm_at_most):
                return Comparison(group, "open", taken, why="other_speed", missing=("rpm",))
            if result.state == "breach" and reading.rpm is None and group.rule.rpm_at_most is not None:
                return Comparison(group, "open", taken, why="other_speed", missing=("rpm",))
            inside = start.in_unit(low.unit) >= low.value and end.in_unit(high.unit) <= high.value
            if (result.state == "within" and below and above) or (result.state == "breach" and inside):
                return result
            return Comparison(group, "open", taken, why="other_range")

        args = {"start": str(start), "end": str(end)}
        return self._weigh(unit, reading, against, args=args)

    def _acts_at(self, unit: Unit, reading: Reading) -> Weighed:
        pressure = reading.value if isinstance(reading.value, Quantity) else None
        if pressure is None:
            args = {"word": "did_not_act"}
            return self._weigh(unit, reading, _did_not_act, args=args)
        return self._weigh(unit, reading, lambda group: self._acted(unit, group, pressure))

    def _acted(self, unit: Unit, group: Group, pressure: Quantity) -> Comparison:
        if group.rule.words:
            return words_against(group, "acted")
        result = compare(group, pressure)
        if group.rule.least_of_half is None or result.state != "breach" or result.limit is None:
            return result
        other = self._reading_of(unit, group.rule.least_of_half)
        if other is None:
            return Comparison(group, "open", pressure, why="no_cut_out", missing=(group.rule.least_of_half,))
        half = other.in_unit(result.limit.unit) / 2
        if pressure.in_unit(result.limit.unit) < half:
            return result
        return Comparison(
            group,
            "within",
            pressure,
            Quantity(half, result.limit.unit),
            half - pressure.in_unit(result.limit.unit),
            result.basis,
            result.decides,
        )

    def _reading_of(self, unit: Unit, kind: str) -> Quantity | None:
        for reading in self.readings[unit.number]:
            if reading.kind == kind and isinstance(reading.value, Quantity):
                return reading.value
        return None

    # -- what is missing ---------------------------------------------------------------------------------------

    def _missing(self, out: dict[str, Weighed]) -> None:
        """Name each need once: at the power unit of a combination, or at the unit that stands alone."""
        for need in dict.fromkeys(need for unit in self.asked for need in self.needs[unit.number]):
            asking = [unit for unit in self.asked if need in self.needs[unit.number]]
            if self._has(self.holder, need) or all(self._has(unit, need) for unit in asking):
                continue
            if need == "parking_hold" and any(self._has(unit, need) for unit in self.units):
                continue
            at = self.holder if len(self.units) > 1 else asking[0]
            kind, _, state = need.partition(".")
            out[at.number].verdicts.append(self._absent(at, kind, state))

    def _has(self, unit: Unit, need: str) -> bool:
        kind, _, state = need.partition(".")
        return any(
            reading.kind == kind and (not state or reading.state == state) for reading in self.readings[unit.number]
        )

    def _absent(self, unit: Unit, kind: str, state: str) -> Verdict:
        reason = next(
            (
                reading.reason
                for reading in self.readings[unit.number]
                if reading.kind == "not_seen" and reading.what == kind
            ),
            None,
        )
        code = "missing" if reason is None else "not_seen"
        missing = (kind, state) if state else (kind,)
        args: dict[str, Any] = {"kind": kind, "parts": missing[1:]}
        return Verdict(
            outcome="unseen",
            code=code,
            remedy=code,
            missing=missing,
            args=args if reason is None else {**args, "reason": reason},
        )

    def _optional(self, out: dict[str, Weighed]) -> None:
        needed = {need for unit in self.asked for need in self.needs[unit.number]}
        for need in _OPTIONAL:
            if need in needed or self._has(self.holder, need) or not self.holder.is_power_unit:
                continue
            kind, _, state = need.partition(".")
            out[self.holder.number].not_judged.append((kind + (f"_{state}" if state else ""), "optional"))

    # -- shared ------------------------------------------------------------------------------------------------

    def _weigh(self, unit: Unit, reading: Reading, against: Any, args: dict[str, Any] | None = None) -> Weighed:
        need = f"{reading.kind}.{reading.state}" if reading.state else reading.kind
        needed = any(need in self.needs[other.number] for other in self.asked)
        limits = self._limits(unit, reading)
        spoken_of = (reading.kind, reading.state) if reading.state else (reading.kind,)
        return weigh_against(
            limits,
            against,
            self.law.scale,
            kind=reading.kind,
            needed=needed,
            missing=spoken_of,
            args=args,
        )

    def _limits(self, unit: Unit, reading: Reading) -> Limits:
        facts = unit_facts(unit, units_coupled=self._units_coupled(unit, reading))
        return self._limits_of(reading.kind, unit, facts, reading.state)

    def _limits_of(self, kind: str, unit: Unit, facts: dict[str, Any], state: str | None = None) -> Limits:
        """Return what the rules say of one kind of test of a unit, resolved once for all units alike."""
        key = (kind, state, unit.runs_in, *facts.values())
        known = self.law.of_units
        if key not in known:
            rules = self.law.by_quantity.get(kind, ())
            known[key] = limits_for(
                kind,
                [rule for rule in rules if rule.state is None or rule.state == state],
                rule_set=self.law.rule_set,
                on=self.law.on,
                runs_in=unit.runs_in,
                facts=facts,
                part_figures={},
            )
        return known[key]

    def _units_coupled(self, unit: Unit, reading: Reading) -> int | None:
        """A test at the power unit is of the whole combination, one on shop air of the unit alone."""
        if reading.taken.supply == "shop" and not unit.is_power_unit:
            return 1
        if unit.number == self.holder.number:
            return len(self.units)
        return None


def _slow_enough(rpm: int | None, at_most: int | None) -> bool:
    return at_most is None or (rpm is not None and rpm <= at_most)


def _did_not_act(group: Group) -> Comparison:
    """A device that never acted breaches every rule on where it should act, and any that forbids its silence."""
    return words_against(group, "did_not_act") if group.rule.words else breach_of(group)
