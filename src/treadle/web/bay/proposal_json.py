"""A proposal as it is kept with its job: plain JSON, every sentence in every language, so that it reads as it was."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from treadle.assess import Finding
from treadle.planning import Part, Proposal, Task
from treadle.procedures import Hazard, Sentence, shipped
from treadle.words import LANGUAGES

Said = dict[str, str]
"""A sentence by language."""
LISTS = ("measure_first", "look_and_repair", "by_hand", "keep_watching")
"""Where findings go that no task answers, in the order they are read."""


def proposal_as_json(proposal: Proposal) -> dict[str, Any]:
    """Return a proposal as JSON."""
    return {
        "unit": proposal.unit,
        "tasks": [_task(task) for task in proposal.tasks],
        **{name: findings_as_json(getattr(proposal, name)) for name in LISTS},
        "parts": [_part(part) for part in proposal.parts],
        "tools": _said_all(proposal.tools),
        "lifting": _said_all(proposal.lifting),
        "hazards": [hazard_as_json(hazard) for hazard in proposal.hazards],
        "needs": _said_all(proposal.needs),
        "cautions": _said_all(proposal.cautions),
    }


def findings_as_json(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings as an assessment has them, their sentences in every language."""
    return [
        {
            **finding.as_json(LANGUAGES[0]),
            "said": {language: finding.says(language) for language in LANGUAGES},
            "remedies": {language: finding.remedy(language) for language in LANGUAGES},
        }
        for finding in findings
    ]


def _task(task: Task) -> dict[str, Any]:
    return {
        "id": task.id,
        "procedure": task.procedure,
        "title": said(shipped()[task.procedure].title),
        "does": said(shipped()[task.procedure].does),
        "axle": task.axle,
        "sides": list(task.sides),
        "mate_sides": list(task.mate_sides),
        "must": task.must,
        "because": findings_as_json(task.because),
        "notes": _said_all(task.notes),
        "hours": said(task.hours.says),
    }


def _part(part: Part) -> dict[str, Any]:
    return {
        "name": said(part.says),
        "axle": part.axle,
        "sides": list(part.sides),
        "quantity": part.quantity,
        "rule": said(part.rule),
        "certain": part.certain,
        "citation": "" if part.citation is None else str(part.citation),
    }


def hazard_as_json(hazard: Hazard) -> dict[str, Any]:
    """Return a hazard with where it is written."""
    return {"said": said(hazard.says), "citation": "; ".join(map(str, hazard.citations)), "basis": hazard.basis}


def said(sentence: Sentence) -> Said:
    """Return a sentence in every language."""
    return {language: sentence.says(language) for language in LANGUAGES}


def _said_all(sentences: Iterable[Sentence]) -> list[Said]:
    return [said(sentence) for sentence in sentences]


# -- read back


def in_language(kept: Any, language: str) -> Any:
    """Return what was kept with every sentence in one language."""
    if isinstance(kept, dict):
        if kept and set(kept) <= set(LANGUAGES):
            return kept.get(language, "")
        return {name: in_language(value, language) for name, value in kept.items()}
    if isinstance(kept, list):
        return [in_language(one, language) for one in kept]
    return kept
