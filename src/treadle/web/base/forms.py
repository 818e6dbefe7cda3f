"""What all forms share: their words in the person's language, and each refusal beside the field it means."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from treadle.errors import Problem, TreadleError
from treadle.words import has, say

MINUTE, DAY = "%Y-%m-%dT%H:%M", "%Y-%m-%d"


class Spoken(forms.Form):
    """A form in one language; a subclass says under which codes the labels and helps of its fields stand."""

    def __init__(self, *args: Any, language: str, **kwargs: Any) -> None:
        """Give every field its words."""
        super().__init__(*args, **kwargs)
        self.language = language
        for name in self.fields:
            self.word(name)

    def label_code(self, name: str) -> str:
        """Return the code of a field's label."""
        raise LookupError(f"{type(self).__name__} does not say where the words of {name} stand")

    def help_code(self, name: str) -> str:
        """Return the code of a field's help, which need not exist."""
        return f"{self.label_code(name)}_help"

    def word(self, name: str) -> None:
        """Give a field its label and help, unless it has them, and what it says when it is left empty."""
        field = self.fields[name]
        chosen = isinstance(field, forms.ChoiceField | forms.MultipleChoiceField)
        if field.error_messages["required"] is forms.Field.default_error_messages["required"]:
            field.error_messages["required"] = say("web.needed.choice" if chosen else "web.needed.entry", self.language)
        if isinstance(field.widget, forms.HiddenInput):
            return
        field.label = field.label or say(self.label_code(name), self.language)
        if not field.help_text and has(self.help_code(name)):
            field.help_text = say(self.help_code(name), self.language)

    def refuse(self, error: TreadleError, field: str | None = None) -> None:
        """Put each problem beside the field given, or the one its place ends in the name of; else over the form."""
        for problem in error.problems:
            named = problem.where.rpartition(", ")[2]
            beside = field or (named if named in self.fields else None)
            self.add_error(beside, self._sentence(problem, beside))

    def _sentence(self, problem: Problem, field: str | None) -> str:
        where = problem.where if field is None else self.fields[field].label
        return say(f"error.{problem.slug}", self.language, where=where, **problem.details)

    def choose(self, name: str, choices: Iterable[Any]) -> None:
        """Set what a field may be chosen from."""
        self.fields[name].choices = list(choices)  # type: ignore[attr-defined]


def moment_field(*, required: bool = True) -> forms.DateTimeField:
    """Return a field for a day and minute, by the clock of the shop."""
    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format=MINUTE)
    return forms.DateTimeField(widget=widget, input_formats=[MINUTE, f"{MINUTE}:%S"], required=required)


def day_field(*, required: bool = True) -> forms.DateField:
    """Return a field for a day."""
    return forms.DateField(widget=forms.DateInput(attrs={"type": "date"}, format=DAY), required=required)
