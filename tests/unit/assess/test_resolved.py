"""Limits resolved for a phone: whatever it looks up is what the judge says."""

from datetime import date
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treadle.assess import assess, resolve_limits, vocabulary
from treadle.assess.resolved import STEPS
from treadle.fleet.read import records_from
from treadle.measure import show_number
from treadle.rules.load import shipped

DAY = date(2026, 10, 2)
RULES = shipped()


def walk_around(axle: dict[str, Any], readings: list[dict[str, Any]], **taken: str) -> Any:
    """Return a one-axle dolly with these readings at its left end, and a clean right end."""
    clean = [
        {"kind": "applied_stroke", "value": "1 1/4 in"},
        {"kind": "lining", "shoe": "upper", "place": "centre", "value": "3/4 in"},
        {"kind": "lining", "shoe": "lower", "place": "centre", "value": "3/4 in"},
        {"kind": "condition", "value": "none_seen"},
    ]
    left = [{"unit": "D-3", "axle": 1, "side": "left", **reading} for reading in readings]
    right = [{"unit": "D-3", "axle": 1, "side": "right", **reading} for reading in clean]
    return records_from(
        {
            "treadle": "walkaround/1",
            "occasion": "service",
            "units": [{"number": "D-3", "kind": "dolly", "built": "2019-03", "runs_in": ["us"], "axles": [axle]}],
            "taken": {
                "at": "2026-10-02T07:40:00-06:00",
                "by": "R. Quill",
                "engine": "off",
                "spring_brakes": "released",
                **taken,
            },
            "readings": left + right,
        },
        vocabulary(RULES),
    )


def dolly_axle(**chamber: str) -> dict[str, Any]:
    return {
        "role": "dolly",
        "brake": "air_drum",
        "lining_form": "continuous",
        "chamber": {"design": "clamp", **chamber},
        "adjuster": {"kind": "automatic", "arm": "5.5 in"},
        "drum": {"nominal": "16.5 in", "discard": "16.62 in"},
    }


CHAMBERS = [
    {"type": "30", "stroke_class": "standard"},
    {"type": "24", "stroke_class": "unknown"},
    {"type": "20", "stroke_class": "long", "rated_stroke": "3 in"},
    {"type": "14", "rated_stroke": "2.25 in"},
    {"type": "14"},
    {"type": "12", "stroke_class": "long"},
]


def looked_up(limits: dict[str, Any], steps: int, *, kind: str, unit: str, **beside: Any) -> str | None:
    """Do what the phone does: find the table, then the band."""
    tables = limits["ends"][limits["wheel_ends"][0]["end"]]["measures"]
    for table in tables:
        if table["kind"] != kind or table["unit"] != unit or table.get("place") != beside.get("place"):
            continue
        reservoir = table.get("reservoir")
        if reservoir is not None:
            pressure = beside["psi"]
            inside = reservoir["from"] <= pressure and (reservoir["to"] is None or pressure <= reservoir["to"])
            if reservoir["unit"] != "psi" or not inside:
                continue
        for band in table["bands"]:
            if band["from"] <= steps and (band["to"] is None or steps <= band["to"]):
                return band["outcome"]
    raise AssertionError(f"no band for {kind} {steps}/{STEPS[unit]} {unit} {beside}")


def judged(judged_walk_around: Any, kind: str) -> str:
    """Return the worst the judge says of one kind of reading at the left end."""
    found = assess(judged_walk_around, RULES, on=DAY).findings
    order = ["hold", "fix", "unseen", "watch", "good"]
    here = [one.outcome for one in found if one.side == "left" and one.verdict.args.get("kind") == kind]
    return min(here, key=order.index)


