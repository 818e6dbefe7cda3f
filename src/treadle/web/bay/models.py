"""Jobs as records: what was proposed, accepted, done step by step, measured, released and re-checked."""

from __future__ import annotations

from django.db import models
from simple_history.models import HistoricalRecords

from treadle.web.base.models import InsertOnly, Seal, ShopRow, Stamped
from treadle.web.people.models import Person
from treadle.web.units.models import Unit
from treadle.web.walkaround.models import Judged, WalkAround


class Bay(ShopRow):
    """A place to work."""

    name = models.CharField(max_length=60)
    closed_at = models.DateTimeField(null=True)
    history = HistoricalRecords()

    def __str__(self) -> str:
        return self.name


class Tool(ShopRow):
    """A torque wrench or a gauge, with its calibration."""

    class Kind(models.TextChoices):
        """What it measures."""

        TORQUE_WRENCH = "torque_wrench"
        GAUGE = "gauge"

    number = models.CharField(max_length=40)
    kind = models.CharField(max_length=14, choices=Kind.choices)
    calibrated_on = models.DateField(null=True)
    calibration_due_on = models.DateField(null=True)
    retired_at = models.DateTimeField(null=True)
    history = HistoricalRecords()

    class Meta(ShopRow.Meta):
        constraints = [models.UniqueConstraint(fields=["shop", "number"], name="tool_number_once_a_shop")]

    def __str__(self) -> str:
        return self.number


class Job(ShopRow, Stamped):
    """Work on one unit, from proposal to release."""

    class State(models.TextChoices):
        """Where it stands; `JobEvent` says how it came there."""

        PROPOSED = "proposed"
        ACCEPTED = "accepted"
        UNDER_WAY = "under_way"
        PAUSED = "paused"
        RELEASED = "released"
        DROPPED = "dropped"

    number = models.CharField(max_length=40)
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="jobs")
    state = models.CharField(max_length=10, choices=State.choices, default=State.PROPOSED)
    from_judged = models.ForeignKey(Judged, on_delete=models.PROTECT, null=True, related_name="jobs")
    from_report = models.ForeignKey("walkaround.DriverReport", on_delete=models.PROTECT, null=True, related_name="jobs")
    proposal = models.JSONField(default=dict)
    """What planning proposed, as it was; what is done is in the tasks."""
    bay = models.ForeignKey(Bay, on_delete=models.PROTECT, null=True, related_name="jobs")
    wanted_by = models.DateTimeField(null=True)
    note = models.TextField(blank=True)
    history = HistoricalRecords()

    class Meta(ShopRow.Meta):
        constraints = [models.UniqueConstraint(fields=["shop", "number"], name="job_number_once_a_shop")]
        ordering = ["-entered_at"]

    def __str__(self) -> str:
        return self.number


class JobTask(ShopRow):
    """One procedure of a job on one axle."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="tasks")
    position = models.PositiveSmallIntegerField()
    procedure = models.CharField(max_length=60)
    axle = models.PositiveSmallIntegerField(null=True)
    sides = models.JSONField(default=list)
    why = models.JSONField(default=list)
    """The findings that ask for it, as the assessment has them."""
    facts = models.JSONField(default=dict)
    """What the steps were resolved with: suspension, wheel mounting, studs, spring brakes, adjuster release."""
    edition = models.CharField(max_length=80, blank=True)
    """Of the procedures the steps are from."""

    class Meta(ShopRow.Meta):
        ordering = ["position"]

    def __str__(self) -> str:
        return f"{self.job}: {self.procedure}, axle {self.axle}"


class JobHand(ShopRow):
    """Somebody on a job, from a moment to a moment: who does the work, and who supervises it."""

    class Does(models.TextChoices):
        """In what capacity."""

        WORK = "work"
        SUPERVISE = "supervise"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="hands")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    does = models.CharField(max_length=10, choices=Does.choices)
    since = models.DateTimeField()
    until = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.person} on {self.job}"


class JobEvent(InsertOnly):
    """Something that happened to a job: accepted, begun, paused, resumed, handed over, release refused, released."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="events")
    what = models.CharField(max_length=20)
    details = models.JSONField(default=dict)

    class Meta(InsertOnly.Meta):
        ordering = ["entered_at"]

    def __str__(self) -> str:
        return f"{self.job}: {self.what}"


