"""The same access for callers of the API: a session, a role, and a password of one's own; refusals are JSON."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from ninja.errors import HttpError
from ninja.security import APIKeyCookie

from treadle.web.people.models import Person
from treadle.words import say


class SignedIn(APIKeyCookie):
    """Guard of an operation, `auth=SignedIn("technician", "lead")`: 401 for a stranger, 403 for any other role.

    A request that may write needs the CSRF token, as a form does.
    """

    param_name = settings.SESSION_COOKIE_NAME

    def __init__(self, *roles: str) -> None:
        if not roles:
            raise ValueError("name the roles an operation is for")
        self.open_to = frozenset(map(str, roles))
        super().__init__(csrf=True)

    def __call__(self, request: HttpRequest) -> Any:
        """Return the person, or None for a stranger, who is told so before the token is asked for."""
        if not request.user.is_authenticated:
            return None
        return super().__call__(request)

    def authenticate(self, request: HttpRequest, key: str | None) -> Person | None:  # noqa: ARG002 - ninja's signature
        """Return the person, if they may."""
        person: Person = request.user  # type: ignore[assignment]
        language = getattr(request, "language", "en")
        if person.must_change_password:
            raise HttpError(403, say("people.refused.own_password", language))
        if not person.may(*self.open_to):
            raise HttpError(403, say("people.refused.not_for_your_role", language))
        return person
