"""How units stand: a higher app works it out and answers here; the units' pages ask and know nothing of who answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Protocol
from uuid import UUID

from django.db.models import CharField, DateTimeField, QuerySet, Value

from treadle.reports.plan_view import Ends


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that was found: its outcome, where, and what it says."""

    outcome: str
    where: str
    says: str


@dataclass(frozen=True, slots=True)
class Outlook:
    """How one unit stands; nobody has looked until somebody says otherwise."""

    outcome: str = "unseen"
    seen_at: datetime | None = None
    reasons: tuple[Reason, ...] = ()
    """Why, what decided the unit's outcome first."""
    ends: Ends = field(default_factory=dict)
    joints: Mapping[int, str] = field(default_factory=dict)
    """Axle to the outcome of what its two ends are together."""
    judged_on: date | None = None
    behind: bool = False
    """Whether something was entered since it was worked out."""


NOBODY_LOOKED = Outlook()


class Provider(Protocol):
    """What a higher app offers."""

    def annotate(self, units: QuerySet[Any]) -> QuerySet[Any]:
        """Add `outcome` and `seen_at` to a query of units, so that lists are sorted where the rows lie."""

    def of(self, ids: Sequence[UUID], language: str) -> Mapping[UUID, Outlook]:
        """Return how units stand; one that was never worked out is left out."""

    def first_reasons(self, ids: Sequence[UUID], language: str) -> Mapping[UUID, tuple[Reason, int]]:
        """Return the first reason of each unit that has any, and how many more there are: what a list shows."""

    def tags_confirmed(self, unit: UUID) -> datetime | None:
        """Return when the tags of all that is fitted now were read and agreed; None where not all were."""

    def changed(self, unit: Any) -> None:
        """Note that what is on record of a unit changed, so that how it stands is worked out anew."""


class _Nobody:
    """Stands in while no app has offered: everything is unseen."""

    def annotate(self, units: QuerySet[Any]) -> QuerySet[Any]:
        return units.annotate(  # type: ignore[no-any-return]
            outcome=Value("unseen", output_field=CharField()), seen_at=Value(None, output_field=DateTimeField())
        )

    def of(self, ids: Sequence[UUID], language: str) -> Mapping[UUID, Outlook]:  # noqa: ARG002 - as the protocol has it
        return {}

    def first_reasons(
        self,
        ids: Sequence[UUID],  # noqa: ARG002 - as the protocol has it
        language: str,  # noqa: ARG002 - as the protocol has it
    ) -> Mapping[UUID, tuple[Reason, int]]:
        return {}

    def tags_confirmed(self, unit: UUID) -> datetime | None:  # noqa: ARG002 - as the protocol has it
        return None

    def changed(self, unit: Any) -> None:
        pass


_provider: Provider = _Nobody()


def provide(provider: Provider) -> None:
    """Answer from now on through this provider; called once, when the higher app is ready."""
    global _provider  # noqa: PLW0603 - one slot, filled as the apps start
    _provider = provider


def with_outcomes(units: QuerySet[Any]) -> QuerySet[Any]:
    """Return a query of units with `outcome` and `seen_at`."""
    return _provider.annotate(units)


def outlooks(ids: Sequence[UUID], language: str) -> Mapping[UUID, Outlook]:
    """Return how each of some units stands."""
    known = _provider.of(ids, language)
    return {pk: known.get(pk, NOBODY_LOOKED) for pk in ids}


def first_reasons(ids: Sequence[UUID], language: str) -> Mapping[UUID, tuple[Reason, int]]:
    """Return the first reason of each unit that has any, and how many more there are."""
    return _provider.first_reasons(ids, language)


def tags_confirmed(unit: UUID) -> datetime | None:
    """Return when the tags of all chambers and adjusters fitted now were read and agreed; None where not all were."""
    return _provider.tags_confirmed(unit)


def changed(unit: Any) -> None:
    """Say that what is on record of a unit changed: how it stands is worked out anew."""
    _provider.changed(unit)
