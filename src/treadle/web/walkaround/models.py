"""Measuring, as records: walk-arounds, readings, what they were judged to be, and what drivers report."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from simple_history.models import HistoricalRecords

from treadle.web.base.models import InsertOnly, ShopRow, Stamped
from treadle.web.units.models import Unit


class WalkAround(ShopRow, Stamped):
    """One going-round of a unit or combination; its readings are rows of their own."""

    occasion = models.CharField(max_length=12)
    begun_at = models.DateTimeField()
    zone = models.CharField(max_length=64)
    finished_at = models.DateTimeField(null=True)
    abandoned_at = models.DateTimeField(null=True)
    combination = models.JSONField(default=list)
    """The numbers of the units coupled, from the front; one number for a unit alone."""
    circumstances = models.JSONField(default=dict)
    """reservoir, engine, spring_brakes and supply, as last set; each reading carries its own."""
    made_safe = models.JSONField(default=list)
    """What was confirmed before the walk: ``what``, ``at``, ``by`` (a name), in the order it was tapped."""
    touched = models.JSONField(null=True)
    """For after work: the wheel ends worked on, as the file names them."""
    for_job = models.CharField(max_length=40, blank=True)
    """The job it proves, by number."""
    history = HistoricalRecords()

    class Meta(ShopRow.Meta):
        ordering = ["-begun_at"]

    def __str__(self) -> str:
        return f"{self.occasion} {' + '.join(self.combination)}"


class WalkedUnit(ShopRow):
    """A unit of a walk-around, in its place, with what its meter showed."""

    walk_around = models.ForeignKey(WalkAround, on_delete=models.CASCADE, related_name="walked")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="walk_arounds")
    position = models.PositiveSmallIntegerField()
    meter = models.CharField(max_length=24, blank=True)

    class Meta(ShopRow.Meta):
        ordering = ["position"]

    def __str__(self) -> str:
        return f"{self.unit} in {self.walk_around}"


class Reading(InsertOnly):
    """One thing seen or measured; a correction or a withdrawal is a later row that points at it.

    `fields` are those of a reading in the walk-around file, without unit, axle, side, kind, id, at and by.
    """

    walk_around = models.ForeignKey(WalkAround, on_delete=models.PROTECT, related_name="readings")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="readings")
    axle = models.PositiveSmallIntegerField(null=True)
    side = models.CharField(max_length=5, blank=True)
    kind = models.CharField(max_length=24)
    fields = models.JSONField(default=dict)
    taken_at = models.DateTimeField()
    taken_zone = models.CharField(max_length=64)
    doubt = models.CharField(max_length=40, blank=True)
    """Why it cannot be so, as a code; kept because a reason was stated, and unseen to the judge."""
    stated_reason = models.CharField(max_length=200, blank=True)
    corrects = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="corrected_by")
    withdraws = models.BooleanField(default=False)
    """Whether it only takes back the one it corrects."""
    why_corrected = models.CharField(max_length=200, blank=True)

    class Meta(InsertOnly.Meta):
        ordering = ["taken_at", "entered_at"]
        indexes = [models.Index(fields=["unit", "kind", "taken_at"])]

    def __str__(self) -> str:
        return f"{self.unit} axle {self.axle} {self.side} {self.kind}"


class Photo(InsertOnly):
    """A picture taken on a walk-around, of a wheel end or a whole unit; what the camera wrote in is left out."""

    walk_around = models.ForeignKey(WalkAround, on_delete=models.PROTECT, related_name="photos")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="photos")
    axle = models.PositiveSmallIntegerField(null=True)
    side = models.CharField(max_length=5, blank=True)
    taken_at = models.DateTimeField()
    taken_zone = models.CharField(max_length=64)
    file = models.FileField(upload_to="photos/%Y/%m")
    digest = models.CharField(max_length=64)
    """SHA-256 of the picture as it was sent, in hexadecimal."""

    class Meta(InsertOnly.Meta):
        ordering = ["taken_at"]

    def __str__(self) -> str:
        return f"{self.unit} axle {self.axle} {self.side}, {self.taken_at:%Y-%m-%d}"


class SetAside(ShopRow):
    """An entry that arrived and could not be taken: kept whole until a person settles it."""

    id_of_entry = models.UUIDField()
    arrived_at = models.DateTimeField()
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    entry = models.JSONField()
    reason = models.CharField(max_length=40)
    details = models.JSONField(default=dict)
    settled_at = models.DateTimeField(null=True)
    settled_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    settled_how = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"{self.id_of_entry}: {self.reason}"


class Judged(InsertOnly):
    """An assessment as it was given: with the file it was made from, so that it can be made again."""

    class About(models.TextChoices):
        """What was judged."""

        WALK_AROUND = "walk_around"
        AS_LAST_SEEN = "as_last_seen"
        DISPATCH = "dispatch"

    about = models.CharField(max_length=12, choices=About.choices)
    walk_around = models.ForeignKey(WalkAround, on_delete=models.PROTECT, null=True, related_name="judged")
    units = models.ManyToManyField(Unit, related_name="judged")
    on = models.DateField()
    occasion = models.CharField(max_length=12)
    edition = models.CharField(max_length=80)
    outcome = models.CharField(max_length=8)
    inputs = models.JSONField()
    """walkaround/1."""
    result = models.JSONField()
    """assessment/1, sentences in the shop's language; other languages are rendered from code and arguments."""
    policy = models.JSONField(null=True)
    """The shop's policy and confirmed limits of that day."""

    class Meta(InsertOnly.Meta):
        indexes = [models.Index(fields=["about", "entered_at"])]

    def __str__(self) -> str:
        return f"{self.about} {self.on}: {self.outcome}"


