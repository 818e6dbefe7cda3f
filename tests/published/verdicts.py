"""Compares an assessment with what a published case expects, and says every difference in a sentence.

It reads assessments in their published form (assessment/1) and knows nothing of how they were made.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Any

from published.rig import UNIT, CaseFault, is_of_unit, tested_axle

Fields = Mapping[str, Any]
Findings = list[Mapping[str, Any]]

OUTCOMES = ("hold", "fix", "unseen", "watch", "good")
LAYERS = ("operate", "periodic", "roadside", "practice")
LAYER_WORDS = ("breach", "within", "no_breach", "open")
LOOKS = ("end", "axle", "unit", "anywhere")
_PLACES = ("end", "axle", "unit")
_ENTRY_EXPECTATIONS = frozenset({*_PLACES, *LAYERS, "halves", "unseen_findings"})
_COUNT_EXPECTATIONS = frozenset({"outcome", "halves", "brakes", "units", "unconfirmed"})
_FINDING_FIELDS = frozenset({"outcome", "layer", "limit", "excess", "basis", "unconfirmed", "citation", "missing"})


# ---- one given


def differences(entry: Fields, assessment: Fields) -> list[str]:
    """Every way in which an assessment differs from what a given expects, one sentence each."""
    expect = entry["expect"]
    _refuse_unknown(expect, _ENTRY_EXPECTATIONS)
    if not expect:
        raise CaseFault(f"{entry['name']}: a given expects nothing")
    seen = findings_looked_at(entry, assessment)
    return [
        *_outcome_differences(entry, assessment),
        *_layer_differences(entry, seen),
        *_halves_differences(entry, assessment),
        *_unseen_differences(expect, assessment),
        *_finding_differences(entry.get("findings", []), seen),
    ]


def _outcome_differences(entry: Fields, assessment: Fields) -> Iterator[str]:
    for place in _PLACES:
        if place not in entry["expect"]:
            continue
        expected = _known(entry["expect"][place], OUTCOMES)
        actual = outcome_at(assessment, place, tested_axle(entry))
        if expected != actual:
            yield f"outcome of the {_NAMES[place]}: expected {expected}, was {actual}"


_NAMES = {"end": "wheel end", "axle": "axle", "unit": "unit"}


def outcome_at(assessment: Fields, place: str, axle_number: int) -> str:
    """The outcome of the tested unit, axle, or left wheel end of that axle."""
    unit = next(one for one in assessment["units"] if one["number"] == UNIT)
    if place == "unit":
        return unit["outcome"]
    axle = next(one for one in unit["axles"] if one["axle"] == axle_number)
    if place == "axle":
        return axle["outcome"]
    return next(one["outcome"] for one in axle["wheel_ends"] if one["side"] == "left")


def _layer_differences(entry: Fields, seen: Findings) -> Iterator[str]:
    for layer in LAYERS:
        if layer not in entry["expect"]:
            continue
        expected = _known(entry["expect"][layer], LAYER_WORDS)
        ours = [one for one in seen if one["layer"] == layer and one["jurisdiction"] == entry["jurisdiction"]]
        breached = any(is_breach(one) for one in ours)
        unseen = [one for one in (seen if expected == "open" else ours) if one["outcome"] == "unseen"]
        said = "a breach" if breached else "an unseen finding" if unseen else "neither breach nor unseen"
        agrees = {
            "breach": breached,
            "within": not breached and not unseen,
            "no_breach": not breached,
            "open": not breached and bool(unseen),
        }
        if not agrees[expected]:
            yield f"{entry['jurisdiction']} {layer}: expected {expected}, was {said}"


def is_breach(finding: Fields) -> bool:
    """Whether a finding says that something is past a limit, or is what a rule forbids.

    A fix or hold always does.  A watch does when it is past the limit by something, or when it is about a condition
    or a mismatch (no excess) and not about a missing fact; a near pass and an unconfirmed pass have an excess of
    nothing or less.
    """
    if finding["outcome"] in {"hold", "fix"}:
        return True
    if finding["outcome"] != "watch" or finding["missing"]:
        return False
    return finding["excess"] is None or amount(finding["excess"])[0] > 0


def _halves_differences(entry: Fields, assessment: Fields) -> Iterator[str]:
    if "halves" not in entry["expect"]:
        return
    place = (UNIT, tested_axle(entry), "left")
    counted = [row for one in assessment["combinations"] for row in one["counted"]]
    actual = sum(row["halves"] for row in counted if (row["unit"], row["axle"], row["side"]) == place)
    if actual != entry["expect"]["halves"]:
        yield f"halves in the roadside count: expected {entry['expect']['halves']}, were {actual}"


def _unseen_differences(expect: Fields, assessment: Fields) -> Iterator[str]:
    if "unseen_findings" not in expect:
        return
    unseen = [one for one in assessment["findings"] if one["outcome"] == "unseen"]
    if len(unseen) != expect["unseen_findings"]:
        listed = "; ".join(brief(one) for one in unseen) or "none"
        yield f"unseen findings: expected {expect['unseen_findings']}, were {len(unseen)} ({listed})"


def _finding_differences(wanted: Iterable[Fields], seen: Findings) -> Iterator[str]:
    for fields in wanted:
        _refuse_unknown(fields, _FINDING_FIELDS)
        if not any(agrees(fields, one) for one in seen):
            described = ", ".join(f"{name} {value!r}" for name, value in fields.items())
            yield f"expected a finding with {described}; there is none"


def agrees(wanted: Fields, finding: Fields) -> bool:
    """Whether a finding has everything that is asked of it; `limit = "none"` asks for no limit."""
    return all(_field_agrees(name, value, finding[name]) for name, value in wanted.items())


def _field_agrees(name: str, wanted: Any, actual: Any) -> bool:
    if wanted == "none":
        return actual is None
    if name in {"limit", "excess"}:
        return actual is not None and amount(wanted) == amount(actual)
    if name == "citation":
        return all(_plain(part) in _plain(str(actual)) for part in wanted)
    if name == "missing":
        return all(word in (actual or []) for word in wanted)
    return bool(wanted == actual)


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", text.lower())


def amount(text: str) -> tuple[Fraction, str]:
    """The exact number and the unit of a quantity as an assessment writes it: ``-1 3/4 in`` is (-7/4, "in")."""
    number, _, unit = text.replace("−", "-").rpartition(" ")
    size = sum((Fraction(part) for part in number.lstrip("-").split()), Fraction(0))
    return (-size if number.startswith("-") else size), unit


def findings_looked_at(entry: Fields, assessment: Fields) -> Findings:
    """The findings a given is about: of its wheel end, of its axle, of the unit itself, or anywhere on the unit."""
    axle = tested_axle(entry)
    place: Mapping[str, tuple[Any, Any]] = {
        "end": (axle, "left"),
        "axle": (axle, None),
        "unit": (None, None),
    }
    look = _known(looks_at(entry), LOOKS)
    ours = [one for one in assessment["findings"] if one["unit"] == UNIT]
    return ours if look == "anywhere" else [one for one in ours if (one["axle"], one["side"]) == place[look]]


def looks_at(entry: Fields) -> str:
    """Where a given looks, if it does not say: at the unit for a reading of the unit, else at the wheel end."""
    about = {**entry.get("without", {}), **entry["reading"]}
    return entry.get("look", "unit" if is_of_unit(about) else "end")


# ---- one roadside count


def count_differences(count: Fields, assessment: Fields) -> list[str]:
    """Every way in which a combination's roadside count differs from what is expected, one sentence each."""
    expect = count["expect"]
    _refuse_unknown(expect, _COUNT_EXPECTATIONS)
    numbers = [one["number"] for one in count["combination"]]
    share = next(one for one in assessment["combinations"] if list(one["units"]) == numbers)
    units = {one["number"]: one["outcome"] for one in assessment["units"]}
    found = [
        f"{name} of the combination: expected {expect[name]}, was {share[name]}"
        for name in ("outcome", "halves", "brakes")
        if name in expect and expect[name] != share[name]
    ]
    found += [
        f"outcome of {number}: expected {outcome}, was {units[number]}"
        for number, outcome in expect.get("units", {}).items()
        if outcome != units[number]
    ]
    return found + list(_unconfirmed_differences(expect, assessment))


