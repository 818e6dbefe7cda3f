"""What is typed on the screens of dispatch."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from treadle.web.base import forms as base
from treadle.web.base.forms import moment_field
from treadle.words import say

USUAL_ORDER = timedelta(hours=4)
"""What the form offers (chosen: a shift's half)."""
LONGEST_ORDER = timedelta(days=3)
"""How long an order to move a held unit in the yard may stand (chosen: over a weekend)."""


class Spoken(base.Spoken):
    """A form whose labels and help stand under ``dispatch.field`` and ``dispatch.help`` in the person's language."""

    def label_code(self, name: str) -> str:
        """Return the code of a field's label."""
        return f"dispatch.field.{name}"

    def help_code(self, name: str) -> str:
        """Return the code of a field's help."""
        return f"dispatch.help.{name}"


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
    until = moment_field()

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