class Standing(ShopRow):
    """How a unit stands by its last readings: worked out from them, kept so that lists are quick, never a record."""

    unit = models.OneToOneField(Unit, on_delete=models.CASCADE, related_name="standing")
    outcome = models.CharField(max_length=8, default="unseen")
    together = models.CharField(max_length=8, blank=True)
    """What it and the units coupled with it came to, their share of defective brakes included; empty: not asked."""
    ends = models.JSONField(default=list)
    """Outcome and deciding value of each wheel end, for the drawing."""
    reasons = models.JSONField(default=list)
    """Findings that are not good, worst first, as the assessment has them."""
    seen_at = models.DateTimeField(null=True)
    """The last reading of any kind."""
    worked_out_at = models.DateTimeField()
    worked_out_on = models.DateField()
    edition = models.CharField(max_length=80)
    behind = models.BooleanField(default=False)
    """Whether something was entered since."""

    def __str__(self) -> str:
        return f"{self.unit}: {self.outcome}"


class DriverReport(InsertOnly):
    """A driver's report on a vehicle at the end of a day or at the roadside: defects, or that none were found."""

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="driver_reports")
    at = models.DateTimeField()
    zone = models.CharField(max_length=64)
    where = models.CharField(max_length=120, blank=True)
    meter = models.CharField(max_length=24, blank=True)
    nothing_found = models.BooleanField(default=False)
    item = models.CharField(max_length=16, blank=True)
    """What of the vehicle it is about, of the items of 49 CFR 396.11; empty where nobody said."""
    axle = models.PositiveSmallIntegerField(null=True)
    side = models.CharField(max_length=5, blank=True)
    condition = models.CharField(max_length=60, blank=True)
    """From the published list of conditions, where one fits."""
    said = models.TextField(blank=True)
    photo = models.FileField(upload_to="photos/%Y/%m", blank=True)

    class Meta(InsertOnly.Meta):
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"{self.unit}, {self.at:%Y-%m-%d}"


class DriverReportAnswer(InsertOnly):
    """What was done about a driver's report: repaired, or no repair needed, certified by a person; and its review."""

    class What(models.TextChoices):
        """The answers there are; each is a row of its own, in the order given."""

        REPAIRED = "repaired"
        NOT_NEEDED = "not_needed"
        REVIEWED = "reviewed"

    report = models.ForeignKey(DriverReport, on_delete=models.PROTECT, related_name="answers")
    what = models.CharField(max_length=10, choices=What.choices)
    said = models.TextField(blank=True)
    job = models.CharField(max_length=40, blank=True)

    class Meta(InsertOnly.Meta):
        ordering = ["entered_at"]

    def __str__(self) -> str:
        return f"{self.report}: {self.what}"
