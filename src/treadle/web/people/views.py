"""Views of the people of a shop: the list, one person, roles, qualifications; and what each settles for themselves."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from treadle.web.people import crew
from treadle.web.people.access import EVERYBODY, KEEPERS, allowed
from treadle.web.people.forms import AS_SHOP, OwnForm, PasswordForm, PersonForm, QualificationForm, RoleForm
from treadle.web.people.models import Person, Qualification, RoleHeld, Shop
from treadle.web.people.refusal import Refused
from treadle.words import say

FORM = ("GET", "POST")


def _language(request: HttpRequest) -> str:
    return request.language  # type: ignore[attr-defined, no-any-return]


def _me(request: HttpRequest) -> Person:
    return request.user  # type: ignore[return-value]


def _shop(request: HttpRequest) -> Shop:
    return request.shop  # type: ignore[attr-defined, no-any-return]


def _form_status(form: Any) -> int:
    return 400 if form.errors else 200


# -- everybody for themselves


@allowed(*EVERYBODY)
@require_http_methods(FORM)
def own(request: HttpRequest) -> HttpResponse:
    """Show and change a person's own settings."""
    person, language = _me(request), _language(request)
    beginning = {"speaks": person.language, "measure": person.measure or AS_SHOP}
    form = OwnForm(request.POST or None, initial=beginning, language=language, shop=_shop(request))
    if request.method == "POST" and form.is_valid():
        person.language, person.measure = form.cleaned_data["speaks"], form.cleaned_data["measure"]
        person.save(update_fields=["language", "measure"])
        messages.success(request, say("people.done.own", person.language))
        return redirect("people:own")
    held = person.roles_held.filter(until=None)
    qualifications = person.qualifications.all()
    found = {"form": form, "me": person, "held": held, "qualifications": qualifications, "today": timezone.localdate()}
    return render(request, "people/own.html", found, status=_form_status(form))


@allowed(*EVERYBODY, with_lent_password=True)
@sensitive_post_parameters()
@require_http_methods(FORM)
def password(request: HttpRequest) -> HttpResponse:
    """Let a person choose a password; the other sessions under the old one end."""
    person, language = _me(request), _language(request)
    form = PasswordForm(request.POST or None, language=language, person=person)
    lent = person.must_change_password
    if request.method == "POST" and form.is_valid():
        crew.choose_password(person, form.cleaned_data["new_password"])
        update_session_auth_hash(request, person)
        messages.success(request, say("people.done.password", language))
        return redirect("people:home" if lent else "people:own")
    return render(request, "people/password.html", {"form": form, "lent": lent}, status=_form_status(form))


# -- the list


@allowed(*KEEPERS)
@require_GET
def people(request: HttpRequest) -> HttpResponse:
    """List who works here and who did."""
    now_held = Prefetch("roles_held", RoleHeld.objects.filter(until=None), to_attr="held")
    everybody = list(Person.objects.prefetch_related(now_held, "qualifications"))
    found = {
        "here": [person for person in everybody if person.is_active],
        "gone": [person for person in everybody if not person.is_active],
        "today": timezone.localdate(),
    }
    return render(request, "people/list.html", found)


@allowed(*KEEPERS)
@require_http_methods(FORM)
def add(request: HttpRequest) -> HttpResponse:
    """Take somebody on."""
    language = _language(request)
    form = PersonForm(request.POST or None, language=language, initial={"speaks": _shop(request).language})
    if request.method == "POST" and form.is_valid():
        entered = form.cleaned_data
        try:
            person, lent = crew.take_on(
                _shop(request),
                name=entered["name"],
                sign_in=entered["sign_in"],
                language=entered["speaks"],
                roles=entered["roles"],
                by=_me(request),
                at=timezone.now(),
            )
        except Refused as taken:  # in the moment since the form looked
            form.add_error("sign_in", taken.said(language))
        else:
            return render(request, "people/lent_password.html", {"of": person, "lent": lent, "is_new": True})
    return render(request, "people/add.html", {"form": form}, status=_form_status(form))


@allowed(*KEEPERS)
@require_GET
def one(request: HttpRequest, person: UUID) -> HttpResponse:
    """Show one person: roles now and before, qualifications, sign-in."""
    return _show(request, get_object_or_404(Person.objects, pk=person))


def _show(request: HttpRequest, person: Person, *, refused: Refused | None = None) -> HttpResponse:
    language = _language(request)
    held = list(person.roles_held.filter(until=None).select_related("given_by"))
    found = {
        "of": person,
        "is_me": person == _me(request),
        "held": held,
        "ended": person.roles_held.exclude(until=None).select_related("given_by", "ended_by").order_by("-until"),
        "role_form": RoleForm(language=language, held={one.role for one in held}),
        "qualifications": person.qualifications.select_related("recorded_by"),
        "today": timezone.localdate(),
        "refused": None if refused is None else refused.said(language),
    }
    return render(request, "people/person.html", found, status=200 if refused is None else 409)


