"""Every address of the site, whoever asks: as its view says it is for, and never another shop's (design, section 1).

The addresses come from the resolver, so a new one is tested the moment it exists.
"""

from __future__ import annotations

import html.parser
import json
import re

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import path
from ninja import NinjaAPI
from web.factories import OF_NO_SHOP, ROLES, SENT, crew_of, person, sample, shop, world
from web.routes import Route, every_route

from treadle.web.people.access import allowed, open_to_all
from treadle.web.people.api_guard import SignedIn
from treadle.web.people.models import Role

SIGN_IN = "/sign-in/?next="
BACKEND = "django.contrib.auth.backends.ModelBackend"
ROUTES = [route for route in every_route() if not route.leads_nowhere]
GUARDED = [route for route in ROUTES if route.open_to]
each_route = pytest.mark.parametrize("route", GUARDED, ids=str)


# -- the shops, made once


@pytest.fixture(scope="module")
def shops(django_db_setup, django_db_blocker):
    """A shop with one of each thing in it and the crew of another; all of it goes when the module is done."""
    with django_db_blocker.unblock():
        whole = transaction.atomic()
        whole.__enter__()
        try:
            yield world("Saltgrass Haulage", "K-12"), crew_of(shop("Nine Mile Freight"))
        finally:
            transaction.set_rollback(True)
            whole.__exit__(None, None, None)


@pytest.fixture
def here(shops, db):
    """The shop whose things the addresses name; what a test does to it is undone."""
    return shops[0]


@pytest.fixture
def elsewhere(shops):
    """The people of a shop that has nothing to do with it."""
    return shops[1]


def browser_of(somebody):
    client = Client(raise_request_exception=True)
    if somebody is not None:
        client.force_login(somebody, backend=BACKEND)
    return client


def ask(route, somebody, of):
    """Ask for a route that names things of a shop: a page, or a form sent empty where there is no page."""
    address = route.address({name: sample(route.name, name, of) for name in route.names})
    with transaction.atomic():
        client = browser_of(somebody)
        sent = SENT.get(route.name, {})
        if route.method == "GET":
            answer = client.get(address, sent)
        elif route.method:
            answer = client.generic(route.method, address, data=json.dumps(sent), content_type="application/json")
        else:
            answer = client.get(address)
            if answer.status_code == 405:
                answer = client.post(address, {})
        read_through(answer)
        transaction.set_rollback(True)
    return answer


def read_through(answer):
    """Take in all of an answer, so that a file it comes from is closed."""
    if answer.streaming:
        b"".join(answer.streaming_content)


def sent_to_sign_in(answer):
    return answer.status_code == 302 and answer.headers["Location"].startswith(SIGN_IN)


def let_in(answer):
    return answer.status_code < 500 and answer.status_code not in {401, 403, 404, 405} and not sent_to_sign_in(answer)


# -- what each view says


def test_every_view_says_whom_it_is_for():
    silent = [str(route) for route in ROUTES if route.open_to is None]
    assert silent == [], "Put @allowed(...) or @open_to_all on the view, auth=SignedIn(...) on the operation."


def test_only_the_way_in_is_open_to_strangers():
    open_ones = {route.name for route in ROUTES if route.open_to == frozenset()}
    assert open_ones == {"people:sign_in", "people:sign_out", "people:language", "people:welcome"}


@pytest.mark.parametrize("route", ROUTES, ids=str)
def test_only_roles_that_exist_are_named(route):
    assert route.open_to <= set(ROLES)


# -- who gets where


@each_route
def test_a_stranger_is_asked_to_sign_in(route, here):
    answer = ask(route, None, here)
    if route.is_api:
        assert answer.status_code == 401
        assert answer.headers["Content-Type"].startswith("application/json")
    else:
        assert sent_to_sign_in(answer)


@pytest.mark.parametrize("role", ROLES)
@each_route
def test_a_role_opens_what_it_is_for_and_nothing_else(route, role, here):
    answer = ask(route, here.people[role], here)
    if role in route.open_to:
        assert let_in(answer), f"{answer.status_code} {answer.headers.get('Location', '')}"
    else:
        assert answer.status_code == 403


@each_route
def test_somebody_without_a_role_opens_nothing(route, here):
    assert ask(route, person(at=here.shop), here).status_code == 403


@pytest.mark.parametrize("route", [one for one in GUARDED if set(one.names) - OF_NO_SHOP], ids=str)
def test_what_belongs_to_another_shop_is_not_there(route, here, elsewhere):
    role = next(role for role in (Role.LEAD, *ROLES) if role in route.open_to)
    assert ask(route, elsewhere[role], here).status_code == 404


