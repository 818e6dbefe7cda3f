"""The forms of the walk-around: beginning one, handing in a file, settling what was set aside."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from treadle.web.people.models import Person
from treadle.web.units.meters import last_shown
from treadle.web.units.models import Unit
from treadle.web.walkaround.screen import who_may_read
from treadle.words import say, term

OCCASIONS = ("service", "daily", "received", "roadside", "periodic")
"""What a walk can be begun for here; after work it is begun from its job."""
DRIVERS_OCCASIONS = ("daily",)


class BeginForm(forms.Form):
    """What a walk is for, of what, what the meters show and who reads."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    occasion = forms.ChoiceField(widget=forms.RadioSelect)
    alone = forms.ChoiceField(widget=forms.RadioSelect, required=False)
    caller = forms.ChoiceField(required=False)

    def __init__(
        self,
        *args: Any,
        line: Sequence[Unit],
        unit: Unit,
        person: Person,
        language: str,
        occasions: Sequence[str],
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("initial", {"id": uuid.uuid4(), "occasion": occasions[0], "alone": ""})
        super().__init__(*args, **kwargs)
        self.line, self.language = line, language
        self.replaced_offered: set[str] = set()
        occasion = self.fields["occasion"]
        occasion.label = say("walkaround.begin.occasion", language)
        occasion.choices = [(word, word) for word in occasions]  # type: ignore[attr-defined]
        self.occasions = [(word, term(word, language), say(f"walkaround.needs.{word}", language)) for word in occasions]
        alone = self.fields["alone"]
        alone.label = say("walkaround.begin.of_what", language)
        numbers = " + ".join(one.number for one in line)
        alone.choices = [  # type: ignore[attr-defined]
            ("", say("walkaround.begin.combination", language, units=numbers)),
            ("alone", say("walkaround.begin.alone", language, unit=unit.number)),
        ]
        if len(line) == 1:
            del self.fields["alone"]
        others = [one for one in who_may_read(occasions[0]) if one.pk != person.pk]
        caller = self.fields["caller"]
        caller.label = say("walkaround.begin.who", language)
        caller.help_text = say("walkaround.begin.who_help", language)
        caller.choices = [("", say("walkaround.begin.myself", language)), *((str(one.pk), one.name) for one in others)]  # type: ignore[attr-defined]
        for one in line:
            self._ask_for_meter(one)

    def _ask_for_meter(self, unit: Unit) -> None:
        shown = last_shown(unit)
        if shown is None:
            return
        field = forms.CharField(required=False, max_length=24, strip=True)
        field.label = say("walkaround.begin.meter", self.language, unit=unit.number)
        field.help_text = say("walkaround.begin.last_shown", self.language, reading=shown.text)
        field.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off"}
        self.fields[f"meter_{unit.number}"] = field
        new = forms.BooleanField(required=False)
        new.label = say("walkaround.begin.replaced", self.language, unit=unit.number)
        self.fields[f"replaced_{unit.number}"] = new

    def meter_fields(self) -> Iterator[tuple[BoundField, BoundField | None]]:
        """Return each unit's meter, with the question whether it was replaced where that is asked."""
        for one in self.line:
            if f"meter_{one.number}" in self.fields:
                asked = one.number in self.replaced_offered or self[f"replaced_{one.number}"].value()
                yield self[f"meter_{one.number}"], self[f"replaced_{one.number}"] if asked else None

    @property
    def meters(self) -> dict[str, str]:
        """What the meters show, by unit number."""
        return self._by_unit("meter_")

    @property
    def replaced(self) -> list[str]:
        """The units whose meter was replaced."""
        return list(self._by_unit("replaced_"))

    def _by_unit(self, prefix: str) -> dict[str, Any]:
        return {
            name.removeprefix(prefix): value
            for name, value in self.cleaned_data.items()
            if name.startswith(prefix) and value
        }


class ManyFiles(forms.ClearableFileInput):
    """A file field that takes the three tables at once."""

    allow_multiple_selected = True


class FilesField(forms.FileField):
    """One file or several; each is checked as one would be."""

    widget = ManyFiles

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        """Return the files."""
        given = data if isinstance(data, list | tuple) else [data]
        return [super(FilesField, self).clean(one, initial) for one in given or [None]]


class FileForm(forms.Form):
    """A walk-around file: one workbook or JSON file, or three tables, which may leave the occasion to the form."""

    handed_in = FilesField(widget=ManyFiles(attrs={"accept": ".json,.xlsx,.csv"}))
    occasion = forms.ChoiceField(required=False)

    def __init__(self, *args: Any, language: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        files, occasion = self.fields["handed_in"], self.fields["occasion"]
        files.label, files.help_text = (
            say("walkaround.file.files", language),
            say("walkaround.file.files_help", language),
        )
        occasion.label = say("walkaround.file.occasion", language)
        occasion.help_text = say("walkaround.file.occasion_help", language)
        as_stated = ("", say("walkaround.file.as_stated", language))
        occasion.choices = [as_stated, *((one, term(one, language)) for one in OCCASIONS)]  # type: ignore[attr-defined]


class SettleForm(forms.Form):
    """What was done about an entry that was set aside."""

    how = forms.CharField(max_length=200, strip=True)