def _unconfirmed_differences(expect: Fields, assessment: Fields) -> Iterator[str]:
    """A count finding has neither unit nor axle nor side."""
    if "unconfirmed" not in expect:
        return
    actual = any(one["unconfirmed"] for one in assessment["findings"] if one["unit"] is None)
    if actual != expect["unconfirmed"]:
        yield f"a count finding is unconfirmed: expected {expect['unconfirmed']}, was {actual}"


# ---- sentences


def report(entry: Fields, found: Iterable[str], assessment: Fields, seen: Findings) -> str:
    """What a failure says: the claim, what was given, each difference, what was found there, and the proof."""
    proof = entry["proof"]
    given = {**entry.get("reading", {}), **entry.get("unit", {}), **entry.get("axle", {})}
    lines = [
        f"Claim: {entry['name']}",
        f"Given: {_listed(given)} on {entry['on']}, occasion {assessment['occasion']}",
        *(f"Differs: {sentence}" for sentence in found),
        *(f"Found: {brief(one)}" for one in seen),
        f"Proof: {proof['source']} ({proof['mark']}), tolerance {proof['tolerance']}",
    ]
    return "\n".join(lines)


def brief(finding: Fields) -> str:
    """A finding on one line."""
    place = " ".join(str(finding[name]) for name in ("unit", "axle", "side") if finding[name] is not None)
    shown = ("layer", "jurisdiction", "rule", "measured", "limit", "excess", "basis", "missing", "code")
    return f"{finding['outcome']} at {place or 'the combination'}: {_listed({name: finding[name] for name in shown})}"


def _listed(fields: Fields) -> str:
    return ", ".join(f"{name} {value}" for name, value in fields.items() if value not in (None, [], ""))


def _known(word: str, words: tuple[str, ...]) -> str:
    if word not in words:
        raise CaseFault(f"{word!r} is none of {', '.join(words)}")
    return word


def _refuse_unknown(fields: Fields, known: frozenset[str]) -> None:
    for field in fields:
        if field not in known:
            raise CaseFault(f"nothing can be expected of {field!r}; known are {', '.join(sorted(known))}")
