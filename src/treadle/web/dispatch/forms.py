"""What is typed on the screens of dispatch."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from treadle.words import has, say

_MINUTE = "%Y-%m-%dT%H:%M"
USUAL_ORDER = timedelta(hours=4)
"""What the form offers (chosen: a shift's half)."""
LONGEST_ORDER = timedelta(days=3)
"""How long an order to move a held unit in the yard may stand (chosen: over a weekend)."""


class Spoken(forms.Form):
    """A form whose labels and help stand under ``dispatch.field`` and ``dispatch.help`` in the person's language."""

    def __init__(self, *args: Any, language: str, **kwargs: Any) -> None:
        """Give every field its words."""
        super().__init__(*args, **kwargs)
        self.language = language
        for name, field in self.fields.items():
            if not isinstance(field.widget, forms.HiddenInput):
                field.label, field.help_text = self.words_of(name)

    def words_of(self, name: str) -> tuple[str, str]:
        """Return the label of a field, and its help where there is any."""
        told = say(f"dispatch.help.{name}", self.language) if has(f"dispatch.help.{name}") else ""
        return say(f"dispatch.field.{name}", self.language), told


class LetGoForm(Spoken):
    """A combination let go: an id made by the page, so that a second tap lets it go once, and a note."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    note = forms.CharField(required=False, max_length=200)


class WantedForm(forms.Form):
    """Which units were wanted, and what for."""

    units = forms.CharField(max_length=200)
    about = forms.ChoiceField(choices=[("dispatch", "dispatch"), ("coupling", "coupling")])


class AllTheSameForm(Spoken):
    """The lead's reason to couple what may not leave."""

    why = forms.CharField(max_length=200)


class OrderForm(Spoken):
    """The lead's order to move a held unit in the yard."""

    from_place = forms.CharField(max_length=80)
    to_place = forms.CharField(max_length=80)
    why = forms.CharField(max_length=200)
    until = forms.DateTimeField(
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format=_MINUTE),
        input_formats=[_MINUTE, "%Y-%m-%dT%H:%M:%S"],
    )

    def clean_until(self) -> datetime:
        """Refuse a moment that is past, or so far off that nobody remembers the order."""
        until: datetime = self.cleaned_data["until"]
        now = timezone.now()
        if until <= now:
            raise ValidationError(say("dispatch.order.past", self.language))
        if until > now + LONGEST_ORDER:
            raise ValidationError(say("dispatch.order.too_long", self.language, days=LONGEST_ORDER.days))
        return until


def new_id() -> uuid.UUID:
    """Return an id for what a page is about to send."""
    return uuid.uuid4()
