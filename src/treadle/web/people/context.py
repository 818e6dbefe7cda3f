"""What every page needs to know of its surroundings."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse

from treadle.web.people.access import KEEPERS, places_for
from treadle.web.people.models import Person, Role
from treadle.words import say


def surroundings(request: HttpRequest) -> dict[str, Any]:
    """Return language and zone; for somebody signed in also their name and what is open to them."""
    found: dict[str, Any] = {
        "language": getattr(request, "language", "en"),
        "zone": getattr(request, "zone", "UTC"),
        "language_url": reverse("people:language"),
    }
    person = getattr(request, "user", None)
    if not isinstance(person, Person) or not person.is_authenticated:
        return found
    found |= {"person": person.name, "sign_out_url": reverse("people:sign_out")}
    if person.must_change_password:
        return found  # nothing else opens yet
    places = _places(request, person)
    own = _own_pages(person, found["language"])
    return found | {"places": places, "find_url": address_of("units:list"), "own_pages": own}


def address_of(route: str) -> str | None:
    """Return the address of a route; None where this site has no such page."""
    try:
        return reverse(route)
    except NoReverseMatch:
        return None


def _places(request: HttpRequest, person: Person) -> list[dict[str, Any]]:
    match = getattr(request, "resolver_match", None)
    here = match.namespace if match else None
    addresses = [(name, route, address_of(route)) for name, route in places_for(person)]
    return [
        {"name": name, "url": url, "here": route.partition(":")[0] == here}
        for name, route, url in addresses
        if url is not None
    ]


def _own_pages(person: Person, language: str) -> list[dict[str, str]]:
    """The pages about oneself, the people and the shop, for the menu."""
    pages = [("people:own", say("people.own.title", language))]
    if person.may(*KEEPERS):
        pages.append(("people:list", say("people.list.title", language)))
    if person.may(Role.LEAD):
        pages.append(("people:shop", say("people.shop.title", language)))
    return [{"url": reverse(route), "text": text} for route, text in pages]
