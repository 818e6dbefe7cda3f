"""The form of one step: what its hold point asks for and nothing else; a second person enters their own password."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.http import HttpRequest

from treadle.errors import BadInput
from treadle.fleet.read import DIMENSIONS
from treadle.measure import read_quantity
from treadle.procedures import Measurement, Step
from treadle.procedures.model import LUBRICATION_OPEN
from treadle.reports.wording import day_of
from treadle.web.bay.forms import Spoken, hands
from treadle.web.bay.models import Tool
from treadle.web.bay.steps import HoldPointLacks
from treadle.web.bay.wording import torque_choice
from treadle.web.people.models import Person
from treadle.words import say, term

SPECIALS = ("no_movement", "bottomed")
_DEFAULT_UNIT = {"pressure": "psi"}
TORQUE_UNITS = ("lbf·ft", "N·m")
_FIELD_OF = {
    "no_second_person": "second",
    "same_person": "second",
    "not_confirmed": "confirmed",
    "no_torque": "torque_value",
    "outside_band": "torque_value",
    "unknown_torque_record": "torque_record",
    "no_wrench": "wrench",
    "no_lubrication": "lubrication",
    "no_note": "note",
}
"""Beside which field it is said what a hold point still lacks."""


class StepForm(Spoken):
    """A step as it is written down.

    The second person is chosen by name on the same phone and enters their own password, checked as at sign-in and
    counted as a try there: so a second person is a second person, and not a name somebody tapped.
    """

    use_required_attribute = False
    record = forms.UUIDField(widget=forms.HiddenInput, label="-")
    corrects = forms.UUIDField(widget=forms.HiddenInput, label="-", required=False)

    def __init__(
        self, *args: Any, step: Step, by: Person, measure: str, correcting: bool = False, **kwargs: Any
    ) -> None:
        """Make the fields that the step's hold point asks for."""
        kwargs.setdefault("initial", {})
        kwargs["initial"].setdefault("record", uuid.uuid4())
        super().__init__(*args, **kwargs)
        self.step, self.by, self.measure = step, by, measure
        kinds = step.hold.kinds if step.hold is not None else ()
        for name, field in self._asked(kinds, correcting=correcting):
            self.fields[name] = field
            self.word(name)

    # -- what is asked

    def _asked(self, kinds: tuple[str, ...], *, correcting: bool) -> Iterator[tuple[str, forms.Field]]:
        yield from self._measurements()
        if "torque" in kinds:
            yield from self._torque()
        if "confirm" in kinds or "second_person" in kinds:
            confirm = self.step.hold.confirm if self.step.hold is not None else None
            label = confirm.says(self.language) if confirm is not None else ""
            yield "confirmed", forms.BooleanField(label=label, error_messages=self._lacking("not_confirmed"))
        if "second_person" in kinds:
            others = [(str(one.pk), one.name) for one in hands() if one.pk != self.by.pk]
            choices = [("", say("bay.choose_second", self.language)), *others]
            lacking = self._lacking("no_second_person")
            yield "second", forms.ChoiceField(choices=choices, error_messages=lacking)
            password = forms.PasswordInput(attrs={"autocomplete": "off"})
            yield "second_password", forms.CharField(widget=password, strip=False, error_messages=lacking)
        if correcting:
            yield "why_corrected", forms.CharField(max_length=200)
        rows = forms.Textarea(attrs={"rows": 2})
        lacking = self._lacking("no_note")
        yield "note", forms.CharField(max_length=1000, required="note" in kinds, widget=rows, error_messages=lacking)

    def _measurements(self) -> Iterator[tuple[str, forms.Field]]:
        for index, measurement in enumerate(self.own_measurements):
            for place in range(measurement.count):
                says = measurement.says.says(self.language)
                label = say("bay.one_of", self.language, what=says, number=place + 1) if measurement.count > 1 else says
                text = forms.TextInput(attrs={"autocomplete": "off"})
                lacking = self._lacking("no_measurement", measurement=says)
                field = forms.CharField(max_length=24, label=label, widget=text, error_messages=lacking)
                field.required = not self.data.get(f"special_{index}_{place}")
                yield f"measured_{index}_{place}", field
                if measurement.dimension == "length":
                    words = [("", say("bay.measured_as_entered", self.language))]
                    words += [(special, term(special, self.language)) for special in SPECIALS]
                    label = say("bay.field.special", self.language)
                    yield f"special_{index}_{place}", forms.ChoiceField(choices=words, required=False, label=label)

    @property
    def own_measurements(self) -> list[Measurement]:
        """What is measured for the step itself, not on the after-work walk-around."""
        return [one for one in self.step.hold.measurements if not one.is_reading] if self.step.hold is not None else []

    def _torque(self) -> Iterator[tuple[str, forms.Field]]:
        records = [(one.key, torque_choice(one, self.language)) for one in self.step.torque]
        lacking = self._lacking("unknown_torque_record")
        yield "torque_record", forms.ChoiceField(choices=records, widget=forms.RadioSelect, error_messages=lacking)
        if any(one.lubrication == LUBRICATION_OPEN for one in self.step.torque):
            yield "lubrication", forms.CharField(max_length=120, required=False)
        wrenches = Tool.objects.filter(kind=Tool.Kind.TORQUE_WRENCH, retired_at=None).order_by("number")
        said = [(one.number, wrench_said(one, self.language)) for one in wrenches]
        choices = [("", say("bay.choose_wrench", self.language)), *said]
        yield "wrench", forms.ChoiceField(choices=choices, error_messages=self._lacking("no_wrench"))
        text = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        yield "torque_value", forms.CharField(max_length=24, widget=text, error_messages=self._lacking("no_torque"))
        units = [(unit, unit) for unit in TORQUE_UNITS]
        yield "torque_unit", forms.ChoiceField(choices=units, widget=forms.RadioSelect, initial=TORQUE_UNITS[0])

    def _lacking(self, code: str, **arguments: str) -> dict[str, str]:
        """Return what a field says when it is empty: what the hold point still lacks."""
        return {"required": say(f"procedure.missing.{code}", self.language, **arguments)}

    # -- what was entered

    def clean(self) -> dict[str, Any]:
        """Read each quantity as it was typed."""
        entered = super().clean() or {}
        for index, measurement in enumerate(self.own_measurements):
            for place in range(measurement.count):
                self._read(f"measured_{index}_{place}", self._dimension(measurement), entered)
        self._read("torque_value", "torque", entered)
        return entered

    def _dimension(self, measurement: Measurement) -> str:
        return measurement.dimension or DIMENSIONS.get(measurement.kind, "pressure")

    def _read(self, name: str, dimension: str, entered: dict[str, Any]) -> None:
        text = entered.get(name)
        if not text:
            return
        unit = entered.get("torque_unit") if dimension == "torque" else _DEFAULT_UNIT.get(dimension, self.measure)
        try:
            entered[name] = str(read_quantity(text, dimension, where=name, default_unit=unit or TORQUE_UNITS[0]))
        except BadInput as refused:
            self.refuse(refused, name)

    @property
    def entries(self) -> list[dict[str, Any]]:
        """What was measured for the step itself."""
        found = []
        for index, measurement in enumerate(self.own_measurements):
            for place in range(measurement.count):
                value = self.cleaned_data.get(f"measured_{index}_{place}")
                special = self.cleaned_data.get(f"special_{index}_{place}")
                if value or special:
                    entry = {"kind": measurement.kind, "value": None if special else value, "special": special or None}
                    found.append({**entry, "place": measurement.place, "state": measurement.state})
        return found

    @property
    def torque(self) -> dict[str, Any] | None:
        """The torque as entered: one whole record, the wrench and the value; None where none is asked or entered."""
        value = self.cleaned_data.get("torque_value")
        if "torque_value" not in self.fields or not value:
            return None
        return {
            "record": self.cleaned_data["torque_record"],
            "wrench": self.cleaned_data["wrench"],
            "value": value,
            "lubrication": self.cleaned_data.get("lubrication", ""),
        }

    def second_person(self, request: HttpRequest) -> Person | None:
        """Return the second person, once their own password says that it is they; None where none is asked or chosen.

        Raises
        ------
        SecondNotProved
            The password is not theirs, or not their own yet.
        """
        chosen = self.cleaned_data.get("second")
        if not chosen:
            return None
        person: Person = Person.objects.get(pk=chosen)
        password = self.cleaned_data.get("second_password") or ""
        if person.must_change_password or authenticate(request, username=person.sign_in, password=password) != person:
            raise SecondNotProved  # a password that was lent is known to whoever made it
        return person

    def lacks(self, refused: HoldPointLacks) -> None:
        """Say beside its field what the hold point still lacks."""
        for missing in refused.missing:
            field = _FIELD_OF.get(missing.code)
            if field is None:
                measured = missing.says.arguments.get("measurement")
                field = self._field_measured(measured)
            self.add_error(field if field in self.fields else None, missing.says.says(self.language))

    def _field_measured(self, measured: Any) -> str | None:
        for index, measurement in enumerate(self.own_measurements):
            if measurement.says == measured:
                return f"measured_{index}_0"
        return None


class SecondNotProved(Exception):
    """Whoever was chosen as second person did not enter their own password."""


def wrench_said(tool: Tool, language: str) -> str:
    """Return a wrench with when its calibration is due."""
    if tool.calibration_due_on is None:
        return say("bay.wrench_unknown", language, number=tool.number)
    return say("bay.wrench", language, number=tool.number, day=day_of(tool.calibration_due_on, language))
