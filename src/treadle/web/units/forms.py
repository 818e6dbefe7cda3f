"""What is typed on the screens of units: fields with their words, and each refusal put beside the field it means."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.utils import timezone

from treadle.errors import BadInput, TreadleError
from treadle.measure import read_quantity
from treadle.web.base import forms as base
from treadle.web.base.forms import moment_field
from treadle.web.people.models import Shop
from treadle.web.units.layouts import layouts
from treadle.web.units.models import MeterSegment, Unit
from treadle.web.units.specs import FIELDS, Field, said_of
from treadle.web.units.to_core import words_known
from treadle.words import has, say, term

_CLOCKS_MAY_DIFFER = timedelta(minutes=5)
_BETWEEN_NUMBERS = re.compile(r"[,;\n]+")
MEASURES = ("mi", "km")


class Spoken(base.Spoken):
    """A form whose labels and help stand under ``units.field`` and ``units.help`` in the person's language."""

    def label_code(self, name: str) -> str:
        """Return the code of a field's label."""
        return f"units.field.{name}"

    def help_code(self, name: str) -> str:
        """Return the code of a field's help."""
        return f"units.help.{name}"


def choices(words: Iterable[str], code: str, language: str, *, empty: str = "") -> list[tuple[str, str]]:
    """Return words with what is shown for each; `empty` is the code of what an empty choice shows."""
    listed = [(word, say(f"{code}.{word}", language)) for word in words]
    return [("", say(empty, language)), *listed] if empty else listed


def jurisdictions() -> list[str]:
    """Return the jurisdictions whose rules are held."""
    return sorted(words_known().jurisdictions)


def _not_to_come(at: datetime, language: str) -> datetime:
    if at > timezone.now() + _CLOCKS_MAY_DIFFER:
        raise ValidationError(say("units.to_come", language))
    return at


class Dated(Spoken):
    """A form about something that happened at a moment, which cannot be yet to come."""

    at = moment_field()

    def clean_at(self) -> datetime:
        """Refuse a moment that is yet to come."""
        return _not_to_come(self.cleaned_data["at"], self.language)


# -- a unit


class FactsForm(Spoken):
    """The facts of a unit that may be edited."""

    built = forms.CharField(max_length=10, widget=forms.TextInput(attrs={"placeholder": "2019-03"}))
    runs_in = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple)
    suspension = forms.ChoiceField(widget=forms.RadioSelect, required=False)
    owner = forms.CharField(max_length=120, required=False)
    maintainer = forms.CharField(max_length=120, required=False)
    vin = forms.CharField(max_length=40, required=False, widget=forms.TextInput(attrs={"autocapitalize": "characters"}))
    note = forms.CharField(required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Fill in the choices."""
        super().__init__(*args, **kwargs)
        runs_in, suspension = self.fields["runs_in"], self.fields["suspension"]
        runs_in.choices = [(place, term(place, self.language)) for place in jurisdictions()]  # type: ignore[attr-defined]
        suspension.choices = choices(Unit.Suspension.values, "units.suspension", self.language)  # type: ignore[attr-defined]

    def clean_suspension(self) -> str:
        """Take nothing chosen for not known."""
        return self.cleaned_data["suspension"] or Unit.Suspension.UNKNOWN

    def clean_built(self) -> str:
        """Take blanks off."""
        return str(self.cleaned_data["built"]).strip()


class EditForm(FactsForm):
    """The facts of a unit on record, with the state they were shown in."""

    version = forms.CharField(widget=forms.HiddenInput, label="-")


class RegisterForm(FactsForm):
    """One or several units of one layout."""

    layout = forms.ChoiceField(widget=forms.RadioSelect)
    numbers = forms.CharField(
        max_length=400, widget=forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off"})
    )
    meter = forms.CharField(max_length=24, required=False, widget=forms.TextInput(attrs={"inputmode": "decimal"}))
    measure = forms.ChoiceField(widget=forms.RadioSelect, required=False)
    field_order: Any = ("layout", "numbers", "built", "runs_in", "suspension", "meter", "measure")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Fill in the choices."""
        super().__init__(*args, **kwargs)
        layout, measure = self.fields["layout"], self.fields["measure"]
        layout.choices = choices(layouts(), "units.layout", self.language)  # type: ignore[attr-defined]
        measure.choices = choices(MEASURES, "units.measure", self.language)  # type: ignore[attr-defined]

    def clean_measure(self) -> str:
        """Take miles where nothing was chosen, as the field shows."""
        return self.cleaned_data["measure"] or MEASURES[0]

    def clean_numbers(self) -> list[str]:
        """Return the numbers typed, each once."""
        typed = (part.strip() for part in _BETWEEN_NUMBERS.split(self.cleaned_data["numbers"]))
        numbers = list(dict.fromkeys(part for part in typed if part))
        if not numbers:
            raise ValidationError(self.fields["numbers"].error_messages["required"])
        return numbers

    def clean(self) -> dict[str, Any]:
        """A VIN and a meter belong to one unit alone."""
        cleaned: dict[str, Any] = super().clean() or {}
        if len(cleaned.get("numbers", ())) > 1:
            for name in ("vin", "meter"):
                if cleaned.get(name):
                    self.add_error(name, say("units.for_one_alone", self.language))
        return cleaned

    def refuse(self, error: TreadleError, field: str | None = None) -> None:
        """Put what is wrong with a number beside the numbers typed, naming it."""
        for problem in error.problems:
            name = problem.where.rpartition(", ")[2]
            about_number = problem.slug in ("unit_number_unusable", "unit_number_taken")
            beside = field or ("numbers" if about_number else name if name in self.fields else None)
            sentence = self._sentence(problem, beside)
            if sentence not in self.errors.get(beside or NON_FIELD_ERRORS, ()):
                self.add_error(beside, sentence)


class LeaveForm(Spoken):
    """The day a unit left the fleet."""

    left_on = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))


