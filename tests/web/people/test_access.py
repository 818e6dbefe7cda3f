"""Guards of pages and of the API: who is let in, and how a refusal is said to a person, to htmx and to a program."""

from __future__ import annotations

import json

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.utils import timezone, translation
from ninja.errors import HttpError
from web.factories import person as engage
from web.routes import every_route

from treadle.web.base.scope import NoShopInScope, shop_in_scope
from treadle.web.people import access
from treadle.web.people.access import allowed, csrf_refused, locked_out, open_to_all, places_for
from treadle.web.people.api_guard import SignedIn
from treadle.web.people.context import address_of, surroundings
from treadle.web.people.middleware import ScopeAndLanguage
from treadle.web.people.models import Role

BACKEND = "django.contrib.auth.backends.ModelBackend"


@allowed(Role.LEAD)
def of_the_lead(request):
    """A page of the lead's."""
    return HttpResponse("here")


def request_of(person=None, path="/somewhere/?q=1", method="get", **headers):
    request = getattr(RequestFactory(headers=headers), method)(path)
    request.user = person or AnonymousUser()
    request.language = "en"
    return request


# -- pages


def test_a_view_for_nobody_is_a_mistake():
    with pytest.raises(ValueError, match="name the roles"):
        allowed()
    with pytest.raises(ValueError, match="name the roles"):
        SignedIn()


def test_a_stranger_is_sent_to_sign_in_and_then_on_to_the_page():
    assert of_the_lead(request_of()).headers["Location"] == "/sign-in/?next=/somewhere/%3Fq%3D1"


def test_a_stranger_who_sends_a_form_is_sent_on_to_the_start_as_the_forms_address_is_no_page():
    assert of_the_lead(request_of(method="post")).headers["Location"] == "/sign-in/?next=/"


def test_a_part_of_a_page_asked_for_by_htmx_takes_the_whole_page_to_sign_in():
    answer = of_the_lead(request_of(**{"HX-Request": "true"}))
    assert answer.status_code == 401
    assert answer.headers["HX-Redirect"].startswith("/sign-in/?next=")


def test_the_lead_is_let_in_and_a_driver_is_not(person):
    assert of_the_lead(request_of(person("lead"))).content == b"here"
    assert of_the_lead(request_of(person("driver", "lead"))).content == b"here"
    with pytest.raises(PermissionDenied):
        of_the_lead(request_of(person("driver")))


def test_a_role_that_ended_opens_nothing(person, in_shop):
    former = person("lead")
    former.roles_held.update(until=timezone.now())
    with pytest.raises(PermissionDenied):
        of_the_lead(request_of(former))


@pytest.mark.parametrize(
    ("who", "status", "slug"),
    [("stranger", 401, "sign_in_needed"), ("driver", 403, "not_for_your_role"), ("lent", 403, "own_password_needed")],
)
def test_a_program_is_refused_in_json(shop, who, status, slug):
    people = {
        "stranger": None,
        "driver": engage(Role.DRIVER, at=shop),
        "lent": engage(Role.LEAD, at=shop, must_change_password=True),
    }
    answer = of_the_lead(request_of(people[who], path="/api/readings"))
    assert answer.status_code == status
    told = json.loads(answer.content)
    assert told["slug"] == slug
    assert told["detail"]


def test_too_many_tries_and_an_old_page_are_told_to_a_program_in_json(db):
    asked = request_of(path="/api/session")
    asked.axes_ip_address = "192.0.2.1"
    told = [locked_out(asked, None, {"username": "r.quill"}), csrf_refused(asked)]
    assert [(one.status_code, json.loads(one.content)["slug"]) for one in told] == [
        (429, "too_many_tries"),
        (403, "page_too_old"),
    ]


def test_being_open_to_all_is_said_of_the_guarded_view_alone():
    def view(request):
        return HttpResponse("here")

    assert open_to_all(view).open_to == frozenset()
    assert not hasattr(view, "open_to")
    assert open_to_all(view)(request_of()).content == b"here"


