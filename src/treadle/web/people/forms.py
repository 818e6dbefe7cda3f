"""The forms about people and the shop: what may be entered, in the words of whoever fills them in."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from datetime import date
from typing import Any, ClassVar

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import (
    MinimumLengthValidator,
    get_default_password_validators,
    validate_password,
)
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from treadle.errors import BadInput
from treadle.measure import read_quantity
from treadle.rules.load import shipped
from treadle.web.base.forms import Spoken
from treadle.web.people.crew import plain_sign_in
from treadle.web.people.models import Person, Qualification, Role, Shop
from treadle.web.people.policy import OCCASIONS
from treadle.web.people.zones import zone_choices
from treadle.words import LANGUAGES, explain, say, term

_SIGN_IN = re.compile(r"[\w.@+-]{2,60}")
_NEAR = ("stroke", "lining", "drum")
AS_SHOP = "shop"
"""What a person chooses who enters readings as the shop does."""


def language_choices() -> list[tuple[str, str]]:
    """Return the languages, each named in itself."""
    return [(language, say(f"web.language.{language}", language)) for language in LANGUAGES]


def _choices(words: Iterable[str], prefix: str, language: str) -> list[tuple[str, str]]:
    return [(str(word), say(f"{prefix}.{word}", language)) for word in words]


def place_choices(language: str) -> list[tuple[str, str]]:
    """Return the places whose rules are held."""
    return [(place, term(place, language)) for place in sorted(shipped().jurisdictions, reverse=True)]


class SpokenForm(Spoken):
    """A form in one language; `words` names the sentence of each label, `helps` of each help text."""

    words: ClassVar[dict[str, str]] = {}
    helps: ClassVar[dict[str, str]] = {}

    def word(self, name: str) -> None:
        """Give a field its words where it has any of its own here; others are worded by whoever adds them."""
        if name in self.words:
            super().word(name)

    def label_code(self, name: str) -> str:
        """Return the code of a field's label."""
        return self.words[name]

    def help_code(self, name: str) -> str:
        """Return the code of a field's help; one of none for a field without."""
        return self.helps.get(name, "")


class NewPassword(forms.Form):
    """The two fields of a password that somebody chooses; what is asked of it stands beside them."""

    def ask_for_password(self, language: str) -> None:
        """Add the fields at the end of a form."""
        first = forms.CharField(widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), strip=False)
        first.label, first.help_text = say("people.field.new_password", language), _asked_of_a_password(language)
        again = forms.CharField(widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), strip=False)
        again.label = say("people.field.new_password_again", language)
        self.fields |= {"new_password": first, "new_password_again": again}

    def check_password(self, person: Person, language: str) -> None:
        """Set an error beside the field if the two differ or the password will not do."""
        chosen, again = self.cleaned_data.get("new_password"), self.cleaned_data.get("new_password_again")
        if not chosen or not again:
            return
        if chosen != again:
            self.add_error("new_password_again", say("people.refused.passwords_differ", language))
        try:
            validate_password(chosen, person)
        except ValidationError as weak:
            self.add_error("new_password", weak)


def _asked_of_a_password(language: str) -> str:
    checks = get_default_password_validators()
    least = next(check.min_length for check in checks if isinstance(check, MinimumLengthValidator))
    return say("people.help.new_password", language, least=least)


class SignInForm(AuthenticationForm):
    """Name and password; a wrong one keeps the name and says nothing of which of the two was wrong."""

    leave_at_close = forms.BooleanField(required=False)

    def __init__(self, request: HttpRequest, *args: Any, language: str, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs)
        self.fields["username"].label = say("people.field.sign_in", language)
        self.fields["username"].widget.attrs |= {"autocapitalize": "none", "autocomplete": "username"}
        self.fields["password"].label = say("people.field.password", language)
        self.fields["leave_at_close"].label = say("people.field.leave_at_close", language)
        self.error_messages = {**self.error_messages, "invalid_login": say("people.refused.wrong_sign_in", language)}

    def clean_username(self) -> str:
        """Return the name as it is kept, so that tries under it are counted together however it is typed."""
        return plain_sign_in(self.cleaned_data["username"])


