"""Settings and fixtures for every test: the rules as shipped, and a clean walk-around to spoil."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import settings

from treadle.assess import vocabulary as vocabulary_of
from treadle.fleet.read import Vocabulary
from treadle.rules.load import shipped
from treadle.rules.model import RuleSet

# A slow machine is no failure, so no example has a deadline.  CI repeats its examples; a developer's machine explores.
settings.register_profile("local", deadline=None, derandomize=False)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "local")

collect_ignore = ["web_settings.py"]
"""Django has read it by then; looked through for examples it would be read once more, and begin anew."""

STEER = {
    "role": "steer",
    "brake": "air_drum",
    "lining_form": "continuous",
    "chamber": {"design": "clamp", "type": "20", "stroke_class": "standard", "rated_stroke": "2.25 in"},
    "adjuster": {"kind": "automatic", "arm": "5.5 in"},
    "drum": {"nominal": "15 in", "discard": "15.12 in"},
    "spring_brake": False,
}
DRIVE = {
    "role": "drive",
    "brake": "air_drum",
    "lining_form": "continuous",
    "chamber": {"design": "clamp", "type": "30", "stroke_class": "standard", "rated_stroke": "2.5 in"},
    "adjuster": {"kind": "automatic", "arm": "5.5 in"},
    "drum": {"nominal": "16.5 in", "discard": "16.62 in"},
    "spring_brake": True,
}
AT_EACH_END = (
    {"kind": "applied_stroke", "value": "1 in"},
    {"kind": "lining", "shoe": "upper", "place": "centre", "value": "3/4 in"},
    {"kind": "lining", "shoe": "lower", "place": "centre", "value": "3/4 in"},
    {"kind": "condition", "value": "none_seen"},
)
MORE_AT_EACH_END = {
    "received": ({"kind": "tags", "value": "confirmed"},),
    "after_work": (
        {"kind": "free_stroke", "value": "1/2 in"},
        {"kind": "drum_diameter", "value": "+0.02 in"},
    ),
}
LEAK_APPLIED = {"kind": "air_loss", "state": "applied", "start": "100 psi", "end": "99 psi", "seconds": 60}
LEAK_RELEASED = {"kind": "air_loss", "state": "released", "start": "100 psi", "end": "99 psi", "seconds": 60}
BUILD_UP = {"kind": "build_up", "start": "85 psi", "end": "100 psi", "seconds": 25}
WARNING = {"kind": "low_air_warning", "value": "70 psi"}
SPRINGS_SET = {"kind": "spring_brake_set", "value": "35 psi"}
OF_THE_UNIT = {
    "daily": (WARNING, LEAK_APPLIED),
    "periodic": (BUILD_UP, WARNING, LEAK_RELEASED, LEAK_APPLIED, SPRINGS_SET),
    "after_work": (LEAK_APPLIED, {"kind": "parking_hold", "value": "held"}),
}


def _clean_walk_around(occasion: str = "service") -> dict[str, Any]:
    """A truck, K-12, with a steering and a drive axle, on which everything the occasion needs was read and is good."""
    ends = [(axle, side) for axle in (1, 2) for side in ("left", "right")]
    at_ends = [
        {"unit": "K-12", "axle": axle, "side": side, **reading}
        for axle, side in ends
        for reading in (*AT_EACH_END, *MORE_AT_EACH_END.get(occasion, ()))
    ]
    return {
        "treadle": "walkaround/1",
        "occasion": occasion,
        "combinations": [],
        "units": [
            {
                "number": "K-12",
                "kind": "truck",
                "built": "2019-03",
                "runs_in": ["us"],
                "axles": [_copied(STEER), _copied(DRIVE)],
            }
        ],
        "taken": {
            "at": "2026-10-02T07:40:00-06:00",
            "by": "R. Quill",
            "meter": {"K-12": "412350 mi"},
            "reservoir": "90 psi",
            "engine": "off",
            "spring_brakes": "released",
        },
        "readings": [*at_ends, *({"unit": "K-12", **reading} for reading in OF_THE_UNIT.get(occasion, ()))],
    }


def _copied(axle: dict[str, Any]) -> dict[str, Any]:
    return {name: dict(value) if isinstance(value, dict) else value for name, value in axle.items()}


@pytest.fixture
def clean_walk_around() -> Callable[..., dict[str, Any]]:
    """The builder of a clean walk-around file, as fields to change; each call gives new ones."""
    return _clean_walk_around


@pytest.fixture
def clean() -> dict[str, Any]:
    """A clean service walk-around, as fields to change."""
    return _clean_walk_around()


@pytest.fixture(scope="session")
def rules() -> RuleSet:
    """The rules that come with Treadle."""
    return shipped()


@pytest.fixture(scope="session")
def vocabulary(rules: RuleSet) -> Vocabulary:
    """The words a file may use that those rules publish."""
    return vocabulary_of(rules)
