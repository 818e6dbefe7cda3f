"""A truck to work on, as the fleet has it, and the steps of a job on its drive axle."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from treadle.fleet.records import Unit
from treadle.procedures import Facts, Step, shipped, steps_for

KNOWN = Facts(
    suspension="air",
    mounting="hub_piloted_m22",
    studs=10,
    duals=True,
    drum_fit="outboard",
    adjuster_release="pull_pawl",
)


@pytest.fixture
def truck(clean: dict[str, Any], read: Callable[[dict[str, Any]], Any]) -> Unit:
    """K-12: a steering axle without spring brakes and a drive axle with them."""
    return read(clean).units[0]


@pytest.fixture
def steps(truck: Unit) -> Callable[..., dict[str, Step]]:
    """The steps of a job by their id, in order; everything about the axle known unless said otherwise."""

    def of(procedure: str = "scam_reline", axle: int = 2, facts: Facts = KNOWN, **more: Any) -> dict[str, Step]:
        return {step.id: step for step in steps_for(shipped()[procedure], truck, axle, facts=facts, **more)}

    return of