def _sign_in_field() -> forms.CharField:
    return forms.CharField(
        max_length=60, widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"})
    )


class _WithSignIn(SpokenForm):
    """A form in which a new sign-in name is chosen."""

    def clean_sign_in(self) -> str:
        """Return the name as it is kept; refuse one with blanks, or one that is taken."""
        plain = plain_sign_in(self.cleaned_data["sign_in"])
        if not _SIGN_IN.fullmatch(plain):
            raise ValidationError(say("people.refused.odd_sign_in", self.language))
        if Person.across_shops.filter(sign_in=plain).exists():
            raise ValidationError(say("people.refused.sign_in_taken", self.language, sign_in=plain))
        return plain


class _OfTheShop(SpokenForm):
    """What a shop settles once."""

    name = forms.CharField(max_length=120)
    zone = forms.ChoiceField()
    runs_in = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple)
    measure = forms.ChoiceField(widget=forms.RadioSelect)
    paper = forms.ChoiceField(widget=forms.RadioSelect)
    words: ClassVar[dict[str, str]] = {
        "name": "people.field.shop_name",
        "zone": "people.field.zone",
        "runs_in": "people.field.runs_in",
        "measure": "people.field.measure",
        "paper": "people.field.paper",
    }
    helps: ClassVar[dict[str, str]] = {"zone": "people.help.zone", "runs_in": "people.help.runs_in"}

    def __init__(self, *args: Any, language: str, **kwargs: Any) -> None:
        super().__init__(*args, language=language, **kwargs)
        self.choose("zone", [("", say("people.field.choose", language)), *zone_choices(language)])
        self.choose("runs_in", place_choices(language))
        self.choose("measure", _choices(Shop.Measure.values, "people.measure", language))
        self.choose("paper", _choices(Shop.Paper.values, "people.paper", language))


class ShopForm(_OfTheShop):
    """The settings of a shop."""

    language_of_shop = forms.ChoiceField(choices=language_choices, widget=forms.RadioSelect)
    words: ClassVar[dict[str, str]] = {**_OfTheShop.words, "language_of_shop": "people.field.shop_language"}
    helps: ClassVar[dict[str, str]] = {**_OfTheShop.helps, "language_of_shop": "people.help.shop_language"}


class WelcomeForm(_WithSignIn, _OfTheShop, NewPassword):
    """All that an empty shop needs: itself and its first lead."""

    lead = forms.CharField(max_length=120, widget=forms.TextInput(attrs={"autocomplete": "name"}))
    sign_in = _sign_in_field()
    words: ClassVar[dict[str, str]] = {
        **_OfTheShop.words,
        "lead": "people.field.your_name",
        "sign_in": "people.field.sign_in",
    }
    helps: ClassVar[dict[str, str]] = {
        **_OfTheShop.helps,
        "lead": "people.help.your_name",
        "sign_in": "people.help.sign_in",
    }

    def __init__(self, *args: Any, language: str, **kwargs: Any) -> None:
        super().__init__(*args, language=language, **kwargs)
        self.ask_for_password(language)

    def clean(self) -> dict[str, Any]:
        """Check the password against the name it goes with."""
        entered = super().clean() or {}
        self.check_password(Person(name=entered.get("lead", ""), sign_in=entered.get("sign_in", "")), self.language)
        return entered


class PersonForm(_WithSignIn):
    """Somebody new."""

    name = forms.CharField(max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    sign_in = _sign_in_field()
    speaks = forms.ChoiceField(choices=language_choices, widget=forms.RadioSelect)
    roles = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple)
    words: ClassVar[dict[str, str]] = {
        "name": "people.field.name",
        "sign_in": "people.field.sign_in",
        "speaks": "people.field.speaks",
        "roles": "people.field.roles",
    }
    helps: ClassVar[dict[str, str]] = {"sign_in": "people.help.sign_in", "roles": "people.help.roles"}

    def __init__(self, *args: Any, language: str, **kwargs: Any) -> None:
        super().__init__(*args, language=language, **kwargs)
        self.choose("roles", _choices(Role.values, "people.role_does", language))


