"""The API: one door at /api/ for our own pages and for phones without a network; whatever is refused is explained."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from ninja import NinjaAPI
from ninja.errors import AuthenticationError, HttpError, ValidationError

from treadle.errors import TreadleError
from treadle.web.people.access import EVERYBODY, allowed
from treadle.web.walkaround.answers import problem, problems_of, refused
from treadle.web.walkaround.api import router as walkaround
from treadle.words import say

api = NinjaAPI(title="Treadle", version="1", docs_url=None, openapi_url=None, urls_namespace="api")
api.add_router("", walkaround)


@allowed(*EVERYBODY)
def schema(request: HttpRequest) -> JsonResponse:  # noqa: ARG001 - a view takes its request
    """Return the OpenAPI description of every operation."""
    return JsonResponse(api.get_openapi_schema())


def _language(request: HttpRequest) -> str:
    return getattr(request, "language", "en")


@api.exception_handler(AuthenticationError)
def _not_signed_in(request: HttpRequest, _: Any) -> HttpResponse:
    says = say("people.refused.sign_in_needed", _language(request))
    return refused([problem("sign_in_needed", says)], HTTPStatus.UNAUTHORIZED)


@api.exception_handler(HttpError)
def _not_allowed(request: HttpRequest, error: HttpError) -> HttpResponse:
    """Say why a person may not; an answer of ninja's own is about the token of the page, or a body that is no JSON."""
    language = _language(request)
    if error.status_code == HTTPStatus.BAD_REQUEST:
        return refused(
            [problem("not_json_sent", say("walkaround.api.not_json", language))], HTTPStatus.UNPROCESSABLE_ENTITY
        )
    if error.message.startswith("CSRF"):
        return refused([problem("page_too_old", say("web.not_taken.text", language))], error.status_code)
    return refused([problem("not_open", error.message)], error.status_code)


@api.exception_handler(Http404)
def _not_there(request: HttpRequest, _: Any) -> HttpResponse:
    return refused([problem("not_here", say("walkaround.api.not_here", _language(request)))], HTTPStatus.NOT_FOUND)


@api.exception_handler(ValidationError)
def _unreadable(request: HttpRequest, error: ValidationError) -> HttpResponse:
    """Name each field that cannot be so."""
    language = _language(request)
    found = [
        problem(
            "field_unusable",
            say("walkaround.api.field", language, where=where, reason=fault["msg"]),
            where=where,
            details={"reason": fault["msg"]},
        )
        for fault in error.errors
        if (where := ".".join(str(step) for step in fault["loc"][1:] if step != "entry") or "entry")
    ]
    return refused(found, HTTPStatus.UNPROCESSABLE_ENTITY)


@api.exception_handler(TreadleError)
def _not_usable(request: HttpRequest, error: TreadleError) -> HttpResponse:
    return refused(problems_of(error, _language(request)), HTTPStatus.UNPROCESSABLE_ENTITY)
