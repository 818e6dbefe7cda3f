"""The properties themselves: each takes files, judges them, and lists in sentences where a property does not hold."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st
from properties.drawn import Absence, Doubt, NearMiss
from properties.judging import (
    EVERY_LIMIT_CONFIRMED,
    RULES,
    breaches,
    halves,
    improved,
    judged,
    outcomes,
    rank,
    worst_of_each_reading,
)
from strategies import Fields

LAYERS = ("operate", "periodic", "roadside")
UNSEEN = "unseen"


def better_when_worse(*, good: Fields, bad: Fields) -> list[str]:
    """Where a file with one worse reading comes out better: a place, a rule not breached, fewer halves counted."""
    before, after = judged(good), judged(bad)
    lost = breaches(before, *LAYERS) - breaches(after, *LAYERS)
    was, became = halves(before), halves(after)
    return [
        *improved(before, after),
        *(f"no longer a breach: {breach}" for breach in sorted(map(str, lost))),
        *(f"{units}: {count} halves became {became[units]}" for units, count in was.items() if became[units] < count),
    ]


def different_outcomes(file: Fields, other: Fields) -> list[str]:
    """Where two files that say the same come out differently."""
    was, became = outcomes(judged(file)), outcomes(judged(other))
    return [
        f"{place}: {was.get(place)} became {became.get(place)}"
        for place in dict.fromkeys([*was, *became])
        if was.get(place) != became.get(place)
    ]


def improved_by_a_jurisdiction(file: Fields, other: Fields) -> list[str]:
    """Where a file, or what is said of one reading, comes out better because a unit runs in one more place.

    All limits are confirmed: a stricter law that was read may stand in for one from memory, also of another place.
    """
    before, after = (judged(one, policy=EVERY_LIMIT_CONFIRMED) for one in (file, other))
    was, became = worst_of_each_reading(before), worst_of_each_reading(after)
    return [
        *improved(before, after),
        *(
            f"{reading}: {outcome} became {became.get(reading)}"
            for reading, outcome in was.items()
            if rank(became.get(reading)) > rank(outcome)
        ),
    ]


def passes_unmeasured(absence: Absence) -> list[str]:
    """Where something needed was not read, and the place it is needed at passes."""
    after = outcomes(judged(absence.file))
    return [
        f"{place} is {after.get(place)} without {absence.what}"
        for place in absence.places
        if rank(after.get(place)) > rank(UNSEEN)
    ]


def excused_by_ignorance(doubt: Doubt) -> list[str]:
    """Where a file that is hold or fix passes once a fact is not known."""
    was, became = outcomes(judged(doubt.file)), outcomes(judged(doubt.other))
    return [
        f"{place}: {outcome} became {became.get(place)} without {doubt.fact}"
        for place, outcome in was.items()
        if rank(outcome) < rank(UNSEEN) < rank(became.get(place))
    ]


def good_in_doubt(doubt: Doubt) -> list[str]:
    """Where an end is plainly good although a fact that decides between different limits is not known.

    All limits are confirmed, so that no watch is left that asks for something else.
    """
    became = outcomes(judged(doubt.other, policy=EVERY_LIMIT_CONFIRMED))
    return [f"{place} is good without {doubt.fact}" for place in doubt.places if became.get(place) == "good"]


def band_misjudged(case: NearMiss) -> list[str]:
    """Where a reading is near and not said to be, or said to be and not near."""
    became = outcomes(judged(case.file, policy=EVERY_LIMIT_CONFIRMED))["end", "U-1", 1, "left"]
    return [] if became == case.expected else [f"{became}, expected {case.expected}"]


def days_of_change() -> list[date]:
    """Every day on which a value of some rule starts, ends, or is no longer confirmed, in order."""
    days = {
        day
        for rule in RULES.rules.values()
        for value in rule.values
        for day in (value.effective_from, value.ends, value.unconfirmed_from)
        if day is not None
    }
    return sorted(days)


@st.composite
def two_days_between_changes(draw: Any) -> tuple[date, date]:
    """Two days with no day of change after the first, up to the second."""
    changes = days_of_change()
    starts = [changes[0] - timedelta(days=4000), *changes]
    ends = [*changes, changes[-1] + timedelta(days=4000)]
    place = draw(st.integers(0, len(changes)))
    between = st.dates(starts[place], ends[place] - timedelta(days=1))
    return min(pair := (draw(between), draw(between))), max(pair)


def moved_by_the_day(file: Fields, earlier: date, later: date) -> list[str]:
    """What differs between two days in an assessment, the day itself apart."""
    was, became = (_without_the_day(judged(file, on=day).as_json()) for day in (earlier, later))
    return [f"{name}: {was[name]} became {became[name]}" for name in was if was[name] != became[name]]


def _without_the_day(assessment: Fields) -> Fields:
    for finding in assessment["findings"]:
        if "on" in finding["args"]:
            del finding["args"]["on"], finding["says"]
    return {name: value for name, value in assessment.items() if name != "on"}
