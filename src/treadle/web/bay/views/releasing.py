"""The proof of a job and its release: what was measured against which limit, what is missing and where to put it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from treadle.reports.parts import measured_rows
from treadle.reports.rows import rows_of
from treadle.reports.wording import rule_of
from treadle.web.bay import release as releasing
from treadle.web.bay.models import Job
from treadle.web.bay.papers import recheck_of
from treadle.web.bay.release import Proof, Refusal
from treadle.web.bay.views.shared import DO, KEEP, PAPERS, SEE, address, job_named, language_of, note, person_of
from treadle.web.bay.wording import end_of, qualified_as
from treadle.web.people.access import allowed
from treadle.web.walkaround.stored import read_back
from treadle.words import say

_OF_STEPS = ("step", "hold_point")


@allowed(*SEE)
def release(request: HttpRequest, job: str) -> HttpResponse:
    """Show what a job would be released on, and release it; a refusal goes on record and is shown with its reasons."""
    row, by = job_named(job), person_of(request)
    if row.state == Job.State.RELEASED:
        return _released(request, row)
    refused = False
    if request.method == "POST" and by.may(*KEEP):
        try:
            releasing.release(row, by=by, at=timezone.now())
        except releasing.ReleaseRefused:
            refused = True
        else:
            note(request, "bay.done.released", job=row.number)
            return redirect(address("release", row))
    proof = releasing.proof_for(row, by=by, at=timezone.now())
    found = {"job": row, "refused": refused, **_shown(row, proof, request)}
    return render(request, "bay/release.html", found, status=409 if refused else 200)


def _shown(job: Job, proof: Proof, request: HttpRequest) -> dict[str, Any]:
    language, by = language_of(request), person_of(request)
    found: dict[str, Any] = {
        "proof": proof,
        "refusals": [_refusal(job, one, language) for one in _gathered(proof.refusals)],
        "may_do": by.may(*DO),
        "may_keep": by.may(*KEEP),
        "qualified": qualified_as(by, timezone.localdate(), language),
    }
    if proof.assessment is not None and proof.record is not None:
        found["outcome"] = proof.assessment.outcome
        found["rows"] = rows_of(proof.assessment, proof.record, language)
        found["measured"] = measured_rows(proof.assessment, proof.record, language)
    return found


def _gathered(refusals: Iterable[Refusal]) -> list[Refusal]:
    """Return the reasons with those about steps as one for each kind: the first of them, and how many there are."""
    found: dict[Any, list[Refusal]] = {}
    for place, refusal in enumerate(refusals):
        found.setdefault(refusal.code if refusal.code in _OF_STEPS else place, []).append(refusal)
    return [replace(group[0], details={**group[0].details, "count": len(group)}) for group in found.values()]


def _refusal(job: Job, refusal: Refusal, language: str) -> dict[str, Any]:
    """Return a reason against the release as a sentence, with where it is put right."""
    details = refusal.details
    where = end_of(details.get("axle"), (details["side"],) if details.get("side") else (), language)
    said: dict[str, Any] = {"outcome": None, "rule": "", "url": _put_right(job, refusal)}
    if refusal.finding is not None:
        finding = refusal.finding
        says, cited = finding.says(language), finding.verdict.citation
        rule = "" if cited and cited in says else rule_of(finding.verdict, language)
        said |= {"outcome": finding.outcome, "says": says, "rule": rule, "measure": True}
        return {**said, "where": where, "remedy": finding.remedy(language)}
    slot = say(f"units.slot.{details['slot']}", language) if "slot" in details else ""
    arguments = {"where": where, "slot": slot, **{name: details.get(name, "") for name in ("number", "who", "count")}}
    says = say(f"bay.refusal.{refusal.code}", language, **arguments)
    return {**said, "says": says, "where": "", "measure": refusal.code == "no_proof"}


def _put_right(job: Job, refusal: Refusal) -> str:
    """Return where a reason against the release is put right; empty where nobody can do it on a screen of the bay."""
    details = refusal.details
    if refusal.code in ("step", "hold_point"):
        return address("step", job, details["position"], details["id"])
    if refusal.code == "part":
        return address("part", job, details["axle"], details["side"], details["slot"])
    if refusal.code == "torque":
        return address("steps", job)
    if refusal.code == "not_under_way":
        return address("job", job)
    if refusal.code == "not_qualified":
        return reverse("people:list")
    return ""


def _released(request: HttpRequest, job: Job) -> HttpResponse:
    """Show a release as it was sealed."""
    language, row = language_of(request), job.release  # type: ignore[attr-defined]
    record, assessment = read_back(row.judged)
    re_check = job.re_checks.order_by("entered_at").first()  # type: ignore[attr-defined]
    found = {
        "job": job,
        "release": row,
        "outcome": row.judged.outcome,
        "measured": measured_rows(assessment, record, language),
        "rows": rows_of(assessment, record, language),
        "hours": releasing.hours_of(job),
        "re_check": re_check,
        "re_check_due": None if re_check is None else recheck_of(re_check, language),
        "papers": PAPERS,
    }
    return render(request, "bay/released.html", found)
