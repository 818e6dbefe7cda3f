"""What a judgement says: findings with their proof, rolled up by end, axle, unit and combination."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from treadle.measure import Quantity
from treadle.rules.model import OUTCOMES
from treadle.words import say, term

SEVERITY = {outcome: rank for rank, outcome in enumerate(OUTCOMES)}


_TAILS = frozenset({"annual", "alone", "counts"})
"""How a code begins whose sentence goes on to say what a breach means on another occasion."""


def worst(outcomes: Iterable[str | None]) -> str | None:
    """Return the worst of some outcomes; None where nothing was judged.

    >>> worst(["good", None, "unseen", "watch"])
    'unseen'
    """
    judged = [outcome for outcome in outcomes if outcome is not None]
    return min(judged, key=SEVERITY.__getitem__) if judged else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """One thing found, wherever it was: the outcome and its proof.

    `code` names the sentence, `remedy` what would make it right; both are filled from the fields here and `args`.
    `measured`, `limit` and `excess` are None where nothing was measured, or no one limit decided.
    """

    outcome: str
    code: str
    remedy: str
    rule: str | None = None
    layer: str | None = None
    jurisdiction: str | None = None
    measured: Quantity | None = None
    limit: Quantity | None = None
    excess: Quantity | None = None
    citation: str | None = None
    basis: str | None = None
    unconfirmed: bool = False
    missing: tuple[str, ...] = ()
    args: Mapping[str, Any] = field(default_factory=dict)


class Finding(NamedTuple):
    """A verdict at its place; on a combination's share unit, axle and side are None."""

    verdict: Verdict
    unit: str | None = None
    axle: int | None = None
    side: str | None = None

    @property
    def outcome(self) -> str:
        """The outcome of the verdict."""
        return self.verdict.outcome

    def says(self, language: str = "en") -> str:
        """Return the sentence: what was measured, against what, by which rule."""
        tail, _, code = self.verdict.code.partition("_")
        if tail not in _TAILS:
            return say(f"finding.{self.verdict.code}", language, **self._arguments(language))
        return (
            f"{say(f'finding.{code}', language, **self._arguments(language))} {say(f'finding.tail.{tail}', language)}"
        )

    def remedy(self, language: str = "en") -> str:
        """Return what would make it right, in one sentence."""
        return say(f"remedy.{self.verdict.remedy}", language, **self._arguments(language))

    def _arguments(self, language: str) -> dict[str, Any]:
        verdict = self.verdict
        kind = verdict.args.get("kind")
        state = verdict.args.get("state")
        return {
            "subject": (f"{kind}_{state}" if state else kind, verdict.args.get("part")),
            "measured": verdict.measured or term(str(verdict.args.get("word", "")), language),
            "limit": verdict.limit,
            "excess": None if verdict.excess is None else _readable(verdict.excess),
            "citation": verdict.citation,
            "rule": verdict.rule,
            "missing": verdict.missing,
            **verdict.args,
        }

    def as_json(self, language: str) -> dict[str, Any]:
        """Return the finding as a file has it."""
        verdict = self.verdict
        return {
            "outcome": verdict.outcome,
            "unit": self.unit,
            "axle": self.axle,
            "side": self.side,
            "rule": verdict.rule,
            "layer": verdict.layer,
            "jurisdiction": verdict.jurisdiction,
            "measured": _written(verdict.measured),
            "limit": _written(verdict.limit),
            "excess": _written(verdict.excess),
            "citation": verdict.citation,
            "basis": verdict.basis,
            "unconfirmed": verdict.unconfirmed,
            "missing": list(verdict.missing),
            "code": verdict.code,
            "args": {key: _plain(value) for key, value in verdict.args.items()},
            "says": self.says(language),
            "remedy": self.remedy(language),
        }


