"""The decisions of dispatch: what keeps units in, letting them go, coupling, and orders in the yard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from treadle.assess import Assessment
from treadle.errors import BadInput
from treadle.fleet.records import POWER_UNITS
from treadle.fleet.records import WalkAround as Record
from treadle.web.base.seal import seal
from treadle.web.bay.models import ReCheck
from treadle.web.dispatch.models import DispatchRelease, HoldEvent, YardOrder
from treadle.web.dispatch.obstacles import Obstacle, obstacles_of, re_checks_open
from treadle.web.people.models import Person, Role, Shop
from treadle.web.units.couple import combination_of, combinations_of, couple, uncouple
from treadle.web.units.models import Coupling, Unit
from treadle.web.walkaround.judge import (
    DISPATCH_OCCASION,
    judge_as_last_seen,
    keep,
    note_behind,
    work_out_standings,
)
from treadle.web.walkaround.models import Judged, Standing
from treadle.web.walkaround.to_core import policy_of

NEVER = frozenset({"hold", "fix"})
"""Outcomes under which nothing is dispatched, whatever the policy."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a combination may leave now, by its last readings, and what keeps it in."""

    units: tuple[Unit, ...]
    record: Record
    assessment: Assessment
    file: dict[str, Any]
    obstacles: tuple[Obstacle, ...]
    unseen_let_go: bool
    """Whether something is unseen and the shop's policy lets it go all the same."""

    @property
    def may_leave(self) -> bool:
        """Whether nothing keeps it in."""
        return not self.obstacles

    @property
    def never(self) -> bool:
        """Whether one of its units is on hold or fix."""
        return any(one.code in NEVER for one in self.obstacles)


def unseen_keeps_in(shop: Shop, at: datetime) -> bool:
    """Whether the shop's policy of a moment keeps in what is unseen; a shop that did not say keeps it in."""
    day = at.astimezone(ZoneInfo(shop.zone)).date()
    return (policy_of(shop, day).unseen_blocks or {}).get(DISPATCH_OCCASION, True)


def verdict_on(units: Sequence[Unit], *, shop: Shop, by: Person, at: datetime) -> Verdict:
    """Judge a combination for dispatch, by the last readings of every wheel end.

    Parameters
    ----------
    units : sequence of Unit
        From the front.
    shop : Shop
        The shop, whose policy says what an unseen reading means.
    by : Person
        Who asks.
    at : datetime
        The moment, with its zone.

    Raises
    ------
    BadInput
        What is on file of a unit does not make a whole vehicle.
    """
    file, record, assessment = judge_as_last_seen(units, shop, at=at, by=by)
    blocks = unseen_keeps_in(shop, at)
    obstacles = [*_of_outcome(assessment, record, blocks=blocks), *obstacles_of(units, shop=shop, at=at)]
    return Verdict(
        units=tuple(units),
        record=record,
        assessment=assessment,
        file=file,
        obstacles=tuple(obstacles),
        unseen_let_go=assessment.outcome == "unseen" and not blocks,
    )


def _of_outcome(assessment: Assessment, record: Record, *, blocks: bool) -> list[Obstacle]:
    """Return the units kept in by their outcome; one of which nothing was ever read is, whatever the policy."""
    kept_in = NEVER | ({"unseen"} if blocks else set())
    read = {reading.unit for reading in record.readings if reading.kind != "not_seen"}
    found = [
        Obstacle(one.outcome or "unseen", one.number)
        for one in assessment.units
        if one.outcome in kept_in or one.number not in read
    ]
    if not found and assessment.outcome in kept_in:
        found.append(Obstacle(assessment.outcome))
    return found


def re_checks_due(units: Sequence[Unit]) -> list[ReCheck]:
    """Return the re-checks of units that nobody has recorded yet."""
    return re_checks_open(units)


# -- letting go


class DispatchRefused(Exception):
    """A combination was to be let go, or coupled, and something keeps it in; the try is on record."""

    def __init__(self, verdict: Verdict) -> None:
        """Keep what was found."""
        self.verdict = verdict
        super().__init__(", ".join(one.code for one in verdict.obstacles))


class NotAsCoupled(Exception):
    """Units were to be let go that do not stand so on record; `code` says how."""

    def __init__(self, code: str) -> None:
        """Keep what is not so."""
        self.code = code
        super().__init__(code)


def not_as_coupled(units: Sequence[Unit]) -> str:
    """Return why units cannot leave as asked: ``no_power_unit`` or ``coupled_otherwise``; empty where they can."""
    if units[0].kind not in POWER_UNITS:
        return "no_power_unit"
    return "" if [unit.pk for unit in combination_of(units[0])] == [unit.pk for unit in units] else "coupled_otherwise"


def let_go(
    units: Sequence[Unit], *, shop: Shop, by: Person, at: datetime, note: str = "", release_id: UUID | None = None
) -> DispatchRelease:
    """Let a combination go, sealed; or put on record that it was refused.

    Parameters
    ----------
    units : sequence of Unit
        From the front, as they are coupled.
    shop : Shop
        The shop.
    by : Person
        Who lets it go.
    at : datetime
        When, with its zone.
    note : str, optional
        Anything to go with it.
    release_id : UUID, optional
        Made by the page; the same one is taken once.

    Raises
    ------
    DispatchRefused
        Something keeps it in.
    NotAsCoupled
        They are not coupled so.
    """
    known = None if release_id is None else DispatchRelease.objects.filter(pk=release_id).first()
    if known is not None:
        return known  # type: ignore[no-any-return]
    if code := not_as_coupled(units):
        raise NotAsCoupled(code)
    with transaction.atomic():
        verdict = verdict_on(units, shop=shop, by=by, at=at)
        if verdict.may_leave:
            return _let_go(verdict, shop=shop, by=by, at=at, note=note, release_id=release_id)
    _on_record(verdict, HoldEvent.What.DISPATCH_REFUSED, by)
    raise DispatchRefused(verdict)


