"""The shop's own policy as a form has it and as the judge reads it, and the limits somebody here has confirmed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, get_args

from treadle.assess import Policy, read_confirmed, read_policy
from treadle.assess.policy import NEAR
from treadle.fleet.file_model import Occasion
from treadle.rules.load import shipped
from treadle.rules.model import EVERYWHERE, Rule
from treadle.web.people.models import ConfirmedLimit, Person, Shop

OCCASIONS: tuple[str, ...] = get_args(Occasion)
FIRST_AGE = {"days": 90, "miles": 25_000}
"""The age past which a reading no longer counts as seen, until the shop says otherwise (our choice)."""


@dataclass(frozen=True, slots=True)
class ToConfirm:
    """A limit that is known from memory: its rule, where it stands, what it says, and who here has read it."""

    rule: Rule
    cited: str
    says: tuple[str, ...]
    confirmed: tuple[ConfirmedLimit, ...]

    def label(self, language: str) -> str:
        """What it is about."""
        return self.rule.label[language]


def first_policy() -> dict[str, Any]:
    """Return the policy a shop begins with: bands and ages as we chose them, and what is unseen keeps a unit in."""
    return {
        "treadle": "policy/1",
        "near": {name: str(size) for name, size in NEAR.items()},
        "age": dict(FIRST_AGE),
        "unseen_blocks": dict.fromkeys(OCCASIONS, True),
        "rules": [],
    }


def policy_as_entered(shop: Shop) -> dict[str, Any]:
    """Return the policy in force at a shop, complete."""
    first, own = first_policy(), shop.policy or {}
    merged = {name: {**first[name], **own.get(name, {})} for name in ("near", "age", "unseen_blocks")}
    return {"treadle": "policy/1", **merged, "rules": own.get("rules", [])}


def checked_policy(entry: Mapping[str, Any], shop: Shop, on: date) -> Policy:
    """Hold a policy against the law of the places where the shop's units run.

    Raises
    ------
    BadInput
        It cannot be read, or a rule in it is looser than a law.
    """
    return read_policy(json.dumps(entry), shipped(), on, jurisdictions=shop.runs_in)


def keep_policy(shop: Shop, entry: Mapping[str, Any], *, on: date) -> None:
    """Make a policy the shop's, once it is held against the law.

    Raises
    ------
    BadInput
        As `checked_policy`.
    """
    checked_policy(entry, shop, on)
    shop.policy = dict(entry)
    shop.save(update_fields=["policy"])


def settle_shop(shop: Shop, *, on: date, **settled: Any) -> None:
    """Change what a shop settled once; its own limits must be as strict as the law wherever its units then run.

    Parameters
    ----------
    shop : Shop
        The shop.
    on : date
        The day whose law counts.
    **settled : Any
        Fields of the shop with their new values.

    Raises
    ------
    BadInput
        One of the shop's own limits is looser than a law of the places named now.
    """
    for name, value in settled.items():
        setattr(shop, name, value)
    checked_policy(policy_as_entered(shop), shop, on)
    shop.save(update_fields=list(settled))


def limits_to_confirm(shop: Shop, on: date) -> list[ToConfirm]:
    """Return every limit known from memory that speaks where the shop's units run, in the order of their rules."""
    rows: dict[str, list[ConfirmedLimit]] = {}
    for row in ConfirmedLimit.objects.select_related("by"):
        rows.setdefault(row.rule, []).append(row)
    places = {*shop.runs_in, EVERYWHERE}
    found = []
    for rule in shipped().rules.values():
        value = rule.in_force(on)
        if value is None or rule.jurisdiction not in places:
            continue
        weak = [row for row in value.rows if row.basis == "memory"]
        if weak or value.basis == "memory":
            says = tuple(dict.fromkeys(row.as_printed for row in weak if row.figure is not None))
            found.append(ToConfirm(rule, value.cited, says, tuple(rows.get(rule.id, ()))))
    return sorted(found, key=lambda one: one.rule.id)


def confirm_limit(rule: str, *, edition: str, by: Person, on: date, today: date) -> ConfirmedLimit:
    """Record that somebody of the shop has read a limit in the official text.

    Raises
    ------
    BadInput
        There is no such rule, the edition is missing, or the day has not come yet.
    """
    entry = {"rule": rule, "edition": edition, "by": by.name, "on": on.isoformat()}
    read_confirmed(json.dumps({"treadle": "confirmed/1", "limits": [entry]}), shipped(), today=today)
    row = ConfirmedLimit(rule=rule, edition=edition, by=by, on=on)
    row.save()
    return row
