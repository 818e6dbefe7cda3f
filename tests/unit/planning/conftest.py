"""Proposing a job from a clean walk-around that one reading or another spoils."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from treadle.assess import assess
from treadle.fleet.records import WalkAround
from treadle.planning import Proposal, propose
from treadle.rules.model import RuleSet

PLACE = ("unit", "axle", "side", "kind", "shoe", "place")


@pytest.fixture
def spoilt(clean: dict[str, Any], read: Callable[..., WalkAround]) -> Callable[..., WalkAround]:
    """The clean walk-around with some readings in place of its own, and its fields changed as wanted."""

    def of(*readings: dict[str, Any], change: Callable[[dict[str, Any]], None] | None = None) -> WalkAround:
        new = [{"unit": "K-12", **one} for one in readings]
        places = [tuple(one.get(name) for name in PLACE) for one in new]
        kept = [one for one in clean["readings"] if tuple(one.get(name) for name in PLACE) not in places]
        clean["readings"] = [*kept, *new]
        if change is not None:
            change(clean)
        return read(clean)

    return of


@pytest.fixture
def proposed(spoilt: Callable[..., WalkAround], rules: RuleSet) -> Callable[..., Proposal]:
    """Propose a job for K-12 from a spoilt walk-around."""

    def of(*readings: dict[str, Any], change: Any = None, unit_number: str = "K-12", **more: Any) -> Proposal:
        walk_around = spoilt(*readings, change=change)
        return propose(assess(walk_around, rules), walk_around, unit_number, **more)

    return of
