"""Compares a run with what a pair expects, by the nine rules of pairs/README.md; judges nothing itself."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Any

from acceptance.about import SUBJECTS, words_about, words_of

REFUSED = 2
OUTCOMES = ("hold", "fix", "unseen", "watch", "good")
MAY_BE_FURTHER = ("watch", "good")

_Place = tuple[Any, Any, Any]
_EQUAL = ("outcome", "unit", "axle", "side", "layer", "jurisdiction", "basis", "unconfirmed")
_QUANTITIES = ("measured", "limit", "excess")
_LISTS = ("units", "combinations", "findings")
_KEYS = {
    "the file": {"exit", "stderr_mentions", "on", "occasion", "outcome", "exact", "allowed", *_LISTS},
    "a unit": {"number", "outcome", "axles"},
    "an axle": {"axle", "outcome", "wheel_ends"},
    "a wheel end": {"side", "outcome"},
    "a combination": {"units", "outcome", "halves", "brakes", "counted"},
    "a counted end": {"unit", "axle", "side", "halves"},
    "a finding": {"citation", "missing", "about", *_EQUAL, *_QUANTITIES},
}
_QUANTITY = re.compile(
    r"""(?P<sign>-)?(?:
        (?:(?P<whole>\d+)[ ])?(?P<over>\d+)/(?P<under>[1-9]\d*)     # 2 1/4  1/4
      | (?P<decimal>\d+(?:\.\d+)?)                                  # 2.25  4
    )[ ](?P<unit>[a-z]+)""",
    re.VERBOSE,
)


# ---- the two doors


def run_differences(
    expected: dict[str, Any], exit_code: int, *, standard_output: str, standard_error: str
) -> list[str]:
    """Return every way in which a run of the command differs from what a pair expects of it."""
    refuse_unknown(expected)
    if expected.get("exit") == REFUSED:
        return refusal_differences(expected, exit_code, standard_output=standard_output, standard_error=standard_error)
    try:
        actual = json.loads(standard_output)
    except ValueError as error:
        return [
            f"exit code {exit_code}, and standard output is no JSON ({error}); "
            f"standard error: {standard_error.strip() or '(nothing)'}"
        ]
    if not isinstance(actual, dict):
        return [f"exit code {exit_code}, and standard output is no assessment: {standard_output[:200]!r}"]
    return differences(expected, actual, exit_code)


def refusal_differences(
    expected: dict[str, Any], exit_code: int, *, standard_output: str, standard_error: str
) -> list[str]:
    """Return the differences of a run that should refuse its input (rule 2)."""
    said = standard_error.strip() or "(nothing)"
    found = [] if exit_code == REFUSED else [f"exit code: expected {REFUSED}, found {exit_code}"]
    if standard_output:
        found.append(f"standard output: expected nothing, found {standard_output[:200]!r}")
    return found + [
        f"standard error does not mention {mention!r}: {said}"
        for mention in expected.get("stderr_mentions", [])
        if mention.casefold() not in standard_error.casefold()
    ]


def differences(expected: dict[str, Any], actual: dict[str, Any], exit_code: int) -> list[str]:
    """Return every way in which an assessment differs from what a pair expects of it."""
    refuse_unknown(expected)
    lost = [name for name in _LISTS if not isinstance(actual.get(name), list)]
    if lost:
        return [f"the assessment has no list {name!r}" for name in lost]
    return [
        *_exit_differences(expected, exit_code),
        *_unequal(expected, actual, ("on", "occasion", "outcome"), "the assessment"),
        *_unit_differences(expected.get("units", []), actual["units"]),
        *_combination_differences(expected, actual),
        *_finding_differences(expected, actual["findings"]),
    ]


# ---- rules 1 to 3: single values


def _exit_differences(expected: dict[str, Any], exit_code: int) -> list[str]:
    wanted = [expected["exit"]] if "exit" in expected else [0, 1]
    if exit_code in wanted:
        return []
    return [f"exit code: expected {' or '.join(map(str, wanted))}, found {exit_code}"]


def _unequal(wanted: dict[str, Any], found: dict[str, Any], keys: Iterable[str], where: str) -> Iterator[str]:
    """Compare the keys that are given; one that is left out is not compared (rule 1)."""
    for key in keys:
        if key in wanted and not _is_same(wanted[key], found.get(key)):
            yield f"{where}, {key}: expected {wanted[key]!r}, found {found.get(key)!r}"


def _is_same(wanted: Any, found: Any) -> bool:
    if wanted is None:
        return found is None
    return isinstance(wanted, bool) == isinstance(found, bool) and bool(wanted == found)


# ---- rule 4: units, axles, wheel ends


def _unit_differences(wanted: Sequence[dict[str, Any]], found: Sequence[dict[str, Any]]) -> Iterator[str]:
    for unit, match in _matched(wanted, found, "number"):
        where = f"unit {unit['number']}"
        yield from _outcome_differences(unit, match, where)
        for axle, axle_match in _matched(unit.get("axles", []), _list_of(match, "axles"), "axle"):
            at_axle = f"{where} axle {axle['axle']}"
            yield from _outcome_differences(axle, axle_match, at_axle)
            for end, end_match in _matched(axle.get("wheel_ends", []), _list_of(axle_match, "wheel_ends"), "side"):
                yield from _outcome_differences(end, end_match, f"{at_axle} {end['side']}")


def _outcome_differences(wanted: dict[str, Any], found: dict[str, Any] | None, where: str) -> list[str]:
    if found is None:
        return [f"{where} is not in the assessment, or more than once"]
    return list(_unequal(wanted, found, ("outcome",), where))


def _list_of(found: dict[str, Any] | None, name: str) -> list[dict[str, Any]]:
    return (found or {}).get(name) or []


def _matched(
    wanted: Iterable[dict[str, Any]], found: Sequence[dict[str, Any]], key: str
) -> Iterator[tuple[dict[str, Any], dict[str, Any] | None]]:
    """Pair each wanted entry with the found entry of the same key; None unless there is exactly one."""
    for entry in wanted:
        same = [other for other in found if other.get(key) == entry[key]]
        yield entry, same[0] if len(same) == 1 else None


# ---- rule 5: combinations


def _combination_differences(expected: dict[str, Any], actual: dict[str, Any]) -> Iterator[str]:
    if "combinations" not in expected:
        return
    coupled = {number for combination in actual["combinations"] for number in combination["units"]}
    for unit in actual["units"]:
        if unit["number"] not in coupled:
            yield f"unit {unit['number']} is in no combination, not even one of its own"
    for wanted, found in _matched(expected["combinations"], actual["combinations"], "units"):
        where = f"combination {' + '.join(wanted['units'])}"
        if found is None:
            yield f"{where} is not in the assessment, or more than once"
            continue
        yield from _unequal(wanted, found, ("outcome", "halves", "brakes"), where)
        yield from _counted_differences(wanted, found, where)


def _counted_differences(wanted: dict[str, Any], found: dict[str, Any], where: str) -> Iterator[str]:
    if "counted" not in wanted:
        return
    ours, theirs = (Counter(map(_counted, _list_of(side, "counted"))) for side in (wanted, found))
    for entry in (ours - theirs).elements():
        yield f"{where} does not count {entry}"
    for entry in (theirs - ours).elements():
        yield f"{where} counts {entry}, which is not expected"


def _counted(entry: dict[str, Any]) -> str:
    return f"{entry['unit']} axle {entry['axle']} {entry['side']}, halves {entry['halves']}"


# ---- rules 6 to 9: findings


def _finding_differences(expected: dict[str, Any], found: Sequence[dict[str, Any]]) -> list[str]:
    wanted = expected.get("findings", [])
    free = [_may_be_further(finding, expected) for finding in found]
    own = _own_findings(wanted, found, order=sorted(range(len(found)), key=free.__getitem__))
    further = [finding for index, finding in enumerate(found) if index not in own.values()]
    unseen_at = [_place(found[own[index]]) for index in own if wanted[index].get("outcome") == "unseen"]
    absent = [
        f"no finding of its own for: {_described(entry)}{_nearest(entry, further)}"
        for index, entry in enumerate(wanted)
        if index not in own
    ]
    return absent + [
        f"a further finding that is not expected: {_described(finding)}"
        for finding in further
        if not _may_be_further(finding, expected, unseen_at)
    ]


def _may_be_further(finding: dict[str, Any], expected: dict[str, Any], unseen_at: Sequence[_Place] = ()) -> bool:
    """Whether a finding beyond the expected ones is let through (rules 7 and 8); never an unknown outcome."""
    outcome = finding.get("outcome")
    if expected.get("exact"):
        return outcome == "good"
    return (
        outcome in MAY_BE_FURTHER
        or any(_agrees(entry, finding) for entry in expected.get("allowed", []))
        or (outcome == "unseen" and _place(finding) in unseen_at)
        or _is_expected_share(finding, expected.get("combinations", []))
    )


def _place(finding: dict[str, Any]) -> _Place:
    return finding.get("unit"), finding.get("axle"), finding.get("side")


def _is_expected_share(finding: dict[str, Any], combinations: Iterable[dict[str, Any]]) -> bool:
    """Whether it speaks of a combination's share, with the outcome expected of that combination."""
    if "count" not in words_about(finding) or _place(finding) != (None, None, None):
        return False
    units = (finding.get("args") or {}).get("units")
    return any(
        units in (None, combination["units"]) and finding.get("outcome") == combination.get("outcome", "open")
        for combination in combinations
    )


