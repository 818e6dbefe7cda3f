"""Papers and pictures of a unit: adding one, and handing one out to people of the shop."""

from __future__ import annotations

from uuid import UUID

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from treadle.errors import BadInput
from treadle.web.people.access import allowed
from treadle.web.units.documents import JPEG, add_document
from treadle.web.units.forms import DocumentForm
from treadle.web.units.models import Document
from treadle.web.units.views.shared import CHANGE, SEE, address, back_to, language_of, note, unit_named


@allowed(*CHANGE)
def documents(request: HttpRequest, number: str) -> HttpResponse:
    """Add a picture or a PDF to a unit."""
    unit = unit_named(number)
    form = DocumentForm(request.POST or None, request.FILES or None, language=language_of(request))
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        try:
            add_document(unit, file, size=file.size, what=form.cleaned_data["what"], by=request.user)  # type: ignore[arg-type]
        except BadInput as refused:
            form.refuse(refused)
        else:
            note(request, "units.documents.added", what=form.cleaned_data["what"])
            return redirect(f"{address('unit', unit)}#documents")
    return render(request, "units/documents.html", {**back_to(request, unit), "form": form})


@allowed(*SEE)
def document(_: HttpRequest, number: str, pk: UUID) -> HttpResponse:
    """Hand out a paper of a unit: a picture to look at, anything else to keep."""
    found = get_object_or_404(Document, pk=pk, unit=unit_named(number))
    ending = "jpg" if found.media_type == JPEG else "pdf"
    answer = FileResponse(
        found.file.open("rb"),
        as_attachment=found.media_type != JPEG,
        filename=f"{found.unit.number} {found.what}.{ending}",
        content_type=found.media_type,
    )
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, no-cache"
    return answer  # type: ignore[return-value]
