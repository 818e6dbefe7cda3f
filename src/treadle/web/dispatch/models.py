"""What left, what was refused, and the lead's orders to move what may not leave."""

from __future__ import annotations

from django.db import models

from treadle.web.base.models import InsertOnly, Seal
from treadle.web.units.models import Unit
from treadle.web.walkaround.models import Judged


class DispatchRelease(InsertOnly):
    """A combination let go: every wheel end of every unit, as last seen, judged at that moment; sealed."""

    combination = models.JSONField()
    units = models.ManyToManyField(Unit, related_name="dispatch_releases")
    judged = models.ForeignKey(Judged, on_delete=models.PROTECT, related_name="+")
    outcome = models.CharField(max_length=8)
    policy_said = models.CharField(max_length=200, blank=True)
    note = models.TextField(blank=True)
    seal = models.ForeignKey(Seal, on_delete=models.PROTECT, related_name="+")

    class Meta(InsertOnly.Meta):
        ordering = ["-entered_at"]

    def __str__(self) -> str:
        return " + ".join(self.combination)


class YardOrder(InsertOnly):
    """The lead's recorded order to move a held unit within the yard."""

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="yard_orders")
    from_place = models.CharField(max_length=80)
    to_place = models.CharField(max_length=80)
    why = models.CharField(max_length=200)
    until = models.DateTimeField()

    class Meta(InsertOnly.Meta):
        ordering = ["-entered_at"]

    def __str__(self) -> str:
        return f"{self.unit}: {self.from_place} to {self.to_place}"


class HoldEvent(InsertOnly):
    """Something done or tried with a unit that may not leave."""

    class What(models.TextChoices):
        """What it was."""

        COUPLING_REFUSED = "coupling_refused"
        COUPLED_ALL_THE_SAME = "coupled_all_the_same"
        DISPATCH_REFUSED = "dispatch_refused"
        MOVED = "moved"

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="hold_events")
    what = models.CharField(max_length=20, choices=What.choices)
    outcome = models.CharField(max_length=8)
    with_units = models.JSONField(default=list)
    said = models.CharField(max_length=200, blank=True)

    class Meta(InsertOnly.Meta):
        ordering = ["-entered_at"]

    def __str__(self) -> str:
        return f"{self.unit}: {self.what}"
