"""Two shops, people of every role in them, and a client signed in as each: fixtures of the web and browser tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from uuid import UUID

import pytest
from django.test import Client

from treadle.web.base.scope import shop_scope
from treadle.web.people.models import Person, RoleHeld, Shop

BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def shop(db: None) -> Shop:
    """A shop of an invented carrier."""
    return Shop.objects.create(name="Saltgrass Haulage", zone="America/Denver", runs_in=["us"])


@pytest.fixture
def other_shop(db: None) -> Shop:
    """A shop that has nothing to do with the first."""
    return Shop.objects.create(name="Nine Mile Freight", zone="America/Boise", runs_in=["us"])


@pytest.fixture
def in_shop(shop: Shop) -> Iterator[UUID]:
    """Work for the first shop as long as the test runs."""
    with shop_scope(shop.pk):
        yield shop.pk


@pytest.fixture
def person(shop: Shop) -> Callable[..., Person]:
    """Engage somebody with these roles, at the first shop unless told otherwise."""

    def engage(*roles: str, at: Shop = shop, sign_in: str = "", language: str = "en") -> Person:
        name = sign_in or f"{'-'.join(roles) or 'nobody'}-{Person.across_shops.count() + 1}"
        made = Person(shop=at, sign_in=name, name=name.replace("-", " ").title(), language=language)
        made.set_password("chock-the-wheels-first")
        made.save()
        with shop_scope(at.pk):
            for role in roles:
                RoleHeld.objects.create(shop=at, person=made, role=role)
        return made

    return engage


@pytest.fixture
def browser_of(person: Callable[..., Person]) -> Callable[..., Client]:
    """A browser in which somebody with these roles is signed in."""

    def signed_in(*roles: str, **how: object) -> Client:
        client = Client()
        client.force_login(person(*roles, **how), backend=BACKEND)
        return client

    return signed_in