class RoleForm(SpokenForm):
    """One role to give."""

    role = forms.ChoiceField()
    words: ClassVar[dict[str, str]] = {"role": "people.field.role"}

    def __init__(self, *args: Any, language: str, held: Collection[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, language=language, **kwargs)
        left = [role for role in Role.values if role not in held]
        self.choose("role", _choices(left, "people.role", language))


class _Day(forms.DateField):
    """A day, chosen from a calendar."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **kwargs)


class QualificationForm(SpokenForm):
    """What qualifies a person, for which work, since when and until when."""

    for_what = forms.ChoiceField(widget=forms.RadioSelect)
    ground = forms.ChoiceField(widget=forms.RadioSelect)
    evidence = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), max_length=2000)
    limited_to = forms.CharField(max_length=200, required=False)
    granted_on = _Day()
    expires_on = _Day(required=False)
    words: ClassVar[dict[str, str]] = {
        "for_what": "people.field.for_what",
        "ground": "people.field.ground",
        "evidence": "people.field.evidence",
        "limited_to": "people.field.limited_to",
        "granted_on": "people.field.granted_on",
        "expires_on": "people.field.expires_on",
    }
    helps: ClassVar[dict[str, str]] = {
        "evidence": "people.help.evidence",
        "limited_to": "people.help.limited_to",
        "granted_on": "people.help.granted_on",
        "expires_on": "people.help.expires_on",
    }

    def __init__(self, *args: Any, language: str, today: date, **kwargs: Any) -> None:
        super().__init__(*args, language=language, **kwargs)
        self.today = today
        self.choose("for_what", _choices(Qualification.ForWhat.values, "people.for_what", language))
        self.choose("ground", _choices(Qualification.Ground.values, "people.ground", language))

    def clean_granted_on(self) -> date:
        """Refuse a day that has not come: nobody is qualified ahead of time."""
        granted: date = self.cleaned_data["granted_on"]
        if granted > self.today:
            raise ValidationError(say("people.refused.granted_later", self.language))
        return granted

    def clean(self) -> dict[str, Any]:
        """Refuse an end before the beginning."""
        entered = super().clean() or {}
        granted, expires = entered.get("granted_on"), entered.get("expires_on")
        if granted and expires and expires < granted:
            self.add_error("expires_on", say("people.refused.expires_before", self.language))
        return entered


class OwnForm(SpokenForm):
    """What a person chooses for themselves."""

    speaks = forms.ChoiceField(choices=language_choices, widget=forms.RadioSelect)
    measure = forms.ChoiceField(widget=forms.RadioSelect)
    words: ClassVar[dict[str, str]] = {"speaks": "people.field.own_language", "measure": "people.field.measure"}

    def __init__(self, *args: Any, language: str, shop: Shop, **kwargs: Any) -> None:
        super().__init__(*args, language=language, **kwargs)
        of_shop = say(f"people.measure.{shop.measure}", language)
        as_shop = (AS_SHOP, say("people.measure.as_shop", language, measure=of_shop))
        self.choose("measure", [as_shop, *_choices(Shop.Measure.values, "people.measure", language)])

    def clean_measure(self) -> str:
        """Return the measure as it is kept: nothing where the shop's counts."""
        chosen: str = self.cleaned_data["measure"]
        return "" if chosen == AS_SHOP else chosen


class PasswordForm(SpokenForm, NewPassword):
    """The password one has, and the one to have from now on."""

    password = forms.CharField(widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}), strip=False)
    words: ClassVar[dict[str, str]] = {"password": "people.field.password_now"}  # nosec B105 - the code of a label

    def __init__(self, *args: Any, language: str, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, language=language, **kwargs)
        self.person = person
        self.ask_for_password(language)

    def clean_password(self) -> str:
        """Refuse a password that is not the present one."""
        given: str = self.cleaned_data["password"]
        if not self.person.check_password(given):
            raise ValidationError(say("people.refused.not_your_password", self.language))
        return given

    def clean(self) -> dict[str, Any]:
        """Check the new password; the one that was lent does not count as chosen."""
        entered = super().clean() or {}
        self.check_password(self.person, self.language)
        if entered.get("password") and entered.get("password") == entered.get("new_password"):
            self.add_error("new_password", say("people.refused.same_password", self.language))
        return entered


