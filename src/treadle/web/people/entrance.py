"""Views of the way in and out: signing in and out, the language before that, founding the shop, the start page."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from treadle.web.first_start import close_first_start, token_fits
from treadle.web.people.access import EVERYBODY, allowed, homes_for, open_to_all
from treadle.web.people.context import address_of
from treadle.web.people.forms import SignInForm, WelcomeForm
from treadle.web.people.founding import found_shop
from treadle.web.people.middleware import LANGUAGE_COOKIE
from treadle.web.people.models import Person, Shop
from treadle.words import LANGUAGES

_YEAR = 365 * 24 * 60 * 60
_PERSONS_OWN = "django.contrib.auth.backends.ModelBackend"


@allowed(*EVERYBODY)
@require_GET
def home(request: HttpRequest) -> HttpResponse:
    """Send each person to where their day begins."""
    addresses = (address_of(route) for route in homes_for(request.user))  # type: ignore[arg-type]
    return redirect(next((address for address in addresses if address), reverse("people:own")))


@open_to_all
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Sign in; an empty installation says how to found its shop, and the rest is in the form."""
    after = _safe_next(request)
    if request.user.is_authenticated:
        return redirect(after)
    language: str = request.language  # type: ignore[attr-defined]
    form = SignInForm(request, request.POST or None, language=language)
    if request.method == "POST" and form.is_valid():
        person: Person = form.get_user()  # type: ignore[assignment]
        login(request, person)
        if form.cleaned_data["leave_at_close"]:
            request.session.set_expiry(0)
        return _in_language(redirect(after), person.language)
    found = {"form": form, "next": after, "empty": not Shop.objects.exists()}
    return render(request, "people/sign_in.html", found, status=400 if form.errors else 200)


@open_to_all
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Sign out, whatever role is held or none; the sign-in page keeps the person's language."""
    language: str = request.language  # type: ignore[attr-defined]
    logout(request)
    return _in_language(redirect("people:sign_in"), language)


@open_to_all
@require_POST
def choose_language(request: HttpRequest) -> HttpResponse:
    """Answer in another language from now on: kept with the person, or with the browser of a stranger."""
    language = request.POST.get("language", "")
    if language not in LANGUAGES:
        return HttpResponseBadRequest()
    if request.user.is_authenticated:
        person: Person = request.user  # type: ignore[assignment]
        person.language = language
        person.save(update_fields=["language"])
    return _in_language(redirect(_safe_next(request)), language)


@open_to_all
@sensitive_post_parameters("new_password", "new_password_again", "token")
@require_http_methods(["GET", "POST"])
def welcome(request: HttpRequest) -> HttpResponse:
    """Found the shop of an empty installation; the address that was printed at its start is the only way in."""
    token = request.POST.get("token") or request.GET.get("token", "")
    if Shop.objects.exists():
        return render(request, "people/welcome_refused.html", {"founded": True}, status=403)
    if not token_fits(settings.DATA, token):
        return render(request, "people/welcome_refused.html", {"founded": False}, status=403)
    language: str = request.language  # type: ignore[attr-defined]
    form = WelcomeForm(request.POST or None, language=language, initial={"runs_in": []})
    if request.method == "POST" and form.is_valid():
        entered = form.cleaned_data
        person = found_shop(
            name=entered["name"],
            zone=entered["zone"],
            language=language,
            measure=entered["measure"],
            paper=entered["paper"],
            runs_in=entered["runs_in"],
            lead=entered["lead"],
            sign_in=entered["sign_in"],
            password=entered["new_password"],
            at=timezone.now(),
        )
        close_first_start(settings.DATA)
        login(request, person, backend=_PERSONS_OWN)
        return _in_language(redirect("people:home"), language)
    return render(request, "people/welcome.html", {"form": form, "token": token}, status=400 if form.errors else 200)


def _safe_next(request: HttpRequest) -> str:
    """Return where to go on, if that is a page of ours; else the start."""
    wanted = request.POST.get("next") or request.GET.get("next", "")
    ours = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure())
    return wanted if ours else reverse("people:home")


def _in_language(response: HttpResponse, language: str) -> HttpResponse:
    response.set_cookie(
        LANGUAGE_COOKIE, language, max_age=_YEAR, secure=settings.SESSION_COOKIE_SECURE, httponly=True, samesite="Lax"
    )
    return response
