"""The resolved limits of a unit for a screen: the core's numbers, each with its sentence in one language."""

from __future__ import annotations

import hashlib
import json
from datetime import date
from functools import lru_cache
from typing import Any

from treadle.assess import Finding, Policy, resolve_limits
from treadle.assess.verdict import Verdict
from treadle.measure import read_quantity
from treadle.rules.load import shipped
from treadle.web.people.models import Shop
from treadle.web.units.models import Unit
from treadle.web.units.to_core import record_from, units_as_file
from treadle.web.walkaround.to_core import policy_of
from treadle.words import term

_PARTED = frozenset({"lining", "wear_indicator", "scribe_movement", "above_fastener"})
"""Kinds that are read of a shoe or pad, which their sentences name."""


def limits_for(unit: Unit, shop: Shop, *, occasion: str, on: date, language: str) -> tuple[dict[str, Any], str]:
    """Return the file ``limits/1`` of a unit with its sentences, and a tag that changes whenever it does.

    A sentence holds ``{measured}``, ``{excess}`` and, of a lining, ``{part}``: what only the reading itself gives.

    Raises
    ------
    BadInput
        What is on file of the unit does not make a whole vehicle.
    """
    return limits_of_entry(units_as_file([unit])[0], shop, occasion=occasion, on=on, language=language)


def limits_of_entry(
    entry: dict[str, Any], shop: Shop, *, occasion: str, on: date, language: str
) -> tuple[dict[str, Any], str]:
    """Return the limits of a unit given as the walk-around file states it; otherwise as `limits_for`."""
    written = json.dumps(entry, sort_keys=True, ensure_ascii=False)
    return _worded(written, occasion, on, policy_of(shop, on), language)


@lru_cache(maxsize=512)
def _worded(written: str, occasion: str, on: date, policy: Policy, language: str) -> tuple[dict[str, Any], str]:
    limits = resolved(written, occasion, on, policy)
    worded = {**limits, "language": language, "ends": [_end(end, language) for end in limits["ends"]]}
    tag = hashlib.sha256(json.dumps(worded, sort_keys=True, ensure_ascii=False).encode()).hexdigest()[:32]
    return worded, tag


@lru_cache(maxsize=512)
def resolved(written: str, occasion: str, on: date, policy: Policy) -> dict[str, Any]:
    """Resolve the limits of a unit written as JSON once for all who ask."""
    record = record_from(json.loads(written))
    return resolve_limits(record, shipped(), on=on, occasion=occasion, policy=policy)


def _end(end: dict[str, Any], language: str) -> dict[str, Any]:
    return {
        **end,
        "measures": [_table(table, language) for table in end["measures"]],
        "words": {
            kind: {word: _said(said, kind, language) for word, said in words.items()}
            for kind, words in end["words"].items()
        },
    }


def _table(table: dict[str, Any], language: str) -> dict[str, Any]:
    kind = table["kind"]
    worded = {**table, "bands": [_said(band, kind, language) for band in table["bands"]]}
    if "words" in table:
        worded["words"] = {word: _said(said, kind, language) for word, said in table["words"].items()}
    return worded


def _said(band: dict[str, Any], kind: str, language: str) -> dict[str, Any]:
    """Return a band with what it says, and its limit as a number to count the excess from."""
    if band["outcome"] is None:
        return band
    limit = None if band["limit"] is None else read_quantity(band["limit"], "length", where="limit")
    word = band["args"].get("word")
    measured = "{measured}" if word is None else term(word, language)
    given = {"kind": kind, "measured": measured, "excess": "{excess}"}
    if kind in _PARTED:
        given["part"] = "{part}"
    finding = Finding(
        Verdict(
            outcome=band["outcome"],
            code=band["code"],
            remedy=band["remedy"],
            rule=band["rule"],
            limit=limit,
            citation=band["citation"],
            missing=tuple(band["missing"]),
            args={**given, **band["args"]},
        )
    )
    number = None
    if limit is not None:
        number = {"unit": limit.unit, "over": limit.value.numerator, "under": limit.value.denominator}
    return {**band, "figure": number, "says": finding.says(language), "does": finding.remedy(language)}
