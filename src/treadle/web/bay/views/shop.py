"""The lead's own pages of the bay: the places to work, and the torque wrenches and gauges with their calibration."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from treadle.web.bay.forms import BayForm, CalibrationForm, ToolForm
from treadle.web.bay.models import Bay, Tool
from treadle.web.bay.views.shared import KEEP, language_of, note
from treadle.web.people.access import allowed


@allowed(*KEEP)
def places(request: HttpRequest) -> HttpResponse:
    """Show bays and tools, and take a new one of either."""
    act, language = request.POST.get("act", ""), language_of(request)
    bay = BayForm(request.POST if act == "bay" else None, language=language)
    tool = ToolForm(
        request.POST if act == "tool" else None, language=language, initial={"kind": Tool.Kind.TORQUE_WRENCH}
    )
    if act == "bay" and bay.is_valid():
        Bay(name=bay.cleaned_data["name"]).save()
        note(request, "bay.done.bay")
        return redirect("bay:places")
    if act == "tool" and tool.is_valid():
        Tool(**tool.cleaned_data).save()
        note(request, "bay.done.tool")
        return redirect("bay:places")
    found = {"bay_form": bay, "tool_form": tool, **_there()}
    return render(request, "bay/places.html", found, status=422 if bay.errors or tool.errors else 200)


def _there() -> dict[str, Any]:
    today = timezone.localdate()
    tools = [
        {"row": tool, "overdue": tool.calibration_due_on is not None and tool.calibration_due_on < today}
        for tool in Tool.objects.filter(retired_at=None).order_by("kind", "number")
    ]
    return {"bays": Bay.objects.filter(closed_at=None).order_by("name"), "tools": tools}


@require_POST
@allowed(*KEEP)
def close_bay(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Take a bay out of use."""
    row = get_object_or_404(Bay.objects, pk=pk)
    row.closed_at = row.closed_at or timezone.now()
    row.save(update_fields=["closed_at"])
    note(request, "bay.done.bay_closed", name=row.name)
    return redirect("bay:places")


@allowed(*KEEP)
def tool(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Record a tool's calibration."""
    row = get_object_or_404(Tool.objects.filter(retired_at=None), pk=pk)
    form = CalibrationForm(request.POST or None, language=language_of(request))
    if request.method == "POST" and form.is_valid():
        row.calibrated_on = form.cleaned_data["calibrated_on"]
        row.calibration_due_on = form.cleaned_data["calibration_due_on"]
        row.save(update_fields=["calibrated_on", "calibration_due_on"])
        note(request, "bay.done.calibrated", number=row.number)
        return redirect("bay:places")
    found = {"row": row, "form": form, "history": row.history.order_by("-history_date")}
    return render(request, "bay/tool.html", found, status=422 if form.errors else 200)


@require_POST
@allowed(*KEEP)
def retire(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Take a tool out of use; what was tightened with it stays on record."""
    row = get_object_or_404(Tool.objects, pk=pk)
    row.retired_at = row.retired_at or timezone.now()
    row.save(update_fields=["retired_at"])
    note(request, "bay.done.retired", number=row.number)
    return redirect("bay:places")
