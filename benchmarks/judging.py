"""Measures the judge: one combination of 18 wheel ends, and many in bulk, from parsed records; prints a table.

python benchmarks/judging.py
"""

from __future__ import annotations

import statistics
import time
from datetime import date
from fractions import Fraction

from treadle.assess import Judge, vocabulary
from treadle.fleet.read import records_from
from treadle.fleet.records import WalkAround
from treadle.measure import show_number
from treadle.rules.load import shipped

RULES = shipped()
DAY = date(2026, 10, 2)


def combination(seed: int) -> WalkAround:
    """Return a combination of 18 wheel ends whose readings vary with the seed: 18 strokes, 36 linings, 18 looks."""
    layouts = (
        ("K", "tractor", 3, "drive"),
        ("T", "trailer", 2, "trailer"),
        ("D", "dolly", 2, "dolly"),
        ("U", "trailer", 2, "trailer"),
    )
    units = [
        {
            "number": f"{letter}-{seed}",
            "kind": kind,
            "built": "2019-03",
            "runs_in": ["us"],
            "axles": [_axle("steer" if kind == "tractor" and number == 1 else role) for number in range(1, axles + 1)],
        }
        for letter, kind, axles, role in layouts
    ]
    readings = [
        reading
        for unit, (_, _, axles, _) in zip(units, layouts, strict=True)
        for axle in range(1, axles + 1)
        for side in ("left", "right")
        for reading in _readings(str(unit["number"]), axle, side, seed)
    ]
    raw = {
        "treadle": "walkaround/1",
        "occasion": "service",
        "combinations": [[unit["number"] for unit in units]],
        "units": units,
        "taken": {
            "at": f"{DAY}T07:40:00-06:00",
            "by": "R. Quill",
            "reservoir": f"{90 + seed % 10} psi",
            "engine": "off",
            "spring_brakes": "released",
        },
        "readings": readings,
    }
    return records_from(raw, vocabulary(RULES))


def _axle(role: str) -> dict[str, object]:
    steer = role == "steer"
    rated = "2.25 in" if steer else "2.5 in"
    return {
        "role": role,
        "brake": "air_drum",
        "lining_form": "continuous",
        "chamber": {
            "design": "clamp",
            "type": "20" if steer else "30",
            "stroke_class": "standard",
            "rated_stroke": rated,
        },
        "adjuster": {"kind": "automatic", "arm": "5.5 in"},
        "spring_brake": not steer,
        "abs": True,
    }


def _readings(unit: str, axle: int, side: str, seed: int) -> list[dict[str, object]]:
    turn = seed * 7 + axle * 3 + (side == "right")
    stroke = show_number(Fraction(16 + turn % 18, 16), "in")
    at = {"unit": unit, "axle": axle, "side": side}
    return [
        {**at, "kind": "applied_stroke", "value": f"{stroke} in"},
        {**at, "kind": "lining", "shoe": "upper", "place": "centre", "value": f"{8 + turn % 16}/32 in"},
        {**at, "kind": "lining", "shoe": "lower", "place": "centre", "value": f"{8 + turn * 5 % 16}/32 in"},
        {**at, "kind": "condition", "value": "none_seen"},
    ]


def main() -> None:
    """Time both rows of the budget and print them."""
    one = combination(1)
    first = _timed(lambda: Judge(RULES, DAY, "service").assess(one), times=30)
    judge = Judge(RULES, DAY, "service")
    judge.assess(one)
    again = _timed(lambda: judge.assess(one), times=200)
    fleet = [combination(seed) for seed in range(1200)]
    start = time.perf_counter()
    bulk = Judge(RULES, DAY, "service")
    for walk_around in fleet:
        bulk.assess(walk_around)
    rate = 18 * len(fleet) / (time.perf_counter() - start)
    print("work                                                    measured        budget")
    print(f"judge 18 wheel ends, nothing resolved before            {first * 1e3:8.2f} ms     5 ms")
    print(f"judge 18 wheel ends, rules of the day resolved          {again * 1e3:8.2f} ms     5 ms")
    print(f"judge in bulk, 1,200 combinations, one core             {rate:8.0f} ends/s 20,000 ends/s")


def _timed(work: object, times: int) -> float:
    spans = []
    for _ in range(times):
        start = time.perf_counter()
        work()  # type: ignore[operator]
        spans.append(time.perf_counter() - start)
    return statistics.median(spans)


if __name__ == "__main__":
    main()