def _readable(excess: Quantity) -> str:
    """Write how far past or within; a size no tool could show, from units of two systems, to a thousandth."""
    number, _, unit = excess.shown.lstrip("-").rpartition(" ")
    denominator = int(number.rpartition("/")[2]) if "/" in number else 1
    if denominator <= _FINEST_DIVISION:
        return f"{number} {unit}"
    return f"{abs(float(excess.value)):.3f} {unit}"


_FINEST_DIVISION = 64


def _written(quantity: Quantity | None) -> str | None:
    return None if quantity is None else str(quantity)


def _plain(value: Any) -> Any:
    if isinstance(value, Quantity | date):
        return str(value)
    return list(value) if isinstance(value, tuple) else value


class NotJudged(NamedTuple):
    """Something optional that is absent, or that no rule could be held against; it has no outcome."""

    unit: str
    what: str
    why: str
    axle: int | None = None
    side: str | None = None

    def as_json(self, language: str) -> dict[str, Any]:
        """Return the entry as a file has it."""
        return {
            "unit": self.unit,
            "axle": self.axle,
            "side": self.side,
            "what": self.what,
            "why": self.why,
            "says": say(f"not_judged.{self.why}", language, what=self.what),
        }


@dataclass(frozen=True, slots=True)
class Counted:
    """A wheel end that adds to a combination's roadside share: one or two halves, by these rules."""

    unit: str
    axle: int
    side: str
    halves: int
    rules: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AxleOutcome:
    """Outcome of an axle and of its ends; None where the occasion did not ask for it."""

    axle: int
    outcome: str | None
    ends: tuple[tuple[str, str | None], ...]


@dataclass(frozen=True, slots=True)
class UnitOutcome:
    """Outcome of a unit and of its axles."""

    number: str
    outcome: str | None
    axles: tuple[AxleOutcome, ...]


@dataclass(frozen=True, slots=True)
class CombinationOutcome:
    """Outcome of units coupled together, and their share of defective brakes."""

    units: tuple[str, ...]
    outcome: str | None
    halves: int
    brakes: int
    counted: tuple[Counted, ...]


@dataclass(frozen=True, slots=True)
class Assessment:
    """Everything judged of one walk-around on one day under one edition of the rules."""

    on: date
    occasion: str
    edition: str
    outcome: str
    units: tuple[UnitOutcome, ...]
    combinations: tuple[CombinationOutcome, ...]
    findings: tuple[Finding, ...]
    not_judged: tuple[NotJudged, ...]
    unseen_blocks: bool | None = None
    """Whether the shop's policy keeps a unit in for what is unseen on this occasion; None without a policy."""

    def as_json(self, language: str = "en") -> dict[str, Any]:
        """Return the assessment as a file has it, its sentences in `language`."""
        return {
            "treadle": "assessment/1",
            "on": self.on.isoformat(),
            "occasion": self.occasion,
            "edition": self.edition,
            "outcome": self.outcome,
            "unseen_blocks": self.unseen_blocks,
            "units": [
                {
                    "number": unit.number,
                    "outcome": unit.outcome,
                    "axles": [
                        {
                            "axle": axle.axle,
                            "outcome": axle.outcome,
                            "wheel_ends": [{"side": side, "outcome": outcome} for side, outcome in axle.ends],
                        }
                        for axle in unit.axles
                    ],
                }
                for unit in self.units
            ],
            "combinations": [
                {
                    "units": list(combination.units),
                    "outcome": combination.outcome,
                    "halves": combination.halves,
                    "brakes": combination.brakes,
                    "counted": [
                        {
                            "unit": counted.unit,
                            "axle": counted.axle,
                            "side": counted.side,
                            "halves": counted.halves,
                            "rules": list(counted.rules),
                        }
                        for counted in combination.counted
                    ],
                }
                for combination in self.combinations
            ],
            "findings": [finding.as_json(language) for finding in self.findings],
            "not_judged": [entry.as_json(language) for entry in self.not_judged],
        }
