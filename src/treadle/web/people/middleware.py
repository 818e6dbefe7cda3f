"""Each request works for one shop, in one language and zone: those of the person who asks."""

from __future__ import annotations

from collections.abc import Callable
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.utils import timezone, translation

from treadle.web.base.scope import shop_scope
from treadle.words import LANGUAGES

LANGUAGE_COOKIE = "language"
UTC = "UTC"
_SPOKEN = {"en": "en", "es": "es-mx"}
"""Our languages as Django knows them: its own sentences come from there."""


class ScopeAndLanguage:
    """Puts the person's shop in scope and says which language to answer in.

    What is answered is of this moment and for this person: the browser keeps no copy, unless the answer says otherwise
    itself.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer in the person's shop, language and zone; a stranger has no shop."""
        person = request.user
        if person.is_authenticated:
            shop, language, zone = person.shop, person.language, person.shop.zone
        else:
            shop, language, zone = None, _asked_for(request), UTC
        request.shop = shop  # type: ignore[attr-defined]
        request.language = language  # type: ignore[attr-defined]
        request.zone = zone  # type: ignore[attr-defined]
        scope = shop_scope(None if shop is None else shop.pk)
        with scope, translation.override(_SPOKEN[language]), timezone.override(ZoneInfo(zone)):
            response = self.get_response(request)
        response.headers.setdefault("Content-Language", language)
        return response


def _asked_for(request: HttpRequest) -> str:
    """Return the language of somebody not signed in: chosen on the sign-in page, else the browser's first we speak."""
    chosen = request.COOKIES.get(LANGUAGE_COOKIE, "")
    if chosen in LANGUAGES:
        return chosen
    wanted = (part.split(";")[0].strip()[:2].lower() for part in request.headers.get("Accept-Language", "").split(","))
    return next((language for language in wanted if language in LANGUAGES), LANGUAGES[0])
