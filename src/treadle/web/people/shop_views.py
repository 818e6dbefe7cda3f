"""Views of what a shop settles: its name and place, its policy beside the law, and the limits it has confirmed."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from treadle.errors import BadInput
from treadle.web.people.access import allowed
from treadle.web.people.forms import ConfirmForm, PolicyForm, ShopForm
from treadle.web.people.models import ConfirmedLimit, Role, Shop
from treadle.web.people.policy import (
    confirm_limit,
    keep_policy,
    limits_to_confirm,
    policy_as_entered,
    settle_shop,
)
from treadle.words import explain, say

FORM = ("GET", "POST")


def _language(request: HttpRequest) -> str:
    return request.language  # type: ignore[attr-defined, no-any-return]


def _shop(request: HttpRequest) -> Shop:
    return request.shop  # type: ignore[attr-defined, no-any-return]


@allowed(Role.LEAD)
@require_http_methods(FORM)
def shop(request: HttpRequest) -> HttpResponse:
    """Show and change the shop's settings."""
    here, language = _shop(request), _language(request)
    names = ("name", "zone", "runs_in", "measure", "paper")
    beginning = {name: getattr(here, name) for name in names} | {"language_of_shop": here.language}
    form = ShopForm(request.POST or None, initial=beginning, language=language)
    if request.method == "POST" and form.is_valid():
        entered = form.cleaned_data
        settled = {name: entered[name] for name in names} | {"language": entered["language_of_shop"]}
        try:
            settle_shop(here, on=timezone.localdate(), **settled)
        except BadInput as looser:
            form.add_error("runs_in", explain(looser, language))
        else:
            messages.success(request, say("people.done.shop", language))
            return redirect("people:shop")
    return render(request, "people/shop.html", {"form": form}, status=400 if form.errors else 200)


@allowed(Role.LEAD)
@require_http_methods(FORM)
def policy(request: HttpRequest) -> HttpResponse:
    """Show and change the shop's policy, held against the law before it is kept."""
    here, language = _shop(request), _language(request)
    now = policy_as_entered(here)
    form = PolicyForm(
        request.POST or None, initial=PolicyForm.initial_from(now), language=language, measure=here.measure
    )
    if request.method == "POST" and form.is_valid():
        try:
            keep_policy(here, form.as_policy(now["rules"]), on=timezone.localdate())
        except BadInput as looser:
            form.add_error(None, explain(looser, language))
        else:
            messages.success(request, say("people.done.policy", language))
            return redirect("people:policy")
    found = {"form": form, "own_limits": len(now["rules"])}
    return render(request, "people/policy.html", found, status=400 if form.errors else 200)


@allowed(Role.LEAD)
@require_GET
def limits(request: HttpRequest) -> HttpResponse:
    """List the limits known from memory, and who has read each in the official text."""
    language = _language(request)
    found = [(limit, limit.label(language)) for limit in limits_to_confirm(_shop(request), timezone.localdate())]
    read = [(limit, label) for limit, label in found if limit.confirmed]
    unread = [(limit, label) for limit, label in found if not limit.confirmed]
    return render(request, "people/limits.html", {"read": read, "unread": unread})


@allowed(Role.LEAD)
@require_http_methods(FORM)
def confirm(request: HttpRequest, rule: str) -> HttpResponse:
    """Record that somebody has read a limit in the official text."""
    today, language = timezone.localdate(), _language(request)
    limit = next((one for one in limits_to_confirm(_shop(request), today) if one.rule.id == rule), None)
    if limit is None:
        raise Http404
    beginning = {"by": request.user.pk, "on": today}
    form = ConfirmForm(request.POST or None, initial=beginning, language=language, today=today)
    if request.method == "POST" and form.is_valid():
        entered = form.cleaned_data
        try:
            confirm_limit(rule, edition=entered["edition"], by=entered["by"], on=entered["on"], today=today)
        except BadInput as unusable:
            form.add_error(None, explain(unusable, language))
        else:
            messages.success(request, say("people.done.confirmed", language))
            return redirect("people:limits")
    found = {"form": form, "limit": limit, "label": limit.label(language)}
    return render(request, "people/confirm.html", found, status=400 if form.errors else 200)


@allowed(Role.LEAD)
@require_POST
def unconfirm(request: HttpRequest, confirmation: UUID) -> HttpResponse:
    """Take back a confirmation; that it was given stays in its history."""
    row = get_object_or_404(ConfirmedLimit.objects, pk=confirmation)
    row.delete()
    messages.success(request, say("people.done.unconfirmed", _language(request)))
    return redirect("people:confirm", rule=row.rule)
