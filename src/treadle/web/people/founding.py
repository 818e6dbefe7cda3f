"""Founding a shop: the shop itself, its first lead and the policy it begins with, in one act."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from treadle.web.base.scope import shop_scope
from treadle.web.people.crew import plain_sign_in
from treadle.web.people.models import Person, Role, RoleHeld, Shop
from treadle.web.people.policy import first_policy


@transaction.atomic
def found_shop(
    *,
    name: str,
    zone: str,
    language: str,
    measure: str,
    paper: str,
    runs_in: Sequence[str],
    lead: str,
    sign_in: str,
    password: str,
    at: datetime,
) -> Person:
    """Found a shop and return its first lead, whose roles are lead and technician.

    Parameters
    ----------
    name : str
        The shop's.
    zone, language, measure, paper : str
        What the shop settles once: IANA zone, "en" or "es", "in" or "mm", "letter" or "a4".
    runs_in : sequence of str
        The jurisdictions its units run in.
    lead, sign_in, password : str
        The first lead's name, sign-in name and password.
    at : datetime
        Now.
    """
    shop = Shop(
        name=name,
        zone=zone,
        language=language,
        measure=measure,
        paper=paper,
        runs_in=list(runs_in),
        policy=first_policy(),
        founded_at=at,
    )
    shop.save()
    with shop_scope(shop.pk):
        person = Person(shop=shop, name=lead, sign_in=plain_sign_in(sign_in), language=language)
        person.set_password(password)
        person.save()
        for role in (Role.LEAD, Role.TECHNICIAN):
            RoleHeld(person=person, role=role, since=at).save()
    return person