def _own_findings(
    wanted: Sequence[dict[str, Any]], found: Sequence[dict[str, Any]], *, order: Iterable[int]
) -> dict[int, int]:
    """Give each expected finding one of its own: as many as possible, those first in `order` before others.

    Returns
    -------
    dict
        Position among `found`, by position among `wanted`.
    """
    fits = [{index for index, entry in enumerate(wanted) if _agrees(entry, finding)} for finding in found]
    own: dict[int, int] = {}

    def has_found_a_place(finding: int, tried: set[int]) -> bool:
        for index in fits[finding] - tried:
            tried.add(index)
            if index not in own or has_found_a_place(own[index], tried):
                own[index] = finding
                return True
        return False

    for finding in order:
        has_found_a_place(finding, set())
    return own


def _agrees(wanted: dict[str, Any], found: dict[str, Any]) -> bool:
    return next(_disagreements(wanted, found), None) is None


def disagreements(wanted: dict[str, Any], found: dict[str, Any]) -> list[str]:
    """Return how a finding differs from an expected one in the keys that are given (rule 6)."""
    return list(_disagreements(wanted, found))


def _disagreements(wanted: dict[str, Any], found: dict[str, Any]) -> Iterator[str]:
    yield from _unequal(wanted, found, _EQUAL, "there")
    special = {"citation": _cites, "missing": _misses} | dict.fromkeys(_QUANTITIES, _is_same_quantity)
    for key, is_met in special.items():
        if key in wanted and not is_met(wanted[key], found.get(key)):
            yield f"there, {key}: expected {wanted[key]!r}, found {found.get(key)!r}"
    if "about" in wanted and wanted["about"] not in (words := words_about(found)):
        yield f"there, about: expected {wanted['about']!r}, found {sorted(words)!r}"