@given(
    chamber=st.sampled_from(CHAMBERS),
    sixty_fourths=st.integers(4, 220),
    psi=st.integers(60, 120),
)
def test_a_stroke_looked_up_is_what_the_judge_says(chamber: dict[str, str], sixty_fourths: int, psi: int) -> None:
    size = Fraction(sixty_fourths, 64)
    reading = {"kind": "applied_stroke", "value": f"{show_number(size, 'in')} in"}
    walked = walk_around(dolly_axle(**chamber), [reading], reservoir=f"{psi} psi")
    limits = resolve_limits(walked.units[0], RULES, on=DAY, occasion="service")
    steps = int(size * STEPS["in"])
    assert judged(walked, "applied_stroke") == looked_up(limits, steps, kind="applied_stroke", unit="in", psi=psi)


@given(tenths=st.integers(0, 220), place=st.sampled_from(["centre", "thinnest"]))
def test_a_lining_in_millimetres_looked_up_is_what_the_judge_says(tenths: int, place: str) -> None:
    value = f"{show_number(Fraction(tenths, 10), 'mm')} mm"
    readings = [{"kind": "lining", "shoe": shoe, "place": place, "value": value} for shoe in ("upper", "lower")]
    walked = walk_around(dolly_axle(**CHAMBERS[0]), readings, reservoir="90 psi")
    limits = resolve_limits(walked.units[0], RULES, on=DAY, occasion="service")
    assert judged(walked, "lining") == looked_up(limits, tenths * 10, kind="lining", unit="mm", place=place)


@given(thousandths=st.integers(16_400, 16_800))
def test_a_drum_in_thousandths_looked_up_is_what_the_judge_says(thousandths: int) -> None:
    value = f"{show_number(Fraction(thousandths, 1000), 'in', decimal=True)} in"
    walked = walk_around(dolly_axle(**CHAMBERS[0]), [{"kind": "drum_diameter", "value": value}], reservoir="90 psi")
    limits = resolve_limits(walked.units[0], RULES, on=DAY, occasion="service")
    assert judged(walked, "drum_diameter") == looked_up(limits, thousandths * 8, kind="drum_diameter", unit="in")


@pytest.mark.parametrize("word", ["lining_soaked", "drum_cracked", "drum_heat_checked", "no_braking_action"])
def test_a_condition_looked_up_is_what_the_judge_says(word: str) -> None:
    walked = walk_around(dolly_axle(**CHAMBERS[0]), [{"kind": "condition", "value": word}], reservoir="90 psi")
    limits = resolve_limits(walked.units[0], RULES, on=DAY, occasion="service")
    end = limits["ends"][limits["wheel_ends"][0]["end"]]
    assert judged(walked, "condition") == end["words"]["condition"][word]["outcome"]


def test_a_stroke_one_step_past_its_limit_is_another_band() -> None:
    walked = walk_around(dolly_axle(**CHAMBERS[0]), [], reservoir="90 psi")
    limits = resolve_limits(walked.units[0], RULES, on=DAY, occasion="service")
    at_limit, past = 2 * STEPS["in"], 2 * STEPS["in"] + 1
    assert looked_up(limits, at_limit, kind="applied_stroke", unit="in", psi=90) == "watch"
    assert looked_up(limits, past, kind="applied_stroke", unit="in", psi=90) == "fix"


def test_bands_leave_no_gap_and_do_not_overlap() -> None:
    walked = walk_around(dolly_axle(**CHAMBERS[1]), [], reservoir="90 psi")
    limits = resolve_limits(walked.units[0], RULES, on=DAY, occasion="service")
    for end in limits["ends"]:
        for table in end["measures"]:
            bands = table["bands"]
            assert bands[0]["from"] == 0
            assert bands[-1]["to"] is None
            assert all(one["to"] + 1 == after["from"] for one, after in pairwise(bands))


def test_ends_alike_are_sent_once_and_carry_what_they_need() -> None:
    walked = walk_around(dolly_axle(**CHAMBERS[0]), [], reservoir="90 psi")
    limits = resolve_limits(walked.units[0], RULES, on=DAY, occasion="service")
    assert [place["end"] for place in limits["wheel_ends"]] == [0, 0]
    assert limits["ends"][0]["needs"] == ["stroke", "shoes", "condition"]
    assert limits["edition"] == RULES.edition
