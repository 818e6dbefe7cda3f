"""Who pulls what: drop-and-hook over the simulated days, doubles with a dolly, trailers left away for a while."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from random import Random

from demo.carrier import UnitPlan
from demo.people import DISPATCHER
from demo.records import Coupling

_AWAY = 0.45
"""Share of dropped trailers that are left at a customer's. (chosen)"""
_AWAY_DAYS = (math.log(4.0), 1.0)
"""Logarithm of the days away, mean and spread: half within four days, one in a hundred over forty. (chosen)"""
_LONG_AWAY = 0.006
"""Share of those that stay for months. (chosen)"""
_PULL_DAYS = (5, 24)
"""A tractor keeps its trailer for so many days. (chosen)"""
_DOUBLES = 0.7
"""Share of a pup tractor's turns that go out as doubles, where pups and a dolly are free. (chosen)"""
FOR_EVER = 1 << 30


@dataclass(slots=True)
class Yard:
    """Couplings of a pool as they stand and as they were."""

    plans: dict[str, UnitPlan]
    rng: Random
    moment: Callable[[int, int, int], datetime]
    """The moment of a day, an hour and a minute."""
    trains: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """What is coupled behind each tractor, from the front."""
    until: dict[str, int] = field(default_factory=dict)
    away: dict[str, int] = field(default_factory=dict)
    """The day on which a trailer is back from a customer's."""
    parked: dict[str, int] = field(default_factory=dict)
    """The first day on which a unit that stands for work may run again."""
    kept: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Tractors that keep what they pull, or nothing, to the end."""
    couplings: list[Coupling] = field(default_factory=list)
    _open: dict[str, tuple[str, datetime]] = field(default_factory=dict)
    _pulled_by: dict[str, str] = field(default_factory=dict)

    def train(self, tractor: str) -> tuple[str, ...]:
        """Return what is coupled behind a power unit."""
        return self.trains.get(tractor, ())

    def pulled_by(self, towed: str) -> str | None:
        """Return the power unit that pulls a trailer or dolly."""
        return self._pulled_by.get(towed)

    def is_parked(self, number: str, day: int) -> bool:
        """Whether a unit stands for work on a day."""
        return self.parked.get(number, 0) > day

    def is_away(self, number: str, day: int) -> bool:
        """Whether a trailer stands at a customer's."""
        return number not in self._pulled_by and self.away.get(number, 0) > day

    def park(self, number: str, until: int) -> None:
        """Let a unit stand until a day."""
        self.parked[number] = max(self.parked.get(number, 0), until)

    # -- coupling

    def couple(self, tractor: str, train: tuple[str, ...], at: datetime) -> None:
        """Couple a train behind a tractor that pulls nothing."""
        ahead = tractor
        for towed in train:
            self._open[towed] = (ahead, at)
            self._pulled_by[towed] = tractor
            ahead = towed
        self.trains[tractor] = train

    def drop(self, tractor: str, at: datetime) -> tuple[str, ...]:
        """Uncouple all that a tractor pulls; return it."""
        train = self.trains.pop(tractor, ())
        for towed in train:
            ahead, since = self._open.pop(towed)
            del self._pulled_by[towed]
            self.couplings.append(Coupling(ahead, towed, since, at, DISPATCHER))
        return train

    def free(self, number: str, at: datetime) -> None:
        """Uncouple a unit from whatever it pulls or is pulled by."""
        tractor = self.pulled_by(number) or number
        self.drop(tractor, at)

    def open_now(self) -> tuple[Coupling, ...]:
        """Return the couplings not ended."""
        return tuple(Coupling(ahead, towed, since, None, DISPATCHER) for towed, (ahead, since) in self._open.items())

    # -- a morning's changes

    def change(self, tractors: Iterable[UnitPlan], day: int) -> None:
        """Drop what has come to its day, and hook what stands free."""
        for plan in tractors:
            number = plan.number
            if number in self.kept or self.is_parked(number, day):
                continue
            if self.trains.get(number) and self.until.get(number, 0) > day:
                continue
            for towed in self.drop(number, self.moment(day, 5, 0)):
                self._leave(towed, day)
            train = self._choose(plan, day)
            if train:
                self.couple(number, train, self.moment(day, 5, 20))
                self.until[number] = day + self.rng.randint(*_PULL_DAYS)

    def _leave(self, towed: str, day: int) -> None:
        if self.rng.random() < _AWAY:
            days = self.rng.randint(60, 240) if self.rng.random() < _LONG_AWAY else self.rng.lognormvariate(*_AWAY_DAYS)
            self.away[towed] = day + max(int(days), 1)

    def _choose(self, plan: UnitPlan, day: int) -> tuple[str, ...]:
        kept = {number for train in self.kept.values() for number in train}
        free: dict[str, list[str]] = {}
        for number, one in self.plans.items():
            if one.group and number not in self._pulled_by and number not in kept and self._may_go(number, day):
                free.setdefault(one.group, []).append(number)
        pups, dollies = free.get("pup", []), free.get("dolly", [])
        if "pup" in plan.pulls and len(pups) > 1 and dollies and self.rng.random() < _DOUBLES:
            first, second = self.rng.sample(pups, 2)
            return (first, self.rng.choice(dollies), second)
        choice = [number for group in plan.pulls for number in free.get(group, ())]
        return (self.rng.choice(choice),) if choice else ()

    def _may_go(self, number: str, day: int) -> bool:
        return self.parked.get(number, 0) <= day and self.away.get(number, 0) <= day
