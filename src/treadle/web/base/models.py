"""What every table has from its first migration: an id a phone can make, a shop, a stamp; and the system's tables."""

from __future__ import annotations

import uuid
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.utils import timezone

from treadle.web.base.scope import shop_in_scope


class OtherShop(ValueError):
    """A row was about to be written for, or to point at, a shop that is not in scope."""


class Unalterable(TypeError):
    """A row that is only ever inserted was about to be changed or deleted; write a correction beside it."""


class ShopManager(models.Manager["ShopRow"]):
    """Gives the rows of the shop in scope, and no others."""

    def get_queryset(self) -> models.QuerySet[Any]:
        """Return the shop's rows."""
        return super().get_queryset().filter(shop_id=shop_in_scope())


class ShopRow(models.Model):
    """A row that belongs to one shop."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    shop = models.ForeignKey("people.Shop", on_delete=models.PROTECT, related_name="+", editable=False)

    objects: ClassVar[Any] = ShopManager()
    across_shops: ClassVar[Any] = models.Manager()  # type: ignore[no-redef]  # the plugin has it from Meta

    class Meta:
        abstract = True
        base_manager_name = "across_shops"
        default_manager_name = "objects"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Write it for the shop in scope."""
        self.belongs()
        super().save(*args, **kwargs)

    def belongs(self) -> None:
        """Take the shop in scope, and refuse a row of another shop or one that points at another's."""
        here = shop_in_scope()
        if getattr(self, "shop_id", None) is None:
            self.shop_id = here
        elif self.shop_id != here:
            raise OtherShop(f"{self._meta.label} {self.pk} belongs to another shop")
        for field in self._meta.concrete_fields:
            other = self._state.fields_cache.get(field.name) if field.is_relation else None
            if isinstance(other, ShopRow) and other.shop_id != here:
                raise OtherShop(f"{self._meta.label}.{field.name} points at a row of another shop")


class Stamped(models.Model):
    """Who entered it, when and in which zone; and who sent it, where that was somebody else."""

    entered_at = models.DateTimeField(default=timezone.now)
    entered_zone = models.CharField(max_length=64, default="UTC")
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True)

    class Meta:
        abstract = True


class InsertOnlyQuerySet(models.QuerySet[Any]):
    """Refuses to change or delete in bulk."""

    def update(self, **kwargs: Any) -> int:
        """Refuse."""
        raise Unalterable(f"{self.model._meta.label} is only ever inserted; asked to change {', '.join(kwargs)}")

    def delete(self) -> tuple[int, dict[str, int]]:
        """Refuse."""
        raise Unalterable(f"{self.model._meta.label} is only ever inserted")


class InsertOnlyManager(models.Manager.from_queryset(InsertOnlyQuerySet)):  # type: ignore[misc]
    """Gives the rows of the shop in scope, which nobody may change."""

    def get_queryset(self) -> models.QuerySet[Any]:
        """Return the shop's rows."""
        return super().get_queryset().filter(shop_id=shop_in_scope())  # type: ignore[no-any-return]


class InsertOnly(ShopRow, Stamped):
    """A record: written once, then never changed; a correction is a new row that points at this one."""

    objects: ClassVar[Any] = InsertOnlyManager()
    across_shops: ClassVar[Any] = models.Manager.from_queryset(InsertOnlyQuerySet)()

    class Meta(ShopRow.Meta):
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Insert it; refuse anything else."""
        if not self._state.adding:
            raise Unalterable(f"{self._meta.label} {self.pk} is only ever inserted")
        kwargs["force_insert"] = True
        super().save(*args, **kwargs)

    def delete(self, *_: Any, **__: Any) -> tuple[int, dict[str, int]]:
        """Refuse."""
        raise Unalterable(f"{self._meta.label} {self.pk} is only ever inserted")


class BackgroundJob(models.Model):
    """Work for the worker process: whatever takes longer than a moment, or is due at an hour."""

    class State(models.TextChoices):
        """Where it stands."""

        WAITING = "waiting"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    shop = models.ForeignKey("people.Shop", on_delete=models.CASCADE, null=True, related_name="+")
    kind = models.CharField(max_length=40)
    arguments = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    asked_at = models.DateTimeField(default=timezone.now)
    not_before = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)
    tries = models.PositiveSmallIntegerField(default=0)
    worker = models.CharField(max_length=64, blank=True)
    message = models.TextField(blank=True)

    class Meta:
        indexes = [models.Index(fields=["state", "not_before"])]

    def __str__(self) -> str:
        return f"{self.kind} ({self.state})"


class Seal(ShopRow):
    """One link of a shop's chain of sealed records; `text` is the record in canonical form."""

    number = models.PositiveIntegerField()
    about = models.CharField(max_length=40)
    record = models.UUIDField()
    text = models.TextField()
    previous = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)
    sealed_at = models.DateTimeField()

    class Meta(ShopRow.Meta):
        constraints = [models.UniqueConstraint(fields=["shop", "number"], name="seal_number_once_a_shop")]
        ordering = ["number"]

    def __str__(self) -> str:
        return f"seal {self.number}: {self.about}"