# -- a part


class PartForm(Spoken):
    """What is said of the part in one slot; a size without its unit is in the shop's."""

    lot = forms.CharField(max_length=60, required=False)

    def __init__(self, *args: Any, slot: str, measure: str, language: str, **kwargs: Any) -> None:
        """Make the fields of the slot."""
        self.slot, self.measure = slot, measure
        super().__init__(*args, language=language, **kwargs)
        made = {field.name: self._made(field) for field in FIELDS[slot]}
        self.fields = {**made, **self.fields}

    def _made(self, field: Field) -> forms.Field:
        label = say(f"units.spec.{self.slot}.{field.name}", self.language)
        code = f"units.help.spec.{self.slot}.{field.name}"
        help_text = say(code, self.language) if has(code) else ""
        if field.kind == "size":
            bare = say(
                "units.bare_number", self.language, measure=say(f"units.measure_of_sizes.{self.measure}", self.language)
            )
            help_text = f"{help_text} {bare}".strip()
        common: dict[str, Any] = {"label": label, "required": field.needed, "help_text": help_text}
        if field.kind == "word":
            offered = [(word, said_of(self.slot, field, word, self.language)) for word in field.words]
            return forms.ChoiceField(choices=self._or_unknown(offered, field), **common)
        if field.kind == "yes_no":
            offered = [("yes", say("units.yes", self.language)), ("no", say("units.no", self.language))]
            return forms.ChoiceField(choices=self._or_unknown(offered, field), **common)
        if field.kind == "count":
            return forms.IntegerField(min_value=1, **common)
        return forms.CharField(max_length=60, **common)

    def _or_unknown(self, offered: Sequence[tuple[str, str]], field: Field) -> list[tuple[str, str]]:
        return list(offered) if field.needed else [("", say("units.not_known", self.language)), *offered]

    def clean(self) -> dict[str, Any]:
        """Read the sizes, a bare number in the shop's measure."""
        cleaned: dict[str, Any] = super().clean() or {}
        for field in FIELDS[self.slot]:
            text = cleaned.get(field.name)
            if field.kind == "size" and text:
                try:
                    size = read_quantity(text, "length", where=field.name, default_unit=self.measure)
                    cleaned[field.name] = str(size)
                except BadInput as refused:
                    self.refuse(refused)
        return cleaned

    @property
    def spec(self) -> dict[str, Any]:
        """What was said, as the record keeps it; nothing said of a field leaves it out."""
        kept = {}
        for field in FIELDS[self.slot]:
            value = self.cleaned_data.get(field.name)
            if value not in (None, ""):
                kept[field.name] = value == "yes" if field.kind == "yes_no" else value
        return kept

    @staticmethod
    def initial_of(slot: str, spec: Mapping[str, Any], lot: str = "") -> dict[str, Any]:
        """Return what the form begins with for a part on record."""
        begun: dict[str, Any] = {"lot": lot}
        for field in FIELDS[slot]:
            value = spec.get(field.name)
            if value not in (None, ""):
                begun[field.name] = ("yes" if value else "no") if field.kind == "yes_no" else value
        return begun


