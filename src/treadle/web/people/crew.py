"""The people of a shop: taking on, roles from a moment to a moment, passwords, letting go; the last lead stays."""

from __future__ import annotations

import secrets
import unicodedata
from collections.abc import Iterable
from datetime import datetime

from axes.utils import reset as lift_lock
from django.db import IntegrityError, transaction

from treadle.web.people.models import Person, Role, RoleHeld, Shop
from treadle.web.people.refusal import Refused

_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""What nobody mistakes for another when it is read out or copied by hand: no i, l, o, 0 or 1."""
_GROUPS, _GROUP = 4, 4


def plain_sign_in(text: str) -> str:
    """Return a sign-in name as it is kept: capitals and ways of typing an accent make no other name.

    >>> plain_sign_in(" R.Quill ")
    'r.quill'
    """
    return unicodedata.normalize("NFKC", text).strip().lower()


def lent_password() -> str:
    """Return a password to hand over once: 16 letters and figures, about 79 bits of chance."""
    return "-".join("".join(secrets.choice(_LETTERS) for _ in range(_GROUP)) for _ in range(_GROUPS))


@transaction.atomic
def take_on(
    shop: Shop, *, name: str, sign_in: str, language: str, roles: Iterable[str], by: Person, at: datetime
) -> tuple[Person, str]:
    """Add a person with their roles; return them and the password to hand over.

    Raises
    ------
    Refused
        The sign-in name is somebody's already.
    """
    plain = plain_sign_in(sign_in)
    person = Person(shop=shop, name=name, sign_in=plain, language=language)
    password = _lend(person)
    try:
        with transaction.atomic():
            person.save()
    except IntegrityError as taken:
        raise Refused("people.refused.sign_in_taken", sign_in=plain) from taken
    for role in roles:
        RoleHeld(person=person, role=role, since=at, given_by=by).save()
    return person, password


@transaction.atomic
def give_role(person: Person, role: str, *, by: Person, at: datetime) -> RoleHeld:
    """Give a person a role from now on; one they hold already stays as it is.

    Raises
    ------
    Refused
        They no longer work here.
    """
    if not person.is_active:
        raise Refused("people.refused.not_here_any_more", name=person.name)
    held = RoleHeld.objects.filter(person=person, role=role, until=None).first()
    if held is None:
        held = RoleHeld(person=person, role=role, since=at, given_by=by)
        held.save()
    return held  # type: ignore[no-any-return]


@transaction.atomic
def end_role(held: RoleHeld, *, by: Person, at: datetime) -> None:
    """End a role now; what was done in it stays.  One that has ended stays as it is.

    Raises
    ------
    Refused
        The shop would have no lead.
    """
    if held.until is not None:
        return
    if held.role == Role.LEAD:
        _keep_a_lead(held.person)
    held.until, held.ended_by = at, by
    held.save(update_fields=["until", "ended_by"])


@transaction.atomic
def let_go(person: Person, *, by: Person, at: datetime) -> None:
    """End all roles of a person and close their sign-in; what they did stays under their name.

    Raises
    ------
    Refused
        The shop would have no lead.
    """
    _keep_a_lead(person)
    for held in RoleHeld.objects.filter(person=person, until=None):
        held.until, held.ended_by = at, by
        held.save(update_fields=["until", "ended_by"])
    person.is_active = False
    person.save(update_fields=["is_active"])


@transaction.atomic
def take_back(person: Person) -> str:
    """Open a person's sign-in again; return the password to hand over.  Roles are given anew."""
    person.is_active = True
    return lend_password(person)


@transaction.atomic
def lend_password(person: Person) -> str:
    """Give a person a password to hand over and return it; it ends their sessions and any lock after wrong tries."""
    password = _lend(person)
    person.save()
    lift_lock(username=person.sign_in)
    return password


def choose_password(person: Person, password: str) -> None:
    """Set the password that a person chose."""
    person.set_password(password)
    person.must_change_password = False
    person.save(update_fields=["password", "must_change_password"])


def _lend(person: Person) -> str:
    password = lent_password()
    person.set_password(password)
    person.must_change_password = True
    return password


def _keep_a_lead(person: Person) -> None:
    """Refuse to go on if this person is the only lead; two such requests at once take turns at the shop's row."""
    Shop.objects.select_for_update().get(pk=person.shop_id)
    leads = RoleHeld.objects.filter(role=Role.LEAD, until=None, person__is_active=True)
    if leads.filter(person=person).exists() and not leads.exclude(person=person).exists():
        raise Refused("people.refused.last_lead", name=person.name)