class PolicyForm(SpokenForm):
    """What the shop adds to the law: near bands, ages, and what is unseen."""

    near_stroke = forms.CharField(max_length=20)
    near_lining = forms.CharField(max_length=20)
    near_drum = forms.CharField(max_length=20)
    age_days = forms.IntegerField(min_value=1, max_value=3660)
    age_miles = forms.IntegerField(min_value=1, max_value=1_000_000)
    keeps_in = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple, required=False)
    words: ClassVar[dict[str, str]] = {
        "near_stroke": "people.field.near_stroke",
        "near_lining": "people.field.near_lining",
        "near_drum": "people.field.near_drum",
        "age_days": "people.field.age_days",
        "age_miles": "people.field.age_miles",
        "keeps_in": "people.field.keeps_in",
    }
    helps: ClassVar[dict[str, str]] = {"keeps_in": "people.help.keeps_in"}

    def __init__(self, *args: Any, language: str, measure: str, **kwargs: Any) -> None:
        super().__init__(*args, language=language, **kwargs)
        self.measure = measure
        self.choose("keeps_in", _choices(OCCASIONS, "people.unseen_on", language))

    def clean(self) -> dict[str, Any]:
        """Read each band as it was typed; a number alone is in the shop's measure."""
        entered = super().clean() or {}
        for name in _NEAR:
            field = f"near_{name}"
            if field not in entered:
                continue
            label = str(self.fields[field].label)
            try:
                size = read_quantity(entered[field], "length", where=label, default_unit=self.measure)
            except BadInput as unreadable:
                self.add_error(field, explain(unreadable, self.language))
            else:
                entered[field] = str(size)
        return entered

    @staticmethod
    def initial_from(policy: dict[str, Any]) -> dict[str, Any]:
        """Return a policy as the form's beginning."""
        return {
            **{f"near_{name}": policy["near"][name] for name in _NEAR},
            "age_days": policy["age"]["days"],
            "age_miles": policy["age"]["miles"],
            "keeps_in": [occasion for occasion in OCCASIONS if policy["unseen_blocks"][occasion]],
        }

    def as_policy(self, rules: list[Any]) -> dict[str, Any]:
        """Return what was entered as a policy; the shop's own limits go with it unchanged."""
        entered = self.cleaned_data
        return {
            "treadle": "policy/1",
            "near": {name: entered[f"near_{name}"] for name in _NEAR},
            "age": {"days": entered["age_days"], "miles": entered["age_miles"]},
            "unseen_blocks": {occasion: occasion in entered["keeps_in"] for occasion in OCCASIONS},
            "rules": rules,
        }


class ConfirmForm(SpokenForm):
    """Who read a limit in the official text, in which edition, and when."""

    edition = forms.CharField(max_length=200)
    by: forms.ModelChoiceField = forms.ModelChoiceField(queryset=None)
    on = _Day()
    words: ClassVar[dict[str, str]] = {
        "edition": "people.field.edition",
        "by": "people.field.read_by",
        "on": "people.field.read_on",
    }
    helps: ClassVar[dict[str, str]] = {"edition": "people.help.edition"}

    def __init__(self, *args: Any, language: str, today: date, **kwargs: Any) -> None:
        super().__init__(*args, language=language, **kwargs)
        self.today = today
        self.fields["by"].queryset = Person.objects.filter(is_active=True)  # type: ignore[attr-defined]

    def clean_on(self) -> date:
        """Refuse a day that has not come."""
        read_on: date = self.cleaned_data["on"]
        if read_on > self.today:
            raise ValidationError(say("people.refused.read_later", self.language))
        return read_on