def test_a_page_that_does_not_open_says_so_in_the_persons_language(browser_of):
    answer = browser_of("driver", language="es").get("/shop/")
    assert answer.status_code == 403
    assert 'lang="es"' in answer.content.decode()


# -- the API's own guard


def test_the_guard_of_an_operation_lets_its_roles_in_and_names_them(person):
    guard = SignedIn(Role.LEAD)
    lead = person("lead")
    assert guard.open_to == {"lead"}
    assert guard(request_of(lead)) == lead
    assert guard(request_of()) is None


@pytest.mark.parametrize(("roles", "lent"), [(("driver",), False), ((), False), (("lead",), True)])
def test_the_guard_of_an_operation_refuses_others_with_a_reason(shop, roles, lent):
    somebody = engage(*roles, at=shop, must_change_password=lent)
    with pytest.raises(HttpError) as refused:
        SignedIn(Role.LEAD)(request_of(somebody))
    assert refused.value.status_code == 403


def test_an_operation_that_writes_needs_the_token_of_the_page(person):
    asked = request_of(person("lead"), method="post")
    asked._dont_enforce_csrf_checks = False
    with pytest.raises(HttpError, match="CSRF"):
        SignedIn(Role.LEAD)(asked)


# -- shop, language and zone of a request


def through(request):
    """Send a request through the middleware and return what was so while it was answered."""
    seen = {}

    def answer(asked):
        seen["zone"], seen["language"] = timezone.get_current_timezone_name(), translation.get_language()
        try:
            seen["shop"] = shop_in_scope()
        except NoShopInScope:
            seen["shop"] = None
        return HttpResponse()

    seen["answer"] = ScopeAndLanguage(answer)(request)
    return seen


def test_a_request_works_in_the_shop_language_and_zone_of_whoever_asks(person, shop):
    seen = through(request_of(person("lead", language="es")))
    assert (seen["shop"], seen["language"], seen["zone"]) == (shop.pk, "es-mx", "America/Denver")
    assert seen["answer"].headers["Content-Language"] == "es"


def test_a_stranger_has_no_shop_and_nothing_stays_set_after_the_answer(shop):
    before = (timezone.get_current_timezone_name(), translation.get_language())
    seen = through(request_of())
    assert (seen["shop"], seen["zone"]) == (None, "UTC")
    assert (timezone.get_current_timezone_name(), translation.get_language()) == before
    with pytest.raises(NoShopInScope):
        shop_in_scope()


# -- what a page knows of its surroundings


def test_a_stranger_is_offered_a_language_and_no_place(db):
    found = surroundings(request_of())
    assert found["language_url"] == "/language/"
    assert not {"places", "person", "find_url", "sign_out_url", "own_pages"} & set(found)


def test_the_places_are_those_of_the_roles_in_the_order_of_the_work(person):
    names = {role: [name for name, _ in places_for(person(role))] for role in Role.values}
    assert names["lead"] == ["units", "walkaround", "bay", "dispatch", "records"]
    assert names["technician"] == ["units", "walkaround", "bay", "dispatch"]
    assert names["dispatcher"] == ["units", "dispatch"]
    assert names["driver"] == ["driver", "units", "walkaround", "dispatch"]
    assert [name for name, _ in places_for(person())] == []


def test_every_place_and_start_of_an_app_in_the_site_map_has_its_page():
    apps = {route.name.partition(":")[0] for route in every_route()}
    everything = {route for _, route, _ in access._PLACES} | {route for _, route in access._HOMES}
    there = {route for route in everything if route.partition(":")[0] in apps}
    assert "units:list" in there
    assert {route for route in there if address_of(route) is None} == set()


def test_the_place_one_is_in_is_marked(browser_of):
    places = browser_of("lead").get("/units/").context["places"]
    assert [(place["name"], place["url"]) for place in places if place["here"]] == [("units", "/units/")]


def test_nothing_of_one_shop_is_seen_while_signed_in_to_another(shop, other_shop):
    engage(Role.TECHNICIAN, at=shop, sign_in="o.teague")
    client = Client()
    client.force_login(engage(Role.LEAD, at=other_shop), backend=BACKEND)
    assert "o.teague" not in client.get("/people/").content.decode()
