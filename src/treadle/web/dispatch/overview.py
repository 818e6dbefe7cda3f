"""The fleet as dispatch sees it: each combination as coupled now, from what was worked out last, never judged here.

The number of queries does not grow with the fleet: everything that keeps anything in is asked for at once, and the
sentences only for the lines that are shown.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Literal, NamedTuple
from uuid import UUID

from django.db.models import ExpressionWrapper, F, IntegerField, Q, Value
from django.db.models.functions import Coalesce

from treadle.assess.verdict import SEVERITY
from treadle.fleet.records import POWER_UNITS
from treadle.reports.wording import capital, place_of
from treadle.web.bay.jobs import OPEN, STARTED
from treadle.web.bay.models import Job, ReCheck
from treadle.web.dispatch.board import NEVER, unseen_keeps_in
from treadle.web.dispatch.models import DispatchRelease
from treadle.web.dispatch.obstacles import Obstacle, obstacles_of, re_checks_open_on
from treadle.web.people.models import Shop
from treadle.web.units.models import Coupling, Unit
from treadle.web.walkaround.models import Standing

RELEASES_SHOWN_FOR = timedelta(days=14)
"""How long ago a release may be to be named on the board (chosen)."""
State = Literal["stays", "goes", "alone"]
WAITS = "waits"
"""The group of what its readings would let go, and something else keeps in."""
_ORDER = (*sorted(SEVERITY, key=lambda outcome: SEVERITY[outcome])[:3], WAITS)


class Seen(NamedTuple):
    """A unit with how it stood when that was last worked out."""

    number: str
    kind: str
    outcome: str
    together: str
    behind: int | None
    """Whether something was entered since."""
    ever: int
    """Whether anything was ever read of it."""


@dataclass(slots=True)
class Line:
    """Units coupled together, from the front, or one alone; whether they may leave, and what keeps them in."""

    units: tuple[Seen, ...]
    outcome: str
    state: State
    group: str
    obstacles: tuple[Obstacle, ...]
    behind: bool

    @property
    def asked(self) -> str:
        """The units as an address names them."""
        return ",".join(unit.number for unit in self.units)


def fleet_lines(shop: Shop, *, at: datetime) -> list[Line]:
    """Return every combination and single unit of the fleet: what may not leave first, worst first; then the rest."""
    blocks = unseen_keeps_in(shop, at)
    kept_in = NEVER | ({"unseen"} if blocks else set())
    held: dict[str, list[Obstacle]] = defaultdict(list)
    for obstacle in obstacles_of(None, shop=shop, at=at):
        held[obstacle.unit].append(obstacle)
    alike: dict[tuple[Any, ...], Line] = {}  # most of a fleet stands like most of it: worked out once for all
    lines = []
    for units in _combinations():
        how = tuple(unit[1:] for unit in units)
        if how not in alike:
            alike[how] = _line(units, kept_in)
        lines.append(_with_obstacles(_like(alike[how], units), held))
    return sorted(lines, key=_place)


def _combinations() -> list[tuple[Seen, ...]]:
    seen = {row.number: row for row in map(Seen._make, _rows())}
    behind: dict[str, str] = {}
    towed = set()
    open_now = Coupling.objects.filter(uncoupled_at=None)
    for ahead, after in open_now.values_list("towing__number", "towed__number"):
        if ahead in seen and after in seen:
            behind[ahead] = after
            towed.add(after)
    lines = []
    for number, first in seen.items():
        if number not in towed:
            line = [first]
            while (after := behind.get(line[-1].number)) is not None:
                line.append(seen[after])
            lines.append(tuple(line))
    return lines


def _rows() -> Iterable[tuple[Any, ...]]:
    """Give every unit of the fleet in the order of `Seen`; what was never worked out is unseen."""
    units = Unit.objects.filter(left_fleet_on=None).order_by()
    return units.values_list(  # type: ignore[no-any-return]
        "number",
        "kind",
        Coalesce("standing__outcome", Value("unseen")),
        Coalesce("standing__together", Value("")),
        _truth(F("standing__behind")),
        _truth(Q(standing__seen_at__isnull=False)),
    )


def _truth(expression: Any) -> ExpressionWrapper:
    """Leave a truth as the database has it, 0 or 1, where thousands would each be converted."""
    return ExpressionWrapper(expression, output_field=IntegerField())


def _line(units: tuple[Seen, ...], kept_in: frozenset[str]) -> Line:
    """Return a line as its readings alone have it."""
    behind = any(unit.behind for unit in units)
    never_read = not all(unit.ever for unit in units)
    outcome = min((unit.outcome for unit in units), key=SEVERITY.__getitem__)
    if not behind:  # what they were together holds for these units alone, so long as nothing changed
        outcome = min((outcome, *(unit.together or outcome for unit in units)), key=SEVERITY.__getitem__)
    by_readings = outcome in kept_in or never_read
    group = outcome if by_readings else WAITS if behind else "goes"
    state: State = "alone" if units[0].kind not in POWER_UNITS else "goes" if group == "goes" else "stays"
    return Line(units, outcome, state, group, (), behind)


def _like(line: Line, units: tuple[Seen, ...]) -> Line:
    return Line(units, line.outcome, line.state, line.group, (), line.behind)


def _with_obstacles(line: Line, held: Mapping[str, Sequence[Obstacle]]) -> Line:
    """Add what keeps a line in besides its readings."""
    if held:
        line.obstacles = tuple(one for unit in line.units for one in held.get(unit.number, ()))
    if line.obstacles and line.group == "goes":
        line.group = WAITS
        line.state = "alone" if line.state == "alone" else "stays"
    return line


def _place(line: Line) -> tuple[int, int, str]:
    return _STATES[line.state], _GROUPS[line.group], line.units[0].number


_STATES = {"stays": 0, "goes": 1, "alone": 2}
_GROUPS = {group: place for place, group in enumerate((*_ORDER, "watch", "good", "goes"))}


# -- what is said of the lines shown


@dataclass(frozen=True, slots=True)
class Why:
    """The finding that holds a unit: what it came to, where, and what it says."""

    outcome: str
    where: str
    says: str
    more: bool
    """Whether there are others."""


@dataclass(slots=True)
class Details:
    """What is known besides of the lines shown, by unit number; releases by the units of the line."""

    why: dict[str, Why] = field(default_factory=dict)
    jobs: dict[str, list[tuple[str, str]]] = field(default_factory=lambda: defaultdict(list))
    """Jobs proposed or accepted and not begun, as number and state."""
    re_checks: dict[str, list[ReCheck]] = field(default_factory=lambda: defaultdict(list))
    releases: dict[tuple[str, ...], tuple[UUID, datetime, str]] = field(default_factory=dict)
    """The last release, as id, moment and name."""


def details_of(lines: Sequence[Line], *, at: datetime, language: str) -> Details:
    """Return why lines are kept in, what is planned for them, what they take along, and when they were let go last."""
    numbers = [unit.number for line in lines for unit in line.units]
    found = Details()
    reasons = Standing.objects.filter(unit__number__in=numbers).values_list("unit__number", "reasons__0", "reasons__1")
    for number, first, second in reasons:
        if first is not None:
            found.why[number] = _why(first, language, more=second is not None)
    waiting = [state for state in OPEN if state not in STARTED]
    jobs = Job.objects.filter(unit__number__in=numbers, state__in=waiting).order_by("number")
    for number, job, state in jobs.values_list("unit__number", "number", "state"):
        found.jobs[number].append((job, state))
    for re_check in re_checks_open_on(numbers):
        found.re_checks[re_check.unit.number].append(re_check)
    found.releases = _last_releases([line.units[0].number for line in lines], since=at - RELEASES_SHOWN_FOR)
    return found


def _why(reason: Mapping[str, Any], language: str, *, more: bool) -> Why:
    where = capital(place_of(reason["unit"], reason["axle"], reason["side"], language))
    return Why(reason["outcome"], where, reason["said"][language], more)


def _last_releases(fronts: Sequence[str], *, since: datetime) -> dict[tuple[str, ...], tuple[UUID, datetime, str]]:
    rows = DispatchRelease.objects.filter(units__number__in=fronts, entered_at__gte=since).order_by("entered_at")
    return {
        tuple(combination): (pk, entered_at, name)
        for combination, pk, entered_at, name in rows.values_list("combination", "pk", "entered_at", "entered_by__name")
    }
