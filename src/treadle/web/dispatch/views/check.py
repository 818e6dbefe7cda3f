"""Checking a combination, letting it go, and what became of it: the release with its paper."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from treadle.errors import BadInput
from treadle.web.dispatch import board, papers
from treadle.web.dispatch.forms import LetGoForm, WantedForm, new_id
from treadle.web.dispatch.models import DispatchRelease
from treadle.web.dispatch.views.shared import (
    COUPLES,
    LETS_GO,
    UnknownUnits,
    check_url,
    language_of,
    named,
    note,
    paper_of,
    pdf_answer,
    person_of,
    units_asked,
    verdict_shown,
)
from treadle.web.people.access import EVERYBODY, allowed
from treadle.web.units.models import Unit
from treadle.words import explain, say


@require_GET
@allowed(*EVERYBODY)
def check(request: HttpRequest) -> HttpResponse:
    """Judge a combination afresh and show what it rests on; without numbers, ask for them."""
    asked = request.GET.get("units", "").strip()[:200]
    if not asked:
        return _ask(request, asked, "")
    try:
        return _checked(request, units_asked(asked))
    except UnknownUnits as unknown:
        wrong = say("dispatch.check.unknown", language_of(request), numbers=", ".join(unknown.numbers))
        return _ask(request, asked, wrong, status=404)


def _ask(request: HttpRequest, asked: str, wrong: str, status: int = 200) -> HttpResponse:
    return render(request, "dispatch/ask.html", {"asked": asked, "wrong": wrong}, status=status)


def _checked(
    request: HttpRequest, units: list[Unit], *, refused: bool = False, form: LetGoForm | None = None, status: int = 200
) -> HttpResponse:
    """Show the verdict of this moment."""
    now = timezone.now()
    context = {**named(units), "refused": refused}
    try:
        verdict = board.verdict_on(units, shop=request.shop, by=person_of(request), at=now)  # type: ignore[attr-defined]
    except BadInput as fault:
        context |= {"fault": explain(fault, language_of(request))}
        return render(request, "dispatch/not_whole.html", context, status=422)
    context |= {
        **verdict_shown(verdict, request, at=now),
        "at": now,
        "not_so": board.not_as_coupled(units),
        "front": units[0].number,
        "form": form or LetGoForm(language=language_of(request), initial={"id": new_id()}),
        "may_let_go": person_of(request).may(*LETS_GO),
        "may_want": person_of(request).may(*COUPLES),
        "release": papers.release_in_force(units) if verdict.may_leave else None,
    }
    return render(request, "dispatch/check.html", context, status=status)


@require_POST
@allowed(*LETS_GO)
def let_go(request: HttpRequest) -> HttpResponse:
    """Let a combination go; refused, the refusal is on record and shown."""
    asked = request.POST.get("units", "")[:200]
    form = LetGoForm(request.POST, language=language_of(request))
    try:
        units = units_asked(asked)
    except UnknownUnits as unknown:
        wrong = say("dispatch.check.unknown", language_of(request), numbers=", ".join(unknown.numbers))
        return _ask(request, asked, wrong, status=422)
    if not units or not form.is_valid():
        return _checked(request, units, form=form, status=422) if units else _ask(request, asked, "", status=422)
    try:
        release = board.let_go(
            units,
            shop=request.shop,  # type: ignore[attr-defined]
            by=person_of(request),
            at=timezone.now(),
            note=form.cleaned_data["note"],
            release_id=form.cleaned_data["id"],
        )
    except board.DispatchRefused:
        return _checked(request, units, refused=True, form=form, status=409)
    except (board.NotAsCoupled, BadInput):
        return _checked(request, units, form=form, status=409)
    return redirect("dispatch:release", pk=release.pk)


@require_POST
@allowed(*COUPLES)
def wanted(request: HttpRequest) -> HttpResponse:
    """Put on record that a combination was wanted and refused; what may leave meanwhile is only shown."""
    form = WantedForm(request.POST)
    if not form.is_valid():
        return _ask(request, "", "", status=422)
    try:
        units = units_asked(form.cleaned_data["units"])
        verdict = board.verdict_on(units, shop=request.shop, by=person_of(request), at=timezone.now())  # type: ignore[attr-defined]
    except (UnknownUnits, BadInput):
        return redirect(f"{reverse('dispatch:check')}?units={form.cleaned_data['units']}")
    coupling = form.cleaned_data["about"] == "coupling"
    if verdict.never if coupling else not verdict.may_leave:
        board.put_refusal_on_record(verdict, coupling=coupling, by=person_of(request))
        note(request, "dispatch.wanted.noted")
    return redirect(check_url(units))


# -- what left


@require_GET
@allowed(*EVERYBODY)
def release(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Show a release as it was sealed."""
    row = get_object_or_404(DispatchRelease.objects.select_related("entered_by", "judged", "seal"), pk=pk)
    paper = papers.release_paper(row, shop=request.shop, language=language_of(request), url=_full(request, row))  # type: ignore[attr-defined]
    return render(request, "dispatch/release.html", {"release": row, "paper": paper})


@require_GET
@allowed(*EVERYBODY)
def release_pdf(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Give a release on paper."""
    from treadle.reports.dispatch_release import pdf  # noqa: PLC0415 - its library loads only when a paper is asked for

    row = get_object_or_404(DispatchRelease.objects.select_related("entered_by", "judged"), pk=pk)
    paper = papers.release_paper(row, shop=request.shop, language=language_of(request), url=_full(request, row))  # type: ignore[attr-defined]
    content = pdf(paper, language_of(request), paper_of(request))
    return pdf_answer(content, f"{'-'.join(row.combination)}-dispatch")


def _full(request: HttpRequest, row: DispatchRelease) -> str:
    return request.build_absolute_uri(reverse("dispatch:release", args=[row.pk]))
