"""What a driver types in a report, and what the shop answers."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from treadle.errors import TreadleError
from treadle.reports.defect_report import ITEMS
from treadle.reports.wording import capital
from treadle.rules.load import shipped
from treadle.web.dispatch.forms import Spoken
from treadle.web.dispatch.obstacles import CERTIFIED
from treadle.web.dispatch.wording import condition_said, item_said
from treadle.words import say

AT_A_WHEEL = ("service_brakes", "parking_brake", "tires", "wheels", "other")
"""What of the items of 49 CFR 396.11 stands at a wheel end."""
_BRAKES = ("service_brakes", "parking_brake")


def items_at(*, wheel: bool) -> tuple[str, ...]:
    """Return the items there are to choose: of a wheel end, or of the whole vehicle."""
    return AT_A_WHEEL if wheel else ITEMS


class OfTheDoor(Spoken):
    """A form of the driver's door, whose words stand under ``driver.field`` and ``driver.help``."""

    def label_code(self, name: str) -> str:
        """Return the code of a field's label."""
        return f"driver.field.{name}"

    def help_code(self, name: str) -> str:
        """Return the code of a field's help."""
        return f"driver.help.{name}"


class SeenForm(OfTheDoor):
    """What every report has: its id, what the meter shows and where the vehicle is."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    meter = forms.CharField(
        required=False, max_length=24, widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    )
    where = forms.CharField(required=False, max_length=120)

    def refuse(self, error: TreadleError, field: str | None = None) -> None:
        """Put each problem beside the field it is about: the picture, else the meter."""
        for problem in error.problems:
            name = {"file": "photo"}.get(problem.where, "meter")
            super().refuse(type(error)(problem), field or (name if name in self.fields else None))


class DefectForm(SeenForm):
    """A defect: what it is about, what is seen, in words from the list or the driver's own."""

    item = forms.ChoiceField(widget=forms.RadioSelect)
    condition = forms.ChoiceField(required=False)
    said = forms.CharField(required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 3}))
    photo = forms.FileField(
        required=False, widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"})
    )

    def __init__(self, *args: Any, wheel: bool, **kwargs: Any) -> None:
        """Fill in the items and the conditions there are at a wheel end, or on the vehicle."""
        super().__init__(*args, **kwargs)
        self.order_fields(["id", "item", "condition", "said", "photo", "meter", "where"])
        part = "brake" if wheel else "air"
        listed = [
            (name, capital(condition_said(name, self.language)))
            for name, condition in shipped().conditions.items()
            if condition.part == part
        ]
        items = [(item, capital(item_said(item, self.language))) for item in items_at(wheel=wheel)]
        self.fields["item"].choices = items  # type: ignore[attr-defined]
        none = ("", say("driver.field.no_condition", self.language))
        self.fields["condition"].choices = [none, *sorted(listed, key=lambda one: one[1])]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Ask for words where no condition says it; a condition of a brake is about the brakes."""
        entered = super().clean() or {}
        if not entered.get("condition") and not entered.get("said", "").strip():
            self.add_error("said", say("driver.report.say_what", self.language))
        if entered.get("condition") and entered.get("item") not in (*_BRAKES, None):
            entered["item"] = "service_brakes"
        return entered


class NothingFoundForm(SeenForm):
    """The driver's statement that no defect was found."""


class AnswerForm(OfTheDoor):
    """The carrier's certificate on a reported defect."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    what = forms.ChoiceField(widget=forms.RadioSelect)
    said = forms.CharField(max_length=1000, widget=forms.Textarea(attrs={"rows": 3}))
    job = forms.CharField(required=False, max_length=40)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Fill in the answers there are."""
        super().__init__(*args, **kwargs)
        self.fields["said"].label = say("driver.field.answer", self.language)
        self.fields["said"].help_text = say("driver.help.answer", self.language)
        self.fields["what"].choices = [(what, say(f"driver.certify.{what}", self.language)) for what in CERTIFIED]  # type: ignore[attr-defined]

    def clean_said(self) -> str:
        """Refuse blanks."""
        said = str(self.cleaned_data["said"]).strip()
        if not said:
            raise ValidationError(say("driver.answer.say_what", self.language))
        return said
