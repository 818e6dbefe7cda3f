"""The demo's walk-around and any worked pair, read and judged, and the demo's fields to spoil."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from treadle.assess import Assessment, Policy, assess, vocabulary
from treadle.assess.policy import LAW_ONLY
from treadle.fleet.read import read_walkaround
from treadle.fleet.records import WalkAround
from treadle.rules.load import shipped

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "examples" / "demo" / "walkaround.json"
PAIRS = ROOT / "tests" / "acceptance" / "pairs"


@dataclass(frozen=True)
class Judged:
    """A walk-around and its assessment."""

    assessment: Assessment
    walk_around: WalkAround

    def __iter__(self):
        """Give both in the order every report takes them."""
        return iter((self.assessment, self.walk_around))


def judged_from(text: str, policy: Policy = LAW_ONLY) -> Judged:
    rules = shipped()
    walk_around = read_walkaround(text, vocabulary(rules))
    return Judged(assess(walk_around, rules, policy=policy), walk_around)


@pytest.fixture(scope="session")
def demo() -> Judged:
    """The demo, judged by law only."""
    return judged_from(DEMO.read_text(encoding="utf-8"))


@pytest.fixture
def fields() -> dict[str, Any]:
    """The demo's fields, to change."""
    return json.loads(DEMO.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def judge() -> Callable[..., Judged]:
    """Read and judge the fields of a walk-around."""
    return lambda raw, policy=LAW_ONLY: judged_from(json.dumps(raw), policy)


@pytest.fixture(scope="session")
def pair() -> Callable[[str], Judged]:
    """Read and judge a worked pair by its number."""

    def one(number: str) -> Judged:
        (path,) = PAIRS.glob(f"{number}-*.walkaround.json")
        return judged_from(path.read_text(encoding="utf-8"))

    return one


HOSTILE_NAME = "<script>alert(1)</script> #emph[Q] $x$ *b*"
HOSTILE_REASON = "<img src=x onerror=alert(2)> #emph[strong] @ref `raw` https://example.org/" + "a" * 70
HOSTILE_UNIT = "=T-7&<b>\"'#7"


@pytest.fixture(scope="session")
def hostile() -> Judged:
    """The demo with markup of every kind where people write."""
    raw = json.loads(DEMO.read_text(encoding="utf-8").replace('"T-7"', json.dumps(HOSTILE_UNIT)))
    raw["taken"]["by"] = HOSTILE_NAME
    for reading in raw["readings"]:
        if reading["kind"] == "not_seen":
            reading["reason"] = HOSTILE_REASON
    return judged_from(json.dumps(raw))


def _luminance(hue: str) -> float:
    parts = [int(hue[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.fixture(scope="session")
def contrast() -> Callable[[str, str], float]:
    """Contrast of two hues, as the web content accessibility guidelines reckon it."""
    return _contrast