def _cites(wanted: list[str] | None, found: str | None) -> bool:
    if wanted is None:
        return not found
    return all(_letters_and_digits(part) in _letters_and_digits(found or "") for part in wanted)


def _letters_and_digits(text: str) -> str:
    return "".join(letter for letter in text.lower() if letter.isalnum())


def _misses(wanted: list[str] | None, found: list[str] | None) -> bool:
    if wanted is None:
        return not found
    return set(wanted) <= words_of(found or [])


def _is_same_quantity(wanted: str | None, found: str | None) -> bool:
    if wanted is None or found is None:
        return wanted is found
    try:
        return quantity(wanted) == quantity(found)
    except ValueError:
        return False


def quantity(text: str) -> tuple[Fraction, str]:
    """Return the exact value and the unit of a quantity as an assessment writes it.

    >>> quantity("2 1/4 in") == quantity("2.25 in"), quantity("-1.1 mm")
    (True, (Fraction(-11, 10), 'mm'))
    """
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise ValueError(f"not a quantity with its unit: {text!r}")
    if match["decimal"] is not None:
        size = Fraction(match["decimal"])
    else:
        size = int(match["whole"] or 0) + Fraction(int(match["over"]), int(match["under"]))
    return (-size if match["sign"] else size), match["unit"]


# ---- sentences


def _described(finding: dict[str, Any]) -> str:
    """Return one line on a finding, expected or found: the outcome and where, then whatever else it says."""
    where = " ".join(str(part) for part in _place(finding) if part is not None) or "no place"
    shown = ("about", "rule", "code", "layer", "jurisdiction", *_QUANTITIES, "citation", "basis", "missing")
    rest = [f"{key} {finding[key]}" for key in shown if finding.get(key) not in (None, [])]
    return f"{finding.get('outcome')} at {where}, {', '.join(rest)}"


def _nearest(wanted: dict[str, Any], further: Sequence[dict[str, Any]]) -> str:
    """Name the further finding most like an expected one, and how it differs; one at least half like it."""
    tries = [(disagreements(wanted, finding), finding) for finding in further]
    near = [entry for entry in tries if 2 * len(entry[0]) <= len(wanted)]
    if not near:
        return "; nothing like it was found"
    differs, finding = min(near, key=lambda entry: len(entry[0]))
    return f"; the nearest is {_described(finding)}; {'; '.join(differs)}"


# ---- a pair that nobody reads rightly must not pass


def refuse_unknown(expected: dict[str, Any]) -> None:
    """Raise ValueError where an expected file holds something that could not be compared."""
    for what, entry in _entries(expected):
        if unknown := set(entry) - _KEYS[what]:
            raise ValueError(f"{what} of an expected file has unknown keys: {', '.join(sorted(unknown))}")
        if entry.get("outcome") not in (None, *OUTCOMES):
            raise ValueError(f"{what} of an expected file has the unknown outcome {entry['outcome']!r}")
        if what == "a finding":
            _refuse_unknown_finding(entry)
    if expected.get("exit") == REFUSED and set(expected) - {"exit", "stderr_mentions"}:
        raise ValueError("with exit 2 an expected file says what standard error mentions, and nothing else")


def _refuse_unknown_finding(entry: dict[str, Any]) -> None:
    if "about" in entry and entry["about"] not in SUBJECTS:
        raise ValueError(f"unknown word in about: {entry['about']!r}; known are {', '.join(SUBJECTS)}")
    for key in _QUANTITIES:
        if entry.get(key) is not None:
            quantity(entry[key])


def _entries(expected: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    yield "the file", expected
    for unit in expected.get("units", []):
        yield "a unit", unit
        for axle in unit.get("axles", []):
            yield "an axle", axle
            yield from (("a wheel end", end) for end in axle.get("wheel_ends", []))
    for combination in expected.get("combinations", []):
        yield "a combination", combination
        yield from (("a counted end", end) for end in combination.get("counted", []))
    for name in ("findings", "allowed"):
        yield from (("a finding", finding) for finding in expected.get(name, []))
