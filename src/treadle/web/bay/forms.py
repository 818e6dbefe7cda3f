"""What is typed on the bay's screens; each refusal is put beside the field it means."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils import timezone

from treadle.fleet.records import SIDES
from treadle.procedures import shipped
from treadle.web.base import forms as base
from treadle.web.base.forms import day_field, moment_field
from treadle.web.bay.models import Bay, Tool
from treadle.web.bay.proposing import ByHand
from treadle.web.bay.wording import qualified_as
from treadle.web.people.models import Person, Role, RoleHeld
from treadle.web.units.forms import PartForm
from treadle.words import say, term


class Spoken(base.Spoken):
    """A form whose labels and help stand under ``bay.field`` and ``bay.help`` in the person's language."""

    def label_code(self, name: str) -> str:
        """Return the code of a field's label."""
        return f"bay.field.{name}"

    def help_code(self, name: str) -> str:
        """Return the code of a field's help."""
        return f"bay.help.{name}"


def _text(most: int = 200, *, required: bool = True, rows: int = 0) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": rows}) if rows else forms.TextInput
    return forms.CharField(max_length=most, required=required, widget=widget)


def hands() -> list[Person]:
    """Return the people of the shop who do brake work: technicians and leads, by name."""
    held = RoleHeld.objects.filter(role__in=(Role.TECHNICIAN, Role.LEAD), until=None)
    return list(Person.objects.filter(is_active=True, pk__in=held.values("person")).order_by("name"))


# -- proposing


class ProposeForm(Spoken):
    """Which of the proposed tasks are done, and a procedure added by hand."""

    tasks = forms.MultipleChoiceField(required=False, widget=forms.CheckboxSelectMultiple)
    procedure = forms.ChoiceField(required=False)
    axle = forms.ChoiceField(required=False)
    sides = forms.ChoiceField(required=False)
    note = _text(2000, required=False, rows=2)

    def __init__(self, *args: Any, tasks: Sequence[str], axles: Sequence[int], **kwargs: Any) -> None:
        """Fill in what can be done to this unit; a task ticked on a page that is out of date is told apart later."""
        super().__init__(*args, **kwargs)
        ticked = self.data.getlist("tasks") if isinstance(self.data, QueryDict) else []
        self.choose("tasks", [(one, one) for one in dict.fromkeys([*tasks, *ticked])])
        procedure_choices(self, axles)

    @property
    def by_hand(self) -> list[ByHand]:
        """What was added by hand."""
        return by_hand_of(self.cleaned_data)


class AddTaskForm(Spoken):
    """A procedure that the work showed to be needed."""

    procedure = forms.ChoiceField()
    axle = forms.ChoiceField()
    sides = forms.ChoiceField()

    def __init__(self, *args: Any, axles: Sequence[int], **kwargs: Any) -> None:
        """Fill in what can be done to this unit."""
        super().__init__(*args, **kwargs)
        procedure_choices(self, axles)


def procedure_choices(form: Spoken, axles: Sequence[int]) -> None:
    """Fill in the procedures, the axles and the ends that can be chosen."""
    language = form.language
    none = [] if form.fields["procedure"].required else [("", say("bay.propose.nothing_by_hand", language))]
    form.choose("procedure", [*none, *((key, one.title.says(language)) for key, one in shipped().items())])
    form.choose("axle", [(str(axle), say("bay.axle", language, axle=axle)) for axle in axles])
    form.choose("sides", [("", say("bay.both_ends", language)), *((side, term(side, language)) for side in SIDES)])
    form.fields["sides"].required = False


def by_hand_of(entered: dict[str, Any]) -> list[ByHand]:
    """Return what was added by hand, if anything was."""
    if not entered["procedure"]:
        return []
    sides = (entered["sides"],) if entered["sides"] else SIDES
    return [ByHand(entered["procedure"], int(entered["axle"]), sides)]


# -- people, and what happens to a job


class CrewForm(Spoken):
    """Who works, and who supervises."""

    does = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple)
    supervises = forms.ChoiceField(required=False)

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        """Fill in the people with how they are qualified on the day."""
        super().__init__(*args, **kwargs)
        self.people = {str(one.pk): one for one in hands()}
        said = [
            (pk, say("bay.person", self.language, name=one.name, qualified=qualified_as(one, on, self.language)))
            for pk, one in self.people.items()
        ]
        self.choose("does", said)
        self.choose("supervises", [("", say("bay.nobody_supervises", self.language)), *said])

    @property
    def workers(self) -> list[Person]:
        """Who works."""
        return [self.people[pk] for pk in self.cleaned_data["does"]]

    @property
    def supervisor(self) -> Person | None:
        """Who supervises."""
        return self.people.get(self.cleaned_data["supervises"])