class StepRecord(InsertOnly):
    """A step as done: what was confirmed and measured, by whom, and who looked a second time."""

    task = models.ForeignKey(JobTask, on_delete=models.PROTECT, related_name="records")
    step = models.CharField(max_length=60)
    side = models.CharField(max_length=5, blank=True)
    done_at = models.DateTimeField()
    confirmed = models.BooleanField(default=False)
    measured = models.JSONField(default=dict)
    second = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    passed_over_because = models.CharField(max_length=200, blank=True)
    """The lead's reason, where a step was not done; a hold point cannot be passed over so."""
    note = models.TextField(blank=True)
    photo = models.FileField(upload_to="photos/%Y/%m", blank=True)
    corrects = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="corrected_by")
    why_corrected = models.CharField(max_length=200, blank=True)

    class Meta(InsertOnly.Meta):
        ordering = ["entered_at"]

    def __str__(self) -> str:
        return f"{self.task}: {self.step}"


class TorqueRecord(InsertOnly):
    """The tightening of one wheel: by which wrench, to what, under which condition of the threads."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="torques")
    axle = models.PositiveSmallIntegerField()
    side = models.CharField(max_length=5)
    wrench = models.ForeignKey(Tool, on_delete=models.PROTECT, related_name="+")
    final = models.CharField(max_length=24)
    stages = models.JSONField(default=list)
    band = models.JSONField(default=dict)
    """The record it was tightened by: low, high, lubrication, source, basis."""
    studs = models.PositiveSmallIntegerField()

    def __str__(self) -> str:
        return f"{self.job} axle {self.axle} {self.side}: {self.final}"


class JobRelease(InsertOnly):
    """The release of a job: by whom, on which proof; sealed."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="release")
    proof = models.ForeignKey(WalkAround, on_delete=models.PROTECT, related_name="+")
    judged = models.ForeignKey(Judged, on_delete=models.PROTECT, related_name="+")
    qualification = models.JSONField(default=dict)
    seal = models.ForeignKey(Seal, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"release of {self.job}"


class ReCheck(ShopRow, Stamped):
    """A re-check that is due after a job: between two distances, and by a day."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="re_checks")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="re_checks")
    ends = models.JSONField(default=list)
    """The wheel ends, as ``{axle, side}``."""
    wheels = models.BooleanField(default=True)
    strokes = models.BooleanField(default=False)
    due_from = models.CharField(max_length=24, blank=True)
    due_by = models.CharField(max_length=24, blank=True)
    """On the unit's own meter; empty where it has none."""
    miles_from = models.PositiveSmallIntegerField(default=50)
    miles_by = models.PositiveSmallIntegerField(default=100)
    due_on = models.DateField()
    done_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"re-check of {self.unit} after {self.job}"


class ReCheckRecord(InsertOnly):
    """A re-check as done: by the shop, a driver or another shop."""

    re_check = models.ForeignKey(ReCheck, on_delete=models.PROTECT, related_name="records")
    done_at = models.DateTimeField()
    done_by = models.CharField(max_length=120)
    outside_shop = models.CharField(max_length=120, blank=True)
    meter = models.CharField(max_length=24, blank=True)
    wheels = models.JSONField(default=list)
    """Each wheel: ``{axle, side, nuts, moved, torque, wrench}``."""
    walk_around = models.ForeignKey(WalkAround, on_delete=models.PROTECT, null=True, related_name="+")
    note = models.TextField(blank=True)
    photo = models.FileField(upload_to="photos/%Y/%m", blank=True)

    def __str__(self) -> str:
        return f"{self.re_check}, done by {self.done_by}"
