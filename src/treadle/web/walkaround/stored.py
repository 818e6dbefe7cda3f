"""Assessments as they were given: read back from what was kept, never judged anew, so each keeps its edition."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from fractions import Fraction
from functools import cache
from typing import Any

from treadle.assess import Assessment, Finding
from treadle.assess.verdict import AxleOutcome, CombinationOutcome, Counted, NotJudged, UnitOutcome, Verdict
from treadle.errors import DataFault
from treadle.fleet.records import WalkAround as Record
from treadle.measure import UNITS, Quantity, read_quantity
from treadle.web.walkaround.models import Judged
from treadle.web.walkaround.to_core import record_of
from treadle.words import LANGUAGES, catalogue, has, say


class KeptFinding(Finding):
    """A finding read back: its sentences are worded anew from code and arguments, or stand as they were kept."""

    __slots__ = ()

    def says(self, language: str = "en") -> str:
        """Return the sentence."""
        kept = self.verdict.args["_kept"]
        try:
            return kept["says"] if language == kept["language"] else super().says(language)
        except (DataFault, KeyError, ValueError):  # a later edition of the words has no such sentence any more
            return str(kept["says"])

    def remedy(self, language: str = "en") -> str:
        """Return what would make it right."""
        kept = self.verdict.args["_kept"]
        if language == kept["language"] or not has(f"remedy.{self.verdict.remedy}"):
            return str(kept["remedy"])
        return super().remedy(language)

    def as_json(self, language: str) -> dict[str, Any]:
        """Return the finding as a file has it."""
        written = super().as_json(language)
        written["args"] = {name: value for name, value in written["args"].items() if name != "_kept"}
        return written


def read_back(judged: Judged) -> tuple[Record, Assessment]:
    """Return what was judged and what it came to, as it was given."""
    return record_of(judged.inputs), assessment_from(judged.result, judged.result.get("language", LANGUAGES[0]))


def assessment_from(kept: Mapping[str, Any], language: str) -> Assessment:
    """Return an assessment from its file, whose sentences are in `language`."""
    return Assessment(
        on=date.fromisoformat(kept["on"]),
        occasion=kept["occasion"],
        edition=kept["edition"],
        outcome=kept["outcome"],
        units=tuple(_unit(one) for one in kept["units"]),
        combinations=tuple(_combination(one) for one in kept["combinations"]),
        findings=tuple(_finding(one, language) for one in kept["findings"]),
        not_judged=tuple(
            NotJudged(one["unit"], one["what"], one["why"], one["axle"], one["side"]) for one in kept["not_judged"]
        ),
        unseen_blocks=kept["unseen_blocks"],
    )


def _unit(kept: Mapping[str, Any]) -> UnitOutcome:
    axles = tuple(
        AxleOutcome(axle["axle"], axle["outcome"], tuple((end["side"], end["outcome"]) for end in axle["wheel_ends"]))
        for axle in kept["axles"]
    )
    return UnitOutcome(kept["number"], kept["outcome"], axles)


def _combination(kept: Mapping[str, Any]) -> CombinationOutcome:
    counted = tuple(
        Counted(one["unit"], one["axle"], one["side"], one["halves"], tuple(one["rules"])) for one in kept["counted"]
    )
    return CombinationOutcome(tuple(kept["units"]), kept["outcome"], kept["halves"], kept["brakes"], counted)


def _finding(kept: Mapping[str, Any], language: str) -> KeptFinding:
    args = {name: tuple(value) if isinstance(value, list) else value for name, value in kept["args"].items()}
    verdict = Verdict(
        outcome=kept["outcome"],
        code=kept["code"],
        remedy="",
        rule=kept["rule"],
        layer=kept["layer"],
        jurisdiction=kept["jurisdiction"],
        measured=_quantity(kept["measured"]),
        limit=_quantity(kept["limit"]),
        excess=_quantity(kept["excess"]),
        citation=kept["citation"],
        basis=kept["basis"],
        unconfirmed=kept["unconfirmed"],
        missing=tuple(kept["missing"]),
        args={**args, "_kept": {"says": kept["says"], "remedy": kept["remedy"], "language": language}},
    )
    return KeptFinding(_with_remedy(verdict, language), kept["unit"], kept["axle"], kept["side"])


def _with_remedy(verdict: Verdict, language: str) -> Verdict:
    """Return the verdict with the code of its remedy, found by its wording: the file holds the sentence alone."""
    kept = verdict.args["_kept"]["remedy"]
    plain, filled = _remedies(language)
    code = plain.get(kept) or next((one for one in filled if _wording(one, verdict, language) == kept), None)
    return verdict if code is None else replace(verdict, remedy=code)


def _wording(code: str, verdict: Verdict, language: str) -> str | None:
    """Return a remedy filled from a verdict; None where it asks for what the verdict does not have."""
    given = {**verdict.args, "rule": verdict.rule, "missing": verdict.missing}
    try:
        return say(f"remedy.{code}", language, **given)
    except DataFault:
        return None


@cache
def _remedies(language: str) -> tuple[dict[str, str], tuple[str, ...]]:
    """Return the remedies that take no argument, by their wording, and the codes of those that do."""
    found = {
        code.removeprefix("remedy."): text for code, text in catalogue(language).items() if code.startswith("remedy.")
    }
    plain = {text: code for code, text in found.items() if "{" not in text}
    return plain, tuple(code for code, text in found.items() if "{" in text)


def _quantity(text: str | None) -> Quantity | None:
    """Return a quantity as the file has it; an excess may be below nothing, and finer than any tool."""
    if text is None:
        return None
    number, _, unit = text.removeprefix("-").rpartition(" ")
    sign = -1 if text.startswith("-") else 1
    if "/" in number and " " not in number:
        return Quantity(sign * Fraction(number), unit, shown=text)
    size = read_quantity(f"{number} {unit}", UNITS[unit].dimension, where="assessment")
    return Quantity(sign * size.value, unit, shown=text)
