"""Measures the walk-around report as a PDF: the demo's ten wheel ends; prints a table.

python benchmarks/reports.py
"""

from __future__ import annotations

import statistics
import time
from pathlib import Path

from treadle.assess import assess, vocabulary
from treadle.fleet.read import read_walkaround
from treadle.reports.pdf import pdf
from treadle.rules.load import shipped

DEMO = Path(__file__).parent.parent / "examples" / "demo" / "walkaround.json"


def main() -> None:
    """Time the first report of a process, and those after it."""
    rules = shipped()
    walk_around = read_walkaround(DEMO.read_text(encoding="utf-8"), vocabulary(rules))
    assessment = assess(walk_around, rules)
    spans = []
    for _ in range(15):
        start = time.perf_counter()
        pdf(assessment, walk_around)
        spans.append(time.perf_counter() - start)
    print("work                                         measured   budget")
    print(f"walk-around report, first in a process      {spans[0] * 1e3:6.0f} ms   100 ms")
    print(f"walk-around report, ten wheel ends          {statistics.median(spans[1:]) * 1e3:6.0f} ms   100 ms")


if __name__ == "__main__":
    main()
