"""Screens of what a walk came to: the assessment as given, its papers; files handed in, entries set aside."""

from __future__ import annotations

import json
import re
import uuid
from functools import cache
from importlib.resources import files as resources
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_POST

from treadle.errors import BadInput
from treadle.reports.html import html_fragment
from treadle.web.people.access import allowed
from treadle.web.walkaround import enter, files, judge
from treadle.web.walkaround.asking import language_of, person_of, shop_of
from treadle.web.walkaround.forms import FileForm, SettleForm
from treadle.web.walkaround.models import Judged, Photo, SetAside, WalkAround
from treadle.web.walkaround.screen import judged_of
from treadle.web.walkaround.stored import read_back
from treadle.web.walkaround.views import READERS, seen_by
from treadle.words import explain, has, say

PAPERS = ("letter", "a4")
_FONT_FACE = re.compile(r"@font-face \{[^}]*\}\s*")


@require_GET
@allowed(*enter.MAY_WALK_DAILY, *READERS)
def one(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Show what a walk came to, as it was given; one under way says so and leads on."""
    walk = get_object_or_404(WalkAround.objects.filter(seen_by(person_of(request))), pk=pk)
    every = judged_of(walk)
    found: dict[str, Any] = {
        "walk": walk,
        "photos": walk.photos.select_related("unit"),
        "may_walk": _may_work_on(walk, request),
        "papers": PAPERS,
    }
    if every:
        judged = _chosen(every, request.GET.get("of"))
        language = language_of(request)
        record, assessment = read_back(judged)
        article = html_fragment(assessment, record, language, level=1)
        late = judge.arrived_since(judged) if judged is every[0] else 0
        whole = mark_safe(article)  # noqa: S308  # nosec B308, B703 - the core escapes whatever stands in it
        found |= {"judged": judged, "every": every, "article": whole, "late": late}
    return render(request, "walkaround/one.html", found)


def _may_work_on(walk: WalkAround, request: HttpRequest) -> bool:
    roles = enter.MAY_WALK_DAILY if walk.occasion == "daily" else enter.MAY_MEASURE
    return bool(person_of(request).may(*roles))


def _chosen(every: list[Judged], wanted: str | None) -> Judged:
    if not wanted:
        return every[0]
    for judged in every:
        if str(judged.pk) == wanted:
            return judged
    raise Http404


@require_GET
@allowed(*enter.MAY_WALK_DAILY, *READERS)
def report(request: HttpRequest, pk: uuid.UUID, kind: str) -> HttpResponse:
    """Give the assessment as PDF, CSV, XLSX or JSON."""
    walk = get_object_or_404(WalkAround.objects.filter(seen_by(person_of(request))), pk=pk)
    every = judged_of(walk)
    if not every or kind not in _FORMS:
        raise Http404
    judged = _chosen(every, request.GET.get("of"))
    media_type, make = _FORMS[kind]
    content = make(judged, request)
    name = re.sub(r"[^A-Za-z0-9-]+", "-", f"{'-'.join(walk.combination)}-{judged.on.isoformat()}")
    shown = "inline" if kind == "pdf" else "attachment"
    headers = {"Content-Disposition": f'{shown}; filename="{name}.{kind}"'}
    return HttpResponse(content, content_type=media_type, headers=headers)


def _pdf(judged: Judged, request: HttpRequest) -> bytes:
    from treadle.reports.pdf import pdf  # noqa: PLC0415 - its library loads only when a paper is asked for

    paper = request.GET.get("paper") or shop_of(request).paper
    if paper not in PAPERS:
        raise Http404
    record, assessment = read_back(judged)
    return pdf(assessment, record, language_of(request), paper)


def _csv(judged: Judged, request: HttpRequest) -> str:
    from treadle.reports.csv_out import findings_csv  # noqa: PLC0415 - as for the paper

    _, assessment = read_back(judged)
    return "\ufeff" + findings_csv(assessment, language_of(request))


def _xlsx(judged: Judged, request: HttpRequest) -> bytes:
    from treadle.reports.xlsx_out import workbook  # noqa: PLC0415 - as for the paper

    _, assessment = read_back(judged)
    return workbook(assessment, language_of(request))


def _json(judged: Judged, request: HttpRequest) -> str:
    """Return the assessment, or with ``what=inputs`` the walk-around file it was made from, as they were kept."""
    kept = judged.inputs if request.GET.get("what") == "inputs" else judged.result
    return json.dumps(kept, ensure_ascii=False, indent=2)


_FORMS: dict[str, tuple[str, Any]] = {
    "pdf": ("application/pdf", _pdf),
    "csv": ("text/csv; charset=utf-8", _csv),
    "xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", _xlsx),
    "json": ("application/json", _json),
}


@require_GET
@allowed(*enter.MAY_WALK_DAILY, *READERS)
def report_css(request: HttpRequest) -> HttpResponse:  # noqa: ARG001 - a view takes its request
    """Give the style sheet of the report; the page around it brings the typeface."""
    return HttpResponse(_report_css(), content_type="text/css", headers={"Cache-Control": "private, max-age=3600"})


@cache
def _report_css() -> str:
    return _FONT_FACE.sub("", resources("treadle.reports").joinpath("report.css").read_text(encoding="utf-8"))


@require_GET
@allowed(*enter.MAY_WALK_DAILY, *READERS)
def photo(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:  # noqa: ARG001 - a view takes its request
    """Give a picture."""
    row = get_object_or_404(Photo.objects, pk=pk)
    headers = {"Cache-Control": "private, max-age=86400"}
    with row.file.open("rb") as opened:
        return HttpResponse(opened.read(), content_type="image/jpeg", headers=headers)


@require_POST
@allowed(*enter.MAY_WALK_DAILY)
def finish_walk(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Finish a walk and judge it; or judge it once more, with what came in since."""
    walk = get_object_or_404(WalkAround.objects, pk=pk)
    try:
        enter.may_work_on(walk, person_of(request))
        judge.finish(walk, shop=shop_of(request), by=person_of(request), at=timezone.now())
    except BadInput as fault:
        messages.error(request, explain(fault, language_of(request)))
    return redirect("walkaround:one", pk=pk)


@require_POST
@allowed(*enter.MAY_WALK_DAILY)
def abandon_walk(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Give a walk up."""
    walk = get_object_or_404(WalkAround.objects, pk=pk)
    try:
        enter.abandon(walk, by=person_of(request), at=timezone.now())
    except BadInput as fault:
        messages.error(request, explain(fault, language_of(request)))
    return redirect("walkaround:one", pk=pk)


@allowed(*enter.MAY_MEASURE)
def hand_in_file(request: HttpRequest) -> HttpResponse:
    """Take a walk-around file for units of the shop; what is wrong with it is said, and nothing of it is kept."""
    language = language_of(request)
    given = (request.POST, request.FILES) if request.method == "POST" else ()
    form = FileForm(*given, language=language)
    if request.method == "POST" and form.is_valid():
        handed_in = {str(one.name): one.read() for one in form.cleaned_data["handed_in"]}
        try:
            record = files.read_files(handed_in, occasion=form.cleaned_data["occasion"] or None)
            judged = files.hand_in(record, shop=shop_of(request), by=person_of(request), now=timezone.now())
        except BadInput as fault:
            for line in explain(fault, language).split("\n"):
                form.add_error(None, line)
        else:
            return redirect("walkaround:one", pk=judged.walk_around_id)
    return render(request, "walkaround/file.html", {"form": form}, status=422 if form.errors else 200)


@require_GET
@allowed("lead")
def set_aside(request: HttpRequest) -> HttpResponse:
    """List the entries that could not be taken, each whole, with why."""
    rows = SetAside.objects.select_related("sent_by", "settled_by").order_by("settled_at", "-arrived_at")
    language = language_of(request)
    shown = [(row, _why(row, language), json.dumps(row.entry, ensure_ascii=False, indent=1)) for row in rows[:200]]
    waiting = [one for one in shown if one[0].settled_at is None]
    return render(
        request,
        "walkaround/set_aside.html",
        {"waiting": waiting, "settled": [one for one in shown if one[0].settled_at]},
    )


def _why(row: SetAside, language: str) -> str:
    code = f"error.{row.reason}"
    return say(code, language, **{"where": "", **row.details}) if has(code) else row.reason


@require_POST
@allowed("lead")
def settle(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Note what was done about an entry that was set aside; settled once, it stays so."""
    row = get_object_or_404(SetAside.objects, pk=pk)
    form = SettleForm(request.POST)
    if not form.is_valid():
        messages.error(request, say("walkaround.set_aside.say_how", language_of(request)))
    elif row.settled_at is None:
        row.settled_at, row.settled_by, row.settled_how = timezone.now(), person_of(request), form.cleaned_data["how"]
        row.save(update_fields=["settled_at", "settled_by", "settled_how"])
    return redirect("walkaround:set_aside")