# -- roles, password, leaving


@allowed(*KEEPERS)
@require_POST
def give_role(request: HttpRequest, person: UUID) -> HttpResponse:
    """Give a role."""
    of = get_object_or_404(Person.objects, pk=person)
    form = RoleForm(request.POST, language=_language(request))
    try:
        if not form.is_valid():
            raise Refused("people.refused.no_such_role")
        crew.give_role(of, form.cleaned_data["role"], by=_me(request), at=timezone.now())
    except Refused as refused:
        return _show(request, of, refused=refused)
    return redirect("people:one", person=of.pk)


@allowed(*KEEPERS)
@require_POST
def end_role(request: HttpRequest, held: UUID) -> HttpResponse:
    """End a role."""
    row = get_object_or_404(RoleHeld.objects.select_related("person"), pk=held)
    try:
        crew.end_role(row, by=_me(request), at=timezone.now())
    except Refused as refused:
        return _show(request, row.person, refused=refused)
    return redirect("people:one", person=row.person_id) if _still_keeper(request) else redirect("people:home")


@allowed(*KEEPERS)
@require_http_methods(FORM)
def reset_password(request: HttpRequest, person: UUID) -> HttpResponse:
    """Make a password to hand over to somebody who cannot sign in; one's own is changed elsewhere."""
    of = get_object_or_404(Person.objects, pk=person, is_active=True)
    if of == _me(request):
        return redirect("people:password")
    if request.method == "GET":
        return render(request, "people/reset_password.html", {"of": of})
    return render(request, "people/lent_password.html", {"of": of, "lent": crew.lend_password(of), "is_new": False})


@allowed(*KEEPERS)
@require_http_methods(FORM)
def let_go(request: HttpRequest, person: UUID) -> HttpResponse:
    """Ask once, then end a person's roles and close their sign-in."""
    of = get_object_or_404(Person.objects, pk=person, is_active=True)
    if request.method == "GET":
        return render(request, "people/let_go.html", {"of": of, "is_me": of == _me(request)})
    try:
        crew.let_go(of, by=_me(request), at=timezone.now())
    except Refused as refused:
        return _show(request, of, refused=refused)
    messages.success(request, say("people.done.let_go", _language(request), name=of.name))
    return redirect("people:home" if of == _me(request) else "people:list")


@allowed(*KEEPERS)
@require_POST
def take_back(request: HttpRequest, person: UUID) -> HttpResponse:
    """Open the sign-in of somebody who came back."""
    of = get_object_or_404(Person.objects, pk=person)
    if of.is_active:
        return redirect("people:one", person=of.pk)
    return render(request, "people/lent_password.html", {"of": of, "lent": crew.take_back(of), "is_new": False})


def _still_keeper(request: HttpRequest) -> bool:
    """Whether the person may still look after people: they may just have ended a role of their own."""
    return bool(RoleHeld.objects.filter(person=_me(request), until=None, role__in=KEEPERS).exists())


# -- qualifications


@allowed(*KEEPERS)
@require_http_methods(FORM)
def qualify(request: HttpRequest, person: UUID) -> HttpResponse:
    """Record what qualifies a person."""
    of = get_object_or_404(Person.objects, pk=person)
    return _qualification(request, Qualification(person=of, recorded_by=_me(request)))


@allowed(*KEEPERS)
@require_http_methods(FORM)
def correct_qualification(request: HttpRequest, qualification: UUID) -> HttpResponse:
    """Put right a qualification, or say that it ended; what it said before is kept."""
    row = get_object_or_404(Qualification.objects.select_related("person"), pk=qualification)
    return _qualification(request, row)


def _qualification(request: HttpRequest, row: Qualification) -> HttpResponse:
    is_new = row._state.adding
    names = tuple(QualificationForm.base_fields)
    beginning = {} if is_new else {name: getattr(row, name) for name in names}
    today = timezone.localdate()
    form = QualificationForm(request.POST or None, initial=beginning, language=_language(request), today=today)
    if request.method == "POST" and form.is_valid():
        for name in names:
            setattr(row, name, form.cleaned_data[name])
        row.save()
        messages.success(request, say("people.done.qualification", _language(request), name=row.person.name))
        return redirect("people:one", person=row.person_id)
    found = {"form": form, "of": row.person, "is_new": is_new}
    return render(request, "people/qualification.html", found, status=_form_status(form))