class AcceptForm(CrewForm):
    """People, bay and when it is wanted."""

    bay = forms.ChoiceField(required=False)
    wanted_by = moment_field(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Fill in the bays."""
        super().__init__(*args, **kwargs)
        self.bays = {str(one.pk): one for one in Bay.objects.filter(closed_at=None).order_by("name")}
        none = ("", say("bay.no_bay_chosen", self.language))
        self.choose("bay", [none, *((pk, one.name) for pk, one in self.bays.items())])


class HandOverForm(CrewForm):
    """Who takes a job over, and what they are told."""

    note = _text(1000, required=False, rows=3)


class WhyForm(Spoken):
    """A reason."""

    why = _text()


class PassOverForm(WhyForm):
    """Why a step is not done."""

    record = forms.UUIDField(widget=forms.HiddenInput, label="-")


# -- bays and tools


class BayForm(Spoken):
    """A place to work."""

    name = _text(60)


class ToolForm(Spoken):
    """A torque wrench or gauge."""

    number = _text(40)
    kind = forms.ChoiceField(widget=forms.RadioSelect)
    calibrated_on = day_field(required=False)
    calibration_due_on = day_field(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Fill in the kinds."""
        super().__init__(*args, **kwargs)
        self.choose("kind", [(kind, say(f"bay.tool_kind.{kind}", self.language)) for kind in Tool.Kind.values])

    def clean(self) -> dict[str, Any]:
        """Refuse a number that is taken, and dates that cannot be so."""
        entered = super().clean() or {}
        if Tool.objects.filter(number=entered.get("number", "")).exists():
            self.add_error("number", say("bay.tool.taken", self.language))
        check_calibration(self, entered)
        return entered


class CalibrationForm(Spoken):
    """A tool was calibrated."""

    calibrated_on = day_field()
    calibration_due_on = day_field()

    def clean(self) -> dict[str, Any]:
        """Refuse dates that cannot be so."""
        entered = super().clean() or {}
        check_calibration(self, entered)
        return entered


def check_calibration(form: Spoken, entered: dict[str, Any]) -> None:
    """Refuse a calibration that has not been yet, or is due before it was done."""
    done, due = entered.get("calibrated_on"), entered.get("calibration_due_on")
    if done and done > timezone.localdate():
        form.add_error("calibrated_on", say("bay.to_come", form.language))
    if done and due and due < done:
        form.add_error("calibration_due_on", say("bay.tool.due_before", form.language))


# -- parts


class FitForm(PartForm):
    """A part that a job fitted: as the one before but for what is changed here, and its lot."""

    why = forms.CharField(max_length=200)
    at = moment_field()

    def __init__(self, *args: Any, other_side: str = "", **kwargs: Any) -> None:
        """Offer the other end, where the job works on it too."""
        super().__init__(*args, **kwargs)
        if other_side:
            label = say("bay.part.other_side", self.language, side=term(other_side, self.language))
            self.fields["other_side"] = forms.BooleanField(required=False, label=label)
        self.fields["lot"].help_text = say("bay.help.lot", self.language)

    def clean_at(self) -> datetime:
        """Refuse a moment that is yet to come."""
        return not_to_come(self.cleaned_data["at"], self.language)


def not_to_come(at: datetime, language: str) -> datetime:
    """Return a moment, unless it is yet to come."""
    if at > timezone.now() + timedelta(minutes=5):
        raise ValidationError(say("bay.to_come", language))
    return at


# -- re-checks


class ReCheckForm(Spoken):
    """Wheels checked after the first miles, by whom and with what."""

    record = forms.UUIDField(widget=forms.HiddenInput, label="-")
    done_at = moment_field()
    done_by = _text(120)
    outside_shop = _text(120, required=False)
    meter = forms.CharField(max_length=24, required=False, widget=forms.TextInput(attrs={"inputmode": "decimal"}))
    note = _text(2000, required=False, rows=2)
    photo = forms.ImageField(
        required=False, widget=forms.ClearableFileInput(attrs={"accept": "image/*", "capture": "environment"})
    )

    def __init__(
        self, *args: Any, ends: Sequence[tuple[int, str]], studs: dict[tuple[int, str], int], **kwargs: Any
    ) -> None:
        """Ask for the nuts of each end."""
        kwargs.setdefault("initial", {})
        kwargs["initial"].setdefault("record", uuid.uuid4())
        super().__init__(*args, **kwargs)
        self.ends = ends
        for axle, side in ends:
            for name, field in self._of_end(studs.get((axle, side))):
                field.label = say(f"bay.field.{name}", self.language)
                self.fields[f"{name}_{axle}_{side}"] = field

    @staticmethod
    def _of_end(studs: int | None) -> Iterable[tuple[str, forms.Field]]:
        """Give the fields of an end, all to be filled in: a number that stands there already is a check nobody made."""
        number = {"inputmode": "numeric"}
        counted = forms.NumberInput(attrs=number | ({"placeholder": str(studs)} if studs else {}))
        yield "nuts", forms.IntegerField(min_value=1, max_value=40, widget=counted)
        yield "moved", forms.IntegerField(min_value=0, max_value=40, widget=forms.NumberInput(attrs=number))
        yield "torque", forms.CharField(max_length=24)
        yield "wrench", forms.CharField(max_length=40)

    def clean_done_at(self) -> datetime:
        """Refuse a moment that is yet to come."""
        return not_to_come(self.cleaned_data["done_at"], self.language)

    def fields_of(self, axle: int, side: str) -> list[Any]:
        """Return the fields of an end, for the template."""
        return [self[f"{name}_{axle}_{side}"] for name in ("nuts", "moved", "torque", "wrench")]

    @property
    def wheels(self) -> list[dict[str, Any]]:
        """What was entered of each end."""
        return [
            {
                "axle": axle,
                "side": side,
                **{name: self.cleaned_data[f"{name}_{axle}_{side}"] for name in ("nuts", "moved", "torque", "wrench")},
            }
            for axle, side in self.ends
        ]


def here_and_now(zone: str) -> datetime:
    """Return the moment by the clock of the shop, as a form begins with it."""
    return timezone.now().astimezone(ZoneInfo(zone)).replace(second=0, microsecond=0)
