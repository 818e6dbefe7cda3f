"""Vehicles and their history: axles, fitted parts as intervals, meters in segments, couplings, documents.

What stands on a unit today is derived: the parts whose interval is open, the segment that runs, the coupling not ended.
"""

from __future__ import annotations

from django.db import models
from simple_history.models import HistoricalRecords

from treadle.web.base.models import InsertOnly, ShopRow, Stamped


class Unit(ShopRow, Stamped):
    """A tractor, truck, trailer, dolly or bus."""

    class Kind(models.TextChoices):
        """As the walk-around file names them."""

        TRACTOR = "tractor"
        TRUCK = "truck"
        TRAILER = "trailer"
        DOLLY = "dolly"
        BUS = "bus"

    class Suspension(models.TextChoices):
        """What the axles hang on; it decides how it is supported."""

        AIR = "air"
        SPRING = "spring"
        UNKNOWN = "unknown"

    number = models.CharField(max_length=40)
    kind = models.CharField(max_length=8, choices=Kind.choices)
    built = models.CharField(max_length=10)
    runs_in = models.JSONField(default=list)
    layout = models.CharField(max_length=40, blank=True)
    suspension = models.CharField(max_length=8, choices=Suspension.choices, default=Suspension.UNKNOWN)
    owner = models.CharField(max_length=120, blank=True)
    maintainer = models.CharField(max_length=120, blank=True)
    vin = models.CharField(max_length=17, blank=True)
    note = models.TextField(blank=True)
    left_fleet_on = models.DateField(null=True)
    history = HistoricalRecords()

    class Meta(ShopRow.Meta):
        constraints = [models.UniqueConstraint(fields=["shop", "number"], name="unit_number_once_a_shop")]
        ordering = ["number"]

    def __str__(self) -> str:
        return self.number


class Axle(ShopRow):
    """An axle, counted from the front of its unit from 1."""

    unit = models.ForeignKey(Unit, on_delete=models.CASCADE, related_name="axles")
    number = models.PositiveSmallIntegerField()
    role = models.CharField(max_length=8)
    dual = models.BooleanField(default=True)
    gawr = models.CharField(max_length=20, blank=True)
    can_lift = models.BooleanField(default=False)
    history = HistoricalRecords()

    class Meta(ShopRow.Meta):
        constraints = [models.UniqueConstraint(fields=["unit", "number"], name="axle_number_once_a_unit")]
        ordering = ["number"]

    def __str__(self) -> str:
        return f"{self.unit} axle {self.number}"


class FittedPart(ShopRow, Stamped):
    """What was fitted at one place of a wheel end, from a moment to a moment.

    `spec` holds the fields of the walk-around file that the slot stands for, and what the bay needs beside them:

    ========== ====================================================================================
    slot       spec
    ========== ====================================================================================
    foundation brake, rod_visible, abs, spring_brake
    lining     lining_form, lining_attachment, lining_type, wear_mark, new_thickness, pattern
    chamber    design, type, stroke_class, rated_stroke, marked_limit
    adjuster   kind, arm, release (pull_pawl, none)
    drum       nominal, discard, fit (outboard, inboard)
    rotor      nominal, discard
    hardware   kit
    wheel      mounting (hub_piloted_m22, stud_piloted, ...), studs
    ========== ====================================================================================
    """

    class Slot(models.TextChoices):
        """Places of a wheel end."""

        FOUNDATION = "foundation"
        LINING = "lining"
        CHAMBER = "chamber"
        ADJUSTER = "adjuster"
        DRUM = "drum"
        ROTOR = "rotor"
        HARDWARE = "hardware"
        WHEEL = "wheel"

    unit = models.ForeignKey(Unit, on_delete=models.CASCADE, related_name="parts")
    axle = models.PositiveSmallIntegerField()
    side = models.CharField(max_length=5)
    slot = models.CharField(max_length=10, choices=Slot.choices)
    spec = models.JSONField(default=dict)
    lot = models.CharField(max_length=60, blank=True)
    fitted_at = models.DateTimeField()
    fitted_meter = models.CharField(max_length=24, blank=True)
    fitted_in = models.CharField(max_length=40, blank=True)
    """The job that fitted it, by number; empty for what was there when the unit was registered."""
    removed_at = models.DateTimeField(null=True)
    removed_meter = models.CharField(max_length=24, blank=True)
    removed_in = models.CharField(max_length=40, blank=True)
    removed_why = models.CharField(max_length=200, blank=True)
    history = HistoricalRecords()

    class Meta(ShopRow.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["unit", "axle", "side", "slot"],
                condition=models.Q(removed_at=None),
                name="one_part_fitted_at_a_place",
            )
        ]
        indexes = [models.Index(fields=["unit", "removed_at"])]

    def __str__(self) -> str:
        return f"{self.unit} axle {self.axle} {self.side} {self.slot}"


class MeterSegment(ShopRow, Stamped):
    """One run of a meter: from when it was fitted or restarted until it stopped or was replaced."""

    class Kind(models.TextChoices):
        """Where it counts."""

        ODOMETER = "odometer"
        HUB = "hub_odometer"

    class Ended(models.TextChoices):
        """Why it no longer counts."""

        REPLACED = "replaced"
        STOPPED = "stopped"
        RESTARTED = "restarted"

    unit = models.ForeignKey(Unit, on_delete=models.CASCADE, related_name="meter_segments")
    kind = models.CharField(max_length=14, choices=Kind.choices)
    measure = models.CharField(max_length=2)
    began_at = models.DateTimeField()
    began_reading = models.CharField(max_length=24)
    ended_at = models.DateTimeField(null=True)
    ended_reading = models.CharField(max_length=24, blank=True)
    ended_why = models.CharField(max_length=10, choices=Ended.choices, blank=True)

    class Meta(ShopRow.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["unit"], condition=models.Q(ended_at=None), name="one_meter_running_on_a_unit"
            )
        ]
        ordering = ["began_at"]

    def __str__(self) -> str:
        return f"{self.unit} {self.kind} from {self.began_reading}"


class MeterReading(InsertOnly):
    """What a meter showed, as read."""

    segment = models.ForeignKey(MeterSegment, on_delete=models.PROTECT, related_name="readings")
    at = models.DateTimeField()
    reading = models.CharField(max_length=24)
    doubt = models.CharField(max_length=40, blank=True)
    stated_reason = models.CharField(max_length=200, blank=True)

    class Meta(InsertOnly.Meta):
        ordering = ["at"]

    def __str__(self) -> str:
        return self.reading


class Coupling(ShopRow, Stamped):
    """Which unit pulled which, from a moment to a moment."""

    towing = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="pulled")
    towed = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="pulled_by")
    coupled_at = models.DateTimeField()
    uncoupled_at = models.DateTimeField(null=True)
    uncoupled_by = models.ForeignKey("people.Person", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta(ShopRow.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["towing"], condition=models.Q(uncoupled_at=None), name="one_unit_behind_another"
            ),
            models.UniqueConstraint(
                fields=["towed"], condition=models.Q(uncoupled_at=None), name="one_unit_ahead_of_another"
            ),
        ]
        ordering = ["coupled_at"]

    def __str__(self) -> str:
        return f"{self.towing} + {self.towed}"


class Document(InsertOnly):
    """A file that belongs to a unit: a photograph, a certificate, an outside shop's paper."""

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="documents")
    what = models.CharField(max_length=120)
    file = models.FileField(upload_to="documents/%Y/%m")
    media_type = models.CharField(max_length=60)
    digest = models.CharField(max_length=64)

    def __str__(self) -> str:
        return self.what
