"""Measures the papers as PDFs, each from records that differ from time to time; prints a table.

python benchmarks/reports.py
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from treadle.assess import Assessment, assess, vocabulary
from treadle.fleet.read import read_walkaround
from treadle.fleet.records import WalkAround
from treadle.procedures import Facts, shipped, steps_for
from treadle.reports import dash_tag, defect_report, dispatch_release, job_card, recheck_slip, release_record
from treadle.reports.parts import Recheck, Seal, Shop, measured_rows, reasons_of
from treadle.reports.pdf import pdf
from treadle.rules.load import shipped as shipped_rules

DEMO = Path(__file__).parent.parent / "examples" / "demo" / "walkaround.json"
SHOP = Shop("Larkspur Bench Haulage", ("2 Kiln Road, Larkspur Bench",))
TIMES = 9


def main() -> None:
    """Time the first walk-around report of a process, those after it, and each of the shop's papers."""
    rules = shipped_rules()
    walk_around = read_walkaround(DEMO.read_text(encoding="utf-8"), vocabulary(rules))
    assessment = assess(walk_around, rules)
    first = _span(lambda _: pdf(assessment, walk_around), 0)
    print("work                                         measured   budget")
    _row("walk-around report, first in a process", first)
    _row("walk-around report, ten wheel ends", _median(lambda _: pdf(assessment, walk_around)))
    papers = _papers(assessment, walk_around)
    _row("job card, first in a process", _span(papers["job card, reline of an axle, 81 steps"], TIMES))
    for name, make in papers.items():
        _row(name, _median(make))


def _span(make: Callable[[int], object], number: int) -> float:
    start = time.perf_counter()
    make(number)
    return time.perf_counter() - start


def _median(make: Callable[[int], object]) -> float:
    return statistics.median([_span(make, number) for number in range(TIMES)][1:])


def _row(name: str, seconds: float) -> None:
    print(f"{name:<43} {seconds * 1e3:6.0f} ms   100 ms")


def _papers(assessment: Assessment, walk_around: WalkAround) -> dict[str, Callable[[int], object]]:
    """Return how to make each paper; its number is in it, so that none is set from what was kept of the one before."""
    at = walk_around.taken.at
    url = "https://shop.example/records/{}/"
    why = reasons_of(assessment.findings, "en")
    recheck = Recheck(distance="50 to 100 miles", low="412,400 mi", high="412,450 mi")
    unit = next(unit for unit in walk_around.units if unit.number == "T-7")
    reline = shipped()["scam_reline"]
    held = dash_tag.Held(outcome="hold", since=at, ordered_by="M. Aldana", why=why)
    tag = dash_tag.DashTag(shop=SHOP, unit="T-7", described="2-axle trailer", state=held, made_at=at, url="")
    done = measured_rows(assessment, walk_around, "en")
    steps = tuple(
        release_record.StepDone(number=number, says=f"Step number {number}.", by="R. Quill", at=at)
        for number in range(1, 50)
    )
    release = release_record.ReleaseRecord(
        shop=SHOP,
        unit="T-7",
        described="2-axle trailer",
        job="J-0",
        opened_at=at,
        released_at=at,
        released_by="M. Aldana",
        meter="412,350 mi",
        tasks=("Reline axle 2",),
        measured=tuple(row for row in done if row.outcome in ("good", "watch") and "T-7 axle 2" in row.where),
        steps=steps,
        torque=(),
        parts=(),
        people=(),
        recheck=recheck,
        seal=Seal(record="0" * 64, head="f" * 64),
        url="",
    )
    rest = dispatch_release.Rest(what="applied strokes", by="R. Quill", at=at, distance="212 mi")
    going = dispatch_release.UnitReleased(number="T-7", described="trailer", outcome="good", rests_on=(rest,) * 6)
    dispatch = dispatch_release.DispatchRelease(
        shop=SHOP, units=(going, going), outcome="good", count="0 of 10.", at=at, by="M. Aldana", url=""
    )
    ends = tuple(f"axle {axle} {side}" for axle in (1, 2) for side in ("left", "right"))
    slip = recheck_slip.RecheckSlip(
        shop=SHOP,
        unit="T-7",
        described="2-axle trailer",
        job="J-0",
        released_at=at,
        meter="412,350 mi",
        recheck=recheck,
        wheels=tuple(recheck_slip.Wheel(where=end, studs=10) for end in ends),
        strokes=tuple(recheck_slip.Stroke(where=end, last="1 3/8 in", limit="2 in") for end in ends),
        url="",
    )
    defect = defect_report.Defect(item="lights", says="Left marker lamp out.")
    report = defect_report.DefectReport(
        shop=SHOP, units=("T-7",), driver="L. Marrow", at=at, defects=(defect,) * 4, none_found=False, url=""
    )
    task = job_card.CardTask(
        title=reline.title.says("en"),
        where="axle 2",
        because=why,
        steps=steps_for(reline, unit, 2, facts=Facts(studs=10, duals=True)),
        cautions=tuple(caution.says("en") for caution in reline.cautions),
    )
    card = job_card.JobCard(
        shop=SHOP,
        job="J-0",
        made_at=at,
        unit=unit,
        described="2-axle trailer",
        assessment=assessment,
        tasks=(task,),
        parts=(),
        tools=(),
        cautions=(),
        ends=frozenset({(2, "left"), (2, "right")}),
        url="",
    )
    return {
        "dash tag": lambda n: dash_tag.pdf(replace(tag, url=url.format(n), unit=f"T-{n}")),
        "dash tag, two on a sheet": lambda n: dash_tag.pdf(replace(tag, url=url.format(n), unit=f"T-{n}"), size="half"),
        "job release, one axle, 49 steps": lambda n: release_record.pdf(replace(release, url=url.format(n))),
        "dispatch release, two units": lambda n: dispatch_release.pdf(replace(dispatch, url=url.format(n))),
        "re-check slip, four wheel ends": lambda n: recheck_slip.pdf(replace(slip, url=url.format(n))),
        "driver's report, four defects": lambda n: defect_report.pdf(replace(report, url=url.format(n))),
        "job card, reline of an axle, 81 steps": lambda n: job_card.pdf(replace(card, url=url.format(n), job=f"J-{n}")),
    }


if __name__ == "__main__":
    main()
