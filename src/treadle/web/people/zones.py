"""The time zones of the world as a list to choose from, those where these rules apply first."""

from __future__ import annotations

from functools import cache
from zoneinfo import available_timezones

from treadle.words import say

_FIRST = {
    "us": (
        ("America/New_York", "eastern"),
        ("America/Chicago", "central"),
        ("America/Denver", "mountain"),
        ("America/Phoenix", "mountain_standard"),
        ("America/Los_Angeles", "pacific"),
        ("America/Anchorage", "alaska"),
        ("Pacific/Honolulu", "hawaii"),
    ),
    "ca": (
        ("America/St_Johns", "newfoundland"),
        ("America/Halifax", "atlantic"),
        ("America/Toronto", "eastern"),
        ("America/Winnipeg", "central"),
        ("America/Regina", "central_standard"),
        ("America/Edmonton", "mountain"),
        ("America/Vancouver", "pacific"),
    ),
    "mx": (
        ("America/Mexico_City", ""),
        ("America/Chihuahua", ""),
        ("America/Hermosillo", ""),
        ("America/Tijuana", ""),
        ("America/Cancun", ""),
    ),
}
"""By country: a zone, and what people there call it, where they have one name for it."""
_REGIONS = ("America", "Atlantic", "Europe", "Africa", "Asia", "Indian", "Australia", "Pacific", "Antarctica")

Choices = list[tuple[str, list[tuple[str, str]]]]


@cache
def zone_choices(language: str) -> Choices:
    """Return every zone, grouped, as a form takes choices."""
    groups = [
        (say(f"people.region.{country}", language), [(zone, _called(zone, name, language)) for zone, name in zones])
        for country, zones in _FIRST.items()
    ]
    known = available_timezones() - {zone for group in _FIRST.values() for zone, _ in group}
    for region in _REGIONS:
        there = sorted(zone for zone in known if zone.startswith(f"{region}/"))
        if there:
            groups.append((say(f"people.region.{region.lower()}", language), [(zone, _place(zone)) for zone in there]))
    return groups


def zones() -> frozenset[str]:
    """Return the names of all zones one may choose."""
    return frozenset(zone for _, group in zone_choices("en") for zone, _ in group)


def _called(zone: str, name: str, language: str) -> str:
    if not name:
        return _place(zone)
    return say("people.zone.choice", language, place=_place(zone), name=say(f"people.zone.{name}", language))


def _place(zone: str) -> str:
    """The place a zone is named for: "Denver", "Indiana, Knox"."""
    return ", ".join(part.replace("_", " ") for part in zone.split("/")[1:])