def _let_go(
    verdict: Verdict, *, shop: Shop, by: Person, at: datetime, note: str, release_id: UUID | None
) -> DispatchRelease:
    judged = keep(Judged.About.DISPATCH, verdict.file, verdict.assessment, verdict.units, shop=shop, by=by)
    combination = [unit.number for unit in verdict.units]
    row = DispatchRelease(
        combination=combination,
        judged=judged,
        outcome=verdict.assessment.outcome,
        policy_said="unseen_let_go" if verdict.unseen_let_go else "",
        note=note,
        entered_by=by,
        entered_at=at,
        entered_zone=shop.zone,
    )
    if release_id is not None:
        row.pk = release_id
    record = {
        "combination": combination,
        "outcome": row.outcome,
        "edition": judged.edition,
        "file": judged.inputs,
        "policy_said": row.policy_said,
        "note": note,
        "released": {"by": by.name, "at": at.isoformat()},
    }
    row.seal = seal("dispatch", row.pk, record, at=at)
    row.save()
    row.units.set(verdict.units)
    return row


def put_refusal_on_record(verdict: Verdict, *, coupling: bool, by: Person) -> None:
    """Put on record that somebody wanted a combination that may not leave, without trying to take it."""
    what = HoldEvent.What.COUPLING_REFUSED if coupling else HoldEvent.What.DISPATCH_REFUSED
    _on_record(verdict, what, by)


# -- coupling


def couple_checked(
    towing: Unit, towed: Unit, *, shop: Shop, by: Person, at: datetime, all_the_same: str = ""
) -> Coupling:
    """Couple two units after judging what they would be together; a held one is refused, and the refusal is on record.

    How each of them stands is worked out anew: what they are together may be worse than either alone.

    Parameters
    ----------
    towing, towed : Unit
        The unit ahead, and the one behind it.
    shop : Shop
        The shop.
    by : Person
        Who couples them.
    at : datetime
        When, with its zone.
    all_the_same : str, optional
        The lead's reason to couple a unit that may not leave, to move it within the yard; that too goes on record.

    Raises
    ------
    DispatchRefused
        One of them may not leave, and no lead gave a reason.
    BadInput
        They cannot be coupled at all.
    """
    together = line_of(towing, towed)
    verdict = verdict_on(together, shop=shop, by=by, at=at)
    if verdict.never and not (all_the_same and by.may(Role.LEAD)):
        _on_record(verdict, HoldEvent.What.COUPLING_REFUSED, by)
        raise DispatchRefused(verdict)
    with transaction.atomic():
        row = couple(towing, towed, at=at, by=by)
        if verdict.never:
            _on_record(verdict, HoldEvent.What.COUPLED_ALL_THE_SAME, by, all_the_same)
        work_out_standings(together, shop=shop, by=by, at=at)
    return row


def line_of(towing: Unit, towed: Unit) -> list[Unit]:
    """Return the whole line there would be, from the front, with one unit coupled behind another."""
    ahead, behind = combinations_of([towing, towed])
    return [*ahead, *behind] if towing.pk not in {unit.pk for unit in behind} else ahead


def uncouple_checked(towed: Unit, *, shop: Shop, by: Person, at: datetime) -> Coupling:
    """Uncouple a unit from the one ahead of it; how those on either side stand is worked out anew.

    Raises
    ------
    BadInput
        It is not coupled, or the moment lies before it was.
    """
    together = combination_of(towed)
    with transaction.atomic():
        row = uncouple(towed, at=at, by=by)
        try:
            with transaction.atomic():
                work_out_standings(together, shop=shop, by=by, at=at)
        except BadInput:  # a unit that is not whole on file can still be left standing
            for unit in together:
                note_behind(unit)
    return row


def _on_record(verdict: Verdict, what: str, by: Person, said: str = "") -> None:
    numbers = [unit.number for unit in verdict.units]
    held = {one.unit for one in verdict.obstacles}
    for unit in verdict.units:
        if unit.number in held or "" in held:
            outcome = next((one.outcome for one in verdict.assessment.units if one.number == unit.number), None)
            HoldEvent(
                unit=unit,
                what=what,
                outcome=outcome or "unseen",
                with_units=[number for number in numbers if number != unit.number],
                said=said,
                entered_by=by,
                entered_zone=by.shop.zone,
            ).save()


# -- in the yard


@transaction.atomic
def order_move(unit: Unit, *, from_place: str, to_place: str, why: str, until: datetime, by: Person) -> YardOrder:
    """Record the lead's order to move a unit that may not leave, within the yard."""
    row = YardOrder(
        unit=unit,
        from_place=from_place,
        to_place=to_place,
        why=why,
        until=until,
        entered_by=by,
        entered_zone=by.shop.zone,
    )
    row.save()
    standing = Standing.objects.filter(unit=unit).first()
    HoldEvent(
        unit=unit,
        what=HoldEvent.What.MOVED,
        outcome="" if standing is None else standing.outcome,
        said=why,
        entered_by=by,
        entered_zone=by.shop.zone,
    ).save()
    return row
