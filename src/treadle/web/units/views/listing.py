"""The list of units: by what holds each, found by number, VIN or owner."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Case, Count, IntegerField, Q, QuerySet, Value, When
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone

from treadle.assess.verdict import SEVERITY
from treadle.reports.wording import capital, day_of
from treadle.web.people.access import allowed
from treadle.web.units.models import Unit
from treadle.web.units.outlook import first_reasons, with_outcomes
from treadle.web.units.views.shared import KEEP, SEE, address, language_of
from treadle.words import say, term

A_PAGE = 50
DAYS_NOT_SEEN = (30, 60, 90, 180, 365)
_SHOWN = ("number", "kind", "owner", "left_fleet_on")
_OUTCOMES = sorted(SEVERITY, key=lambda outcome: SEVERITY[outcome])


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list is narrowed to."""

    q: str = ""
    kind: str = ""
    days: int = 0
    left: bool = False

    @classmethod
    def of(cls, query: QueryDict) -> Asked:
        """Read it from an address; what is not known there narrows nothing."""
        kind, days = query.get("kind", ""), query.get("days", "")
        return cls(
            query.get("q", "").strip()[:60],
            kind if kind in Unit.Kind.values else "",
            int(days) if days.isdecimal() and int(days) in DAYS_NOT_SEEN else 0,
            query.get("left") == "1",
        )

    @property
    def narrows(self) -> bool:
        """Whether it leaves anything out that is in the fleet."""
        return bool(self.q or self.kind or self.days)


@allowed(*SEE)
def units(request: HttpRequest) -> HttpResponse:
    """Show the units; a number typed in full leads straight to its page."""
    asked = Asked.of(request.GET)
    only = Unit.objects.filter(number__iexact=asked.q).first() if asked.q and not request.htmx else None  # type: ignore[attr-defined]
    if only is not None and request.GET.get("stay") != "1":
        return redirect("units:unit", only.number)
    context = _context(request, asked)
    template = "units/list_rows.html" if request.htmx else "units/list.html"  # type: ignore[attr-defined]
    return render(request, template, context)


def _context(request: HttpRequest, asked: Asked) -> dict[str, Any]:
    language, found = language_of(request), _found(asked)
    counts = {row["outcome"]: row["units"] for row in found.values("outcome").annotate(units=Count("pk")).order_by()}
    page = _Counted(found.annotate(worst_first=_worst_first()).order_by("worst_first", "number").only(*_SHOWN), counts)
    shown = page.get_page(request.GET.get("page"))
    query = request.GET.copy()
    query.pop("page", None)
    return {
        "asked": asked,
        "groups": _groups(shown, counts, language),
        "page": shown,
        "query": f"{query.urlencode()}&" if query else "",
        "total": page.count,
        "kinds": [(kind, capital(say(f"units.kind_many.{kind}", language))) for kind in Unit.Kind.values],
        "days": DAYS_NOT_SEEN,
        "may_register": request.user.may(*KEEP),  # type: ignore[union-attr]
    }


def _found(asked: Asked) -> QuerySet[Any]:
    rows = with_outcomes(Unit.objects.filter(left_fleet_on__isnull=not asked.left))
    if asked.q:
        rows = rows.filter(Q(number__icontains=asked.q) | Q(vin__icontains=asked.q) | Q(owner__icontains=asked.q))
    if asked.kind:
        rows = rows.filter(kind=asked.kind)
    if asked.days:
        rows = rows.filter(Q(seen_at=None) | Q(seen_at__lt=timezone.now() - timedelta(days=asked.days)))
    return rows


def _worst_first() -> Case:
    whens = [When(outcome=outcome, then=Value(place)) for place, outcome in enumerate(_OUTCOMES)]
    return Case(*whens, default=Value(len(whens)), output_field=IntegerField())


class _Counted(Paginator):  # type: ignore[type-arg]
    """Pages of units whose number is known from the counts by outcome."""

    def __init__(self, rows: QuerySet[Any], counts: dict[str, int]) -> None:
        super().__init__(rows, A_PAGE)
        self._units = sum(counts.values())

    @property
    def count(self) -> int:  # type: ignore[override]
        return self._units


def _groups(page: Page[Any], counts: dict[str, int], language: str) -> list[dict[str, Any]]:
    """Return the rows of a page by outcome, worst first, every sentence and day written out."""
    rows = list(page.object_list)
    known = first_reasons([unit.pk for unit in rows], language)
    groups: dict[str, dict[str, Any]] = {}
    for unit in rows:
        group = groups.setdefault(unit.outcome, {"outcome": unit.outcome, "count": counts[unit.outcome], "rows": []})
        why, more = known.get(unit.pk, (None, 0))
        group["rows"].append(
            {
                "url": address("unit", unit),
                "number": unit.number,
                "kind": term(unit.kind, language),
                "owner": unit.owner,
                "why": why,
                "more": say("units.list.more", language, count=more) if more else "",
                "seen": _seen(unit, language),
            }
        )
    return list(groups.values())


def _seen(unit: Any, language: str) -> str:
    if unit.left_fleet_on is not None:
        return say("units.list.left_on", language, day=day_of(unit.left_fleet_on, language))
    if unit.seen_at is None:
        return say("units.list.never_seen", language)
    return say("units.list.seen", language, day=day_of(timezone.localtime(unit.seen_at).date(), language))
