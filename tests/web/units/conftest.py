"""What the tests of units share: a lead, a day, and units registered from layouts."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import pytest

from treadle.web.people.models import Person
from treadle.web.units.models import FittedPart, Unit
from treadle.web.units.register import register

REGISTERED = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)


@pytest.fixture
def lead(person: Callable[..., Person]) -> Person:
    """The lead of the shop."""
    return person("lead", sign_in="r-quill")


@pytest.fixture
def make(in_shop: UUID, lead: Person) -> Callable[..., Unit]:
    """Register a unit, a three-axle tractor unless told otherwise."""

    def made(number: str = "K-12", **how: Any) -> Unit:
        facts = {"layout": "tractor_3_drum", "built": "2019-03", "runs_in": ["us"], "at": REGISTERED, "by": lead}
        return register(number=number, **(facts | how))

    return made


@pytest.fixture
def fitted(in_shop: UUID) -> Callable[..., FittedPart]:
    """The part fitted now at a place."""

    def found(unit: Unit, axle: int, side: str, slot: str) -> FittedPart:
        return FittedPart.objects.get(unit=unit, axle=axle, side=side, slot=slot, removed_at=None)

    return found