class CorrectForm(PartForm):
    """A correction of what is on record of a part, with the state it was shown in."""

    version = forms.CharField(widget=forms.HiddenInput, label="-")


class AnotherForm(PartForm, Dated):
    """Another part was fitted: from when, and why the one before came off."""

    why = forms.CharField(max_length=200)
    fitted_meter = forms.CharField(max_length=24, required=False)


class CopyForm(Spoken):
    """Which parts to record at which other ends."""

    slots = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple)
    ends = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple)

    def __init__(
        self, *args: Any, slots: Sequence[tuple[str, str]], ends: Sequence[tuple[str, str]], **kwargs: Any
    ) -> None:
        """Fill in what is here and where it can go."""
        super().__init__(*args, **kwargs)
        self.fields["slots"].choices = slots  # type: ignore[attr-defined]
        self.fields["ends"].choices = ends  # type: ignore[attr-defined]


# -- meter and documents


class NoteMeterForm(Dated):
    """What the running meter shows."""

    reading = forms.CharField(max_length=24, widget=forms.TextInput(attrs={"inputmode": "decimal"}))
    field_order: Any = ("reading", "at")


class StopMeterForm(Dated):
    """The running meter was found standing."""

    last_reading = forms.CharField(
        max_length=24, required=False, widget=forms.TextInput(attrs={"inputmode": "decimal"})
    )
    field_order: Any = ("last_reading", "at")


class NewMeterForm(Dated):
    """A meter begins: the first, another in place of the one before, or the same one from another figure."""

    new_reading = forms.CharField(max_length=24, widget=forms.TextInput(attrs={"inputmode": "decimal"}))
    kind_of_meter = forms.ChoiceField(widget=forms.RadioSelect)
    measure = forms.ChoiceField(widget=forms.RadioSelect)
    field_order: Any = ("new_reading", "kind_of_meter", "measure", "at")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Fill in the choices."""
        super().__init__(*args, **kwargs)
        kind, measure = self.fields["kind_of_meter"], self.fields["measure"]
        kind.choices = choices(MeterSegment.Kind.values, "units.meter_kind", self.language)  # type: ignore[attr-defined]
        measure.choices = choices(MEASURES, "units.measure", self.language)  # type: ignore[attr-defined]


class ReplaceMeterForm(NewMeterForm):
    """Another meter takes the place of the running one, or the running one went on from another figure."""

    last_reading = forms.CharField(
        max_length=24, required=False, widget=forms.TextInput(attrs={"inputmode": "decimal"})
    )
    ended_why = forms.ChoiceField(widget=forms.RadioSelect)
    field_order: Any = ("last_reading", "new_reading", "ended_why", "kind_of_meter", "measure", "at")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Fill in the choices."""
        super().__init__(*args, **kwargs)
        ended = (MeterSegment.Ended.REPLACED, MeterSegment.Ended.RESTARTED)
        self.fields["ended_why"].choices = choices(ended, "units.meter_ended", self.language)  # type: ignore[attr-defined]


class DocumentForm(Spoken):
    """A picture or a PDF, and what it is."""

    what = forms.CharField(max_length=120)
    file = forms.FileField(
        widget=forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png,image/webp,application/pdf"})
    )


def measure_for(shop: Shop, own: str) -> str:
    """Return the unit a bare size is in: the person's own choice, else the shop's."""
    return own or shop.measure
