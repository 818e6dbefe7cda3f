"""Shops, the people who work in them, their roles over time and their qualifications."""

from __future__ import annotations

import uuid
from datetime import date
from functools import cached_property
from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils import timezone
from simple_history.models import HistoricalRecords

from treadle.web.base.models import ShopManager, ShopRow


class Shop(models.Model):
    """A shop: the scope of everything else, and what it settled once."""

    class Measure(models.TextChoices):
        """The unit a keypad opens with."""

        INCH = "in"
        MILLIMETRE = "mm"

    class Paper(models.TextChoices):
        """The paper in the printer."""

        LETTER = "letter"
        A4 = "a4"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=64)
    language = models.CharField(max_length=2, default="en")
    measure = models.CharField(max_length=2, choices=Measure.choices, default=Measure.INCH)
    paper = models.CharField(max_length=6, choices=Paper.choices, default=Paper.LETTER)
    runs_in = models.JSONField(default=list)
    policy = models.JSONField(null=True)
    is_demo = models.BooleanField(default=False)
    founded_at = models.DateTimeField(default=timezone.now)
    history = HistoricalRecords()

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    """What a person is here; one may be several."""

    TECHNICIAN = "technician"
    LEAD = "lead"
    DISPATCHER = "dispatcher"
    DRIVER = "driver"
    OWNER = "owner"
    INSPECTOR = "inspector"


class PersonManager(BaseUserManager["Person"]):
    """Finds a person by sign-in name, whatever the shop: nobody is in a shop before signing in."""

    def get_by_natural_key(self, username: str | None) -> Person:
        """Return the person of a sign-in name, capitals or not."""
        return self.get(sign_in=(username or "").lower())


class Person(AbstractBaseUser):
    """Somebody who works with the shop's vehicles."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="+")
    sign_in = models.CharField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    language = models.CharField(max_length=2, default="en")
    measure = models.CharField(max_length=2, blank=True)
    is_active = models.BooleanField(default=True)
    must_change_password = models.BooleanField(default=False)
    """Somebody else made the password; nothing opens until the person has chosen one of their own."""
    history = HistoricalRecords(excluded_fields=["password", "last_login"])

    across_shops = PersonManager()
    objects: Any = ShopManager()

    USERNAME_FIELD = "sign_in"
    REQUIRED_FIELDS = ["name"]

    class Meta:
        base_manager_name = "across_shops"
        default_manager_name = "across_shops"
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @cached_property
    def roles(self) -> frozenset[str]:
        """The roles held now."""
        held = RoleHeld.across_shops.filter(person=self, until=None)
        return frozenset(held.values_list("role", flat=True))

    def may(self, *roles: str) -> bool:
        """Whether one of these roles is held now."""
        return not self.roles.isdisjoint(roles)

    def qualified(self, for_what: str, on: date) -> Qualification | None:
        """Return the qualification that covers a kind of work on a day; None where there is none."""
        held = Qualification.across_shops.filter(person=self, for_what=for_what, granted_on__lte=on)
        covering = held.filter(models.Q(expires_on=None) | models.Q(expires_on__gte=on))
        return covering.order_by("-granted_on").first()  # type: ignore[no-any-return]


class RoleHeld(ShopRow):
    """A role of a person, from a moment to a moment."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="roles_held")
    role = models.CharField(max_length=12, choices=Role.choices)
    since = models.DateTimeField(default=timezone.now)
    until = models.DateTimeField(null=True)
    given_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+", null=True)
    """None for the first lead, who founded the shop."""
    ended_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+", null=True)

    class Meta(ShopRow.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["person", "role"], condition=models.Q(until=None), name="one_role_held_once_at_a_time"
            )
        ]
        ordering = ["since"]

    def __str__(self) -> str:
        return f"{self.person}: {self.role}"


class Qualification(ShopRow):
    """Evidence that a person may inspect or repair brakes (49 CFR 396.25), or do annual inspections (396.19)."""

    class ForWhat(models.TextChoices):
        """The work it covers."""

        BRAKES = "brakes"
        ANNUAL = "annual"

    class Ground(models.TextChoices):
        """The two ways 49 CFR 396.19 and 396.25(d) name."""

        PROGRAMME = "programme"
        YEAR = "year"

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="qualifications")
    for_what = models.CharField(max_length=10, choices=ForWhat.choices)
    ground = models.CharField(max_length=10, choices=Ground.choices, blank=True)
    limited_to = models.CharField(max_length=200, blank=True)
    """The tasks it covers, where it does not cover all."""
    evidence = models.TextField()
    granted_on = models.DateField()
    expires_on = models.DateField(null=True)
    recorded_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+", null=True)
    history = HistoricalRecords()

    class Meta(ShopRow.Meta):
        ordering = ["for_what", "-granted_on"]

    def __str__(self) -> str:
        return f"{self.person}: {self.for_what}"


class ConfirmedLimit(ShopRow):
    """A limit that rests on memory in the rules and that somebody here has read in the official text."""

    rule = models.CharField(max_length=200)
    edition = models.CharField(max_length=200)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    on = models.DateField()
    history = HistoricalRecords()
    """A confirmation taken back is deleted; what it said stays here."""

    class Meta(ShopRow.Meta):
        ordering = ["rule", "-on"]

    def __str__(self) -> str:
        return f"{self.rule}, {self.edition}"
