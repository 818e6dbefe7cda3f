"""Who asks, for which shop and in which language, as the middleware put it on the request."""

from __future__ import annotations

from django.http import HttpRequest

from treadle.web.people.models import Person, Shop


def person_of(request: HttpRequest) -> Person:
    """Return who is signed in; a view open to strangers does not ask."""
    assert isinstance(request.user, Person)  # noqa: S101 - the guard of the view saw to it
    return request.user


def shop_of(request: HttpRequest) -> Shop:
    """Return the shop of whoever asks."""
    return request.shop  # type: ignore[attr-defined, no-any-return]


def language_of(request: HttpRequest) -> str:
    """Return the language to answer in."""
    return request.language  # type: ignore[attr-defined, no-any-return]