@each_route
def test_with_a_password_somebody_else_made_only_the_way_to_ones_own_opens(route, here):
    somebody = person(*ROLES, at=here.shop, must_change_password=True)
    answer = ask(route, somebody, here)
    if route.is_api:
        assert answer.status_code == 403
    elif route.with_lent_password:
        assert let_in(answer)
        assert answer.headers.get("Location") != "/me/password/"
    else:
        assert (answer.status_code, answer.headers["Location"]) == (302, "/me/password/")


# -- what every page carries


class Page(html.parser.HTMLParser):
    """What a page has that a strict policy would block, and in which language it says it is."""

    def __init__(self, text):
        super().__init__()
        self.blocked, self.language = [], None
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        self.language = given.get("lang") if tag == "html" else self.language
        self.blocked += [name for name in given if name == "style" or re.match(r"on[a-z]+$", name)]
        runs = tag == "script" and "src" not in given and given.get("type") != "application/json"  # else it is data
        self.blocked += [tag] if tag == "style" or runs else []
        self.blocked += [value for value in given.values() if value and value.lower().startswith("javascript:")]


def test_what_the_policy_would_block_is_found():
    text = '<html lang="es"><p style="x" onclick="y"><script>1</script><style></style><a href="javascript:1"></a>'
    assert Page(text).blocked == ["style", "onclick", "script", "style", "javascript:1"]
    assert Page(text).language == "es"
    assert Page('<script src="a.js"></script><p class="online"><script type="application/json">').blocked == []


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("route", [one for one in ROUTES if not one.is_api], ids=str)
def test_every_page_is_in_the_persons_language_and_asks_nothing_the_policy_blocks(route, language, here):
    somebody = person(*(route.open_to or ()), at=here.shop, language=language) if route.open_to else None
    address = route.address({name: sample(route.name, name, here) for name in route.names})
    client = browser_of(somebody)
    client.cookies["language"] = language
    answer = client.get(address)
    policy = answer.headers["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "default-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.headers["X-Frame-Options"] == "DENY"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    kept = answer.headers["Cache-Control"]
    read_through(answer)
    if not answer.headers.get("Content-Type", "text/html").startswith("text/html"):
        assert "private" in kept  # a picture or a paper may be kept where it is asked after each time
        return
    assert "no-store" in kept
    if answer.status_code == 200:
        page = Page(answer.content.decode())
        assert page.blocked == []
        assert page.language in {
            language,
            None if "<html" not in answer.content.decode() else language,
        }  # a part of a page


# -- that these tests can fail


def nothing(request):
    return HttpResponse()


def test_a_view_that_says_nothing_is_found():
    patterns = [
        path("silent/", nothing, name="silent"),
        path("lead/<uuid:unit>/", allowed(Role.LEAD)(nothing), name="lead"),
        path("all/", open_to_all(nothing), name="all"),
    ]
    found = every_route(patterns)
    assert [route.open_to for route in found] == [None, {"lead"}, frozenset()]
    assert found[1].names == ("unit",)
    assert found[1].address({"unit": 7}) == "/lead/7/"


def test_an_operation_without_a_guard_is_found():
    api = NinjaAPI(urls_namespace="of-a-test", docs_url=None, openapi_url=None)
    api.get("/open")(nothing)
    api.post("/kept", auth=SignedIn("lead"))(nothing)
    found = [route for route in every_route([path("api/", api.urls)]) if not route.leads_nowhere]
    assert [(route.method, route.open_to) for route in found] == [("GET", None), ("POST", {"lead"})]
    assert all(route.is_api for route in found)


def test_an_address_with_something_nobody_made_says_where_to_make_it(here):
    with pytest.raises(LookupError, match=r"SAMPLES .* <gearbox> in the address of bay:gearbox"):
        sample("bay:gearbox", "gearbox", here)


def test_a_role_is_let_in_by_no_refusal():
    assert let_in(HttpResponse(status=400))
    assert not any(let_in(HttpResponse(status=status)) for status in (401, 403, 404, 405, 500))
    assert not let_in(HttpResponse(status=302, headers={"Location": "/sign-in/?next=/"}))


def test_routes_are_told_apart_by_what_they_take():
    assert str(Route("units:list", "units/", None, frozenset({"lead"}))) == "page units:list"
    assert str(Route("api:walk", "api/walk/", "POST", frozenset({"lead"}))) == "POST api:walk"
