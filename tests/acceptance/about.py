"""The one table from the plain words of the pairs (`about`) to the findings that each word accepts.

The first of these that says anything decides alone: its code, its rule, what it says is missing, its kind of
reading.  So a stroke taken at the wrong pressure is about pressure, and not about stroke.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fnmatch import fnmatchcase
from typing import Any


@dataclass(frozen=True, slots=True)
class Subject:
    """What one word accepts: codes, rule ids (``*`` is any end of an id), words missing, kinds of reading."""

    codes: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()


SUBJECTS = {
    "stroke": Subject(
        rules=(
            "us.federal.stroke",
            "us.federal.stroke_unlisted",
            "us.annual.stroke",
            "us.annual.stroke_unlisted",
            "us.roadside.stroke",
            "us.roadside.stroke_unlisted",
        ),
        missing=("applied_stroke",),
        kinds=("applied_stroke",),
    ),
    "lining": Subject(
        rules=(
            "us.federal.lining.steering.*",
            "us.federal.lining.other.*",
            "us.annual.lining.*",
            "us.roadside.lining.steering_*",
            "us.roadside.lining.other_drum",
            "us.roadside.lining.disc_pad",
            "ca-qc.r32.lining.*",
        ),
        missing=("lining",),
        kinds=("lining",),
    ),
    "drum": Subject(
        rules=("us.federal.drum_size",),
        missing=("drum_diameter",),
        kinds=("drum_diameter",),
    ),
    "match": Subject(
        rules=(
            "us.federal.chamber_match",
            "us.federal.arm_match",
            "us.annual.chamber_match_steering",
            "us.annual.arm_match_steering",
            "us.roadside.chamber_match_steering",
            "us.roadside.arm_match_steering",
            "trade.lining_type_match",
            "trade.stroke_class_match",
        ),
    ),
    "condition": Subject(
        rules=(
            "ca-qc.r32.lining_condition",
            "trade.heat_checks",
            "trade.oil_at_edge",
            "trade.rust_jacking",
            "trade.turned_by_hand",
            "us.annual.adjuster",
            "us.annual.brake_missing",
            "us.annual.chamber_leak",
            "us.annual.compressor",
            "us.annual.drum_or_rotor",
            "us.annual.hose",
            "us.annual.lining_loose",
            "us.annual.lining_soaked",
            "us.annual.mounting_loose",
            "us.annual.no_action",
            "us.annual.part_missing",
            "us.annual.spring_housing",
            "us.annual.tractor_protection",
            "us.annual.tube",
            "us.federal.brakes_on_all_wheels",
            "us.federal.brakes_operative",
            "us.federal.brakes_safe",
            "us.federal.connections_tight",
            "us.federal.hose_kept",
            "us.federal.kept_in_repair",
            "us.federal.parking_kept",
            "us.federal.tractor_protected",
            "us.roadside.air_system",
            "us.roadside.bushing_missing",
            "us.roadside.drum_broken",
            "us.roadside.one_brake",
            "us.roadside.one_brake_memory",
            "us.roadside.spring_housing",
            "us.roadside.steering_axle",
        ),
        missing=("condition",),
        kinds=("condition",),
    ),
    "chamber": Subject(codes=("identify_chamber",)),
    "pressure": Subject(
        codes=("unseen_wrong_pressure", "unseen_pressure_unknown"),
        rules=(
            "us.driver_test.warning",
            "us.federal.warning",
            "us.federal.warning_older",
            "us.annual.warning",
            "us.roadside.warning_dead",
        ),
        missing=("low_air_warning",),
        kinds=("low_air_warning",),
    ),
    "leak": Subject(
        rules=("us.driver_test.leak_applied.*", "us.driver_test.leak_released.*"),
        missing=("air_loss",),
        kinds=("air_loss",),
    ),
    "parking": Subject(
        rules=("us.federal.parking_hold", "us.federal.parking_hold_trailer"),
        missing=("parking_hold",),
        kinds=("parking_hold",),
    ),
    "count": Subject(codes=("count_over", "count_open"), rules=("us.roadside.share",)),
}


def words_about(finding: dict[str, Any]) -> set[str]:
    """Return the words a finding may be asked for by; none where the table does not know it."""
    rule = finding.get("rule")
    by_code = {word for word, subject in SUBJECTS.items() if finding.get("code") in subject.codes}
    if by_code:
        return by_code
    if rule is not None:
        return {word for word, subject in SUBJECTS.items() if _is_among(rule, subject.rules)}
    missing = words_of(finding.get("missing") or [])
    kind = (finding.get("args") or {}).get("kind")
    by_missing = {word for word, subject in SUBJECTS.items() if missing & set(subject.missing)}
    return by_missing or {word for word, subject in SUBJECTS.items() if kind in subject.kinds}


def _is_among(rule: str, patterns: Iterable[str]) -> bool:
    return any(fnmatchcase(rule, pattern) for pattern in patterns)


def words_of(entries: Iterable[str]) -> set[str]:
    """Return the words of the file contract that stand in a list of what is missing.

    >>> sorted(words_of(["lining.lower", "applied_stroke"]))
    ['applied_stroke', 'lining', 'lower']
    """
    return set(re.findall(r"[a-z0-9_]+", " ".join(entries)))
