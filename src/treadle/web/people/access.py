"""Who may do what: each view says which roles it is for, and nothing is open by default."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import timedelta
from functools import wraps
from typing import Any

from axes.helpers import get_cool_off
from axes.models import AccessAttempt
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from treadle.web.people.models import Person, Role
from treadle.words import say

View = Callable[..., HttpResponse]

API = "/api/"
EVERYBODY = tuple(Role.values)
"""Every role; still only for people who signed in."""
SHOP = (Role.TECHNICIAN, Role.LEAD)
OFFICE = (Role.LEAD, Role.DISPATCHER, Role.OWNER)
KEEPERS = (Role.LEAD, Role.OWNER)
"""Who keeps the list of people."""

_PLACES = (
    ("driver", "driver:door", (Role.DRIVER,)),
    ("units", "units:list", EVERYBODY),
    ("walkaround", "walkaround:list", (Role.TECHNICIAN, Role.LEAD, Role.DRIVER, Role.INSPECTOR, Role.OWNER)),
    ("bay", "bay:list", (Role.TECHNICIAN, Role.LEAD, Role.OWNER, Role.INSPECTOR)),
    ("dispatch", "dispatch:board", EVERYBODY),
    ("records", "records:list", (Role.LEAD, Role.OWNER, Role.INSPECTOR)),
)
"""The places in the bar: name, route, and for whom."""
_HOMES = (
    ((Role.LEAD, Role.OWNER), "units:list"),
    ((Role.TECHNICIAN,), "walkaround:list"),
    ((Role.DISPATCHER,), "dispatch:board"),
    ((Role.DRIVER,), "driver:door"),
    ((Role.INSPECTOR,), "records:list"),
)
"""Where the day begins, by role; of several roles the first here counts."""


def allowed(*roles: str, with_lent_password: bool = False) -> Callable[[View], View]:
    """Let only people of these roles in.

    A stranger is asked to sign in, and whoever has a password that somebody else made is asked for one of their own;
    a caller of the API is told so in JSON.

    Parameters
    ----------
    *roles : str
        The roles the view is for.
    with_lent_password : bool
        Whether it opens before a person has chosen a password of their own.
    """
    if not roles:
        raise ValueError("name the roles a view is for")

    def guard(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return _ask_to_sign_in(request)
            if request.user.must_change_password and not with_lent_password:
                return _ask_for_own_password(request)
            if not request.user.may(*roles):
                return _not_for_you(request)
            return view(request, *args, **kwargs)

        guarded.open_to = frozenset(map(str, roles))  # type: ignore[attr-defined]
        guarded.with_lent_password = with_lent_password  # type: ignore[attr-defined]
        return guarded

    return guard


def open_to_all(view: View) -> View:
    """Mark a view that needs no sign-in; there are few."""

    @wraps(view)
    def opened(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return view(request, *args, **kwargs)

    opened.open_to = frozenset()  # type: ignore[attr-defined]
    return opened


def places_for(person: Person) -> tuple[tuple[str, str], ...]:
    """Return the places open to a person, as name and route, in the order of the work."""
    return tuple((name, route) for name, route, roles in _PLACES if person.may(*roles))


def homes_for(person: Person) -> tuple[str, ...]:
    """Return the routes where a person's day may begin, the likeliest first."""
    return tuple(route for roles, route in _HOMES if person.may(*roles))


# -- saying no


def _ask_to_sign_in(request: HttpRequest) -> HttpResponse:
    """Send a stranger to the sign-in page; what is no whole page is answered in its own way."""
    if request.path.startswith(API):
        return _refuse_in_json("sign_in_needed", 401, say("people.refused.sign_in_needed", _language_of(request)))
    # A form of a page that nobody is signed in to any more leads back to the start: its address takes no GET.
    asked_for = request.get_full_path() if request.method in ("GET", "HEAD") else "/"
    answer = redirect_to_login(asked_for)
    if request.headers.get("HX-Request"):
        return HttpResponse(status=401, headers={"HX-Redirect": answer.headers["Location"]})
    return answer


def _ask_for_own_password(request: HttpRequest) -> HttpResponse:
    if request.path.startswith(API):
        return _refuse_in_json("own_password_needed", 403, say("people.refused.own_password", _language_of(request)))
    if request.headers.get("HX-Request"):
        return HttpResponse(status=403, headers={"HX-Redirect": reverse("people:password")})
    return redirect("people:password")


def _not_for_you(request: HttpRequest) -> HttpResponse:
    if request.path.startswith(API):
        return _refuse_in_json("not_for_your_role", 403, say("people.refused.not_for_your_role", _language_of(request)))
    raise PermissionDenied


def _refuse_in_json(slug: str, status: int, detail: str) -> JsonResponse:
    return JsonResponse({"slug": slug, "detail": detail}, status=status)


def _language_of(request: HttpRequest) -> str:
    return getattr(request, "language", "en")


def locked_out(
    request: HttpRequest, _original: HttpResponse | None = None, credentials: dict[str, Any] | None = None
) -> HttpResponse:
    """Answer somebody who tried too often: how long it stays so, and who can help."""
    sign_in = (credentials or {}).get("username", "")
    minutes = minutes_locked(request, sign_in)
    if request.path.startswith(API):
        text = say("people.locked.text", _language_of(request), minutes=minutes)
        answer: HttpResponse = _refuse_in_json("too_many_tries", 429, text)
    else:
        answer = render(request, "people/locked_out.html", {"sign_in": sign_in, "minutes": minutes}, status=429)
    answer.headers["Retry-After"] = str(minutes * 60)
    return answer


def minutes_locked(request: HttpRequest, sign_in: str) -> int:
    """Return for how many minutes, begun ones counted whole, this address cannot sign in under a name."""
    address = getattr(request, "axes_ip_address", None)
    last = AccessAttempt.objects.filter(username=sign_in, ip_address=address).order_by("-attempt_time").first()
    since = timezone.now() if last is None else last.attempt_time
    left: timedelta = since + get_cool_off(request) - timezone.now()
    return max(1, math.ceil(left.total_seconds() / 60))


def csrf_refused(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form that did not come from our own page, or whose page is too old."""
    if request.path.startswith(API):
        return _refuse_in_json("page_too_old", 403, say("web.not_taken.text", _language_of(request)))
    return render(request, "403_csrf.html", {"reason": reason}, status=403)
