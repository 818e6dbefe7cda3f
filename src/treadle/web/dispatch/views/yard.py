"""In the yard: the tag on the dash, and the lead's order to move what may not leave."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from treadle.errors import BadInput
from treadle.sources import cite
from treadle.web.dispatch import board, papers
from treadle.web.dispatch.forms import USUAL_ORDER, OrderForm
from treadle.web.dispatch.views.shared import (
    ORDERS,
    TAGS,
    language_of,
    note,
    paper_of,
    pdf_answer,
    person_of,
    unit_in_fleet,
    warn,
)
from treadle.web.people.access import allowed
from treadle.web.units.couple import combination_of
from treadle.web.units.models import Unit
from treadle.web.units.outlook import outlooks
from treadle.words import say


@require_GET
@allowed(*TAGS)
def tag(request: HttpRequest, number: str) -> HttpResponse:
    """Give the tag for a unit's dash, as it stands at this moment: one on the sheet, or two to cut apart."""
    from treadle.reports.dash_tag import SIZES, pdf  # noqa: PLC0415 - its library loads only when a paper is asked for

    unit, now, person = unit_in_fleet(number), timezone.now(), person_of(request)
    size, paper = request.GET.get("size", SIZES[0]), paper_of(request)
    if size not in SIZES:
        raise Http404(size)
    url = request.build_absolute_uri(reverse("units:unit", args=[unit.number]))
    try:
        verdict = board.verdict_on(combination_of(unit), shop=request.shop, by=person, at=now)  # type: ignore[attr-defined]
    except BadInput as fault:
        warn(request, fault)
        return redirect("units:unit", unit.number)
    made = papers.tag_paper(unit, verdict, by=person, at=now, language=language_of(request), url=url)
    return pdf_answer(pdf(made, language_of(request), paper, size=size), f"{unit.number}-tag")


@allowed(*ORDERS)
def order(request: HttpRequest, number: str) -> HttpResponse:
    """Record the lead's order to move a unit within the yard."""
    unit, language = unit_in_fleet(number), language_of(request)
    form = OrderForm(request.POST or None, language=language, initial={"until": timezone.localtime() + USUAL_ORDER})
    if request.method == "POST" and form.is_valid():
        board.order_move(unit, by=person_of(request), **form.cleaned_data)
        note(request, "dispatch.order.done", number=unit.number)
        return redirect("units:unit", unit.number)
    context = {
        "unit": unit,
        "form": form,
        "outcome": outlooks([unit.pk], language)[unit.pk].outcome,
        "in_force": papers.order_in_force(unit, timezone.now()),
        "cautions": cautions_of(unit, language),
    }
    return render(request, "dispatch/order.html", context, status=422 if form.errors else 200)


def cautions_of(unit: Unit, language: str) -> list[str]:
    """Return what to mind before a unit that may not leave is moved at all."""
    out_of_service = say("dispatch.caution.out_of_service", language, rule=cite("cfr-49-396", "396.9(c)"))
    chocks = say("dispatch.caution.stop", language, number=unit.number)
    return [out_of_service, say("dispatch.caution.yard_only", language), chocks]
