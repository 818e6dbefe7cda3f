"""What the screen of a walk starts from: passes, what is fitted at each end, its limits, the readings so far."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils import timezone

from treadle.fleet.records import SIDES, Unit, WheelEnd
from treadle.reports.wording import capital
from treadle.rules.load import shipped
from treadle.web.people.models import Person, RoleHeld, Shop
from treadle.web.units.models import Unit as UnitRow
from treadle.web.units.to_core import record_from, units_as_file
from treadle.web.walkaround.answers import readings_out
from treadle.web.walkaround.enter import MAY_MEASURE, MAY_WALK_DAILY
from treadle.web.walkaround.limits import limits_of_entry
from treadle.web.walkaround.models import Judged, WalkAround
from treadle.web.walkaround.passes import Pass, Place, as_plan, passes_of
from treadle.web.walkaround.small_plan import small_plan
from treadle.words import catalogue, say, term

REASONS = ("hidden", "covered", "no_mark", "unsafe")
"""Why something is not seen, as the screen offers it; anything else is typed."""
KEPT_BECAUSE = ("read_twice", "tool", "later")
"""Why a reading that cannot be so is kept all the same, as the screen offers it."""
_PREFIX = "walkaround.screen."


def screen_of(walk: WalkAround, shop: Shop, person: Person, *, language: str, now: datetime) -> dict[str, Any]:
    """Return everything the screen of a walk needs, as JSON.

    Raises
    ------
    BadInput
        What is on file of a unit does not make a whole vehicle.
    """
    today = now.astimezone(ZoneInfo(shop.zone)).date()
    units = [one.unit for one in walk.walked.select_related("unit")]
    entries = {entry["number"]: entry for entry in units_as_file(units)}
    records = [record_from(entries[unit.number]) for unit in units]
    limits = {
        number: limits_of_entry(entry, shop, occasion=walk.occasion, on=today, language=language)[0]
        for number, entry in entries.items()
    }
    passes = passes_of(records, walk.occasion, touched=_touched(walk), lining_places=_lining_places(limits))
    rows = walk.readings.select_related("unit", "entered_by", "walk_around")
    return {
        "id": str(walk.pk),
        "occasion": walk.occasion,
        "zone": shop.zone,
        "language": language,
        "measure": person.measure or shop.measure,
        "me": {"id": str(person.pk), "name": person.name},
        "people": [{"id": str(one.pk), "name": one.name} for one in who_may_read(walk.occasion)],
        "finished": walk.finished_at is not None,
        "made_safe": [one["what"] for one in walk.made_safe],
        "circumstances": walk.circumstances,
        "passes": _labelled(passes, language),
        "units": [_unit(record, language) for record in records],
        "limits": limits,
        "conditions": _conditions(language),
        "readings": [row.model_dump(mode="json") for row in readings_out(rows, shop, at=now, language=language)],
        "until": timezone.now().isoformat(),
        "words": words(language),
        "outcomes": {
            outcome: say(f"outcome.{outcome}", language) for outcome in ("hold", "fix", "unseen", "watch", "good")
        },
        "reasons": [say(f"walkaround.reason.{reason}", language) for reason in REASONS],
        "kept_because": [say(f"walkaround.kept_because.{reason}", language) for reason in KEPT_BECAUSE],
        "urls": {
            "readings": reverse("api:take_reading"),
            "since": reverse("api:readings", args=[walk.pk]),
            "note": reverse("api:note", args=[walk.pk]),
            "finish": reverse("api:finish_walk", args=[walk.pk]),
            "photos": reverse("api:take_photo"),
            "walk": reverse("walkaround:walk", args=[walk.pk]),
            "keep": reverse("walkaround:keep", args=[walk.pk]),
            "result": reverse("walkaround:one", args=[walk.pk]),
            "list": reverse("walkaround:list"),
            "sign_in": reverse("people:sign_in"),
        },
    }


def words(language: str) -> dict[str, str]:
    """Return the sentences the screen itself says, by their code after ``walkaround.screen.``."""
    return {code.removeprefix(_PREFIX): text for code, text in catalogue(language).items() if code.startswith(_PREFIX)}


def who_may_read(occasion: str) -> list[Person]:
    """Return the people of the shop who may take readings on an occasion, by name."""
    roles = MAY_WALK_DAILY if occasion == "daily" else MAY_MEASURE
    held = RoleHeld.objects.filter(role__in=roles, until=None, person__is_active=True)
    ids = held.values_list("person", flat=True)
    return list(Person.objects.filter(pk__in=ids).order_by("name"))


def progress(walk: WalkAround, *, shop: Shop, on: date) -> tuple[int, int]:
    """Return how many of the readings a walk's occasion needs are there, and how many it needs."""
    units = [one.unit for one in walk.walked.select_related("unit")]
    entries = {entry["number"]: entry for entry in units_as_file(units)}
    limits = {
        number: limits_of_entry(entry, shop, occasion=walk.occasion, on=on, language="en")[0]
        for number, entry in entries.items()
    }
    records = [record_from(entries[unit.number]) for unit in units]
    passes = passes_of(records, walk.occasion, touched=_touched(walk), lining_places=_lining_places(limits))
    needed = {
        (stop.unit, stop.axle, stop.side or "", field.kind, field.part, field.state)
        for one in passes
        for stop in one.stops
        for field in stop.fields
        if field.needed
    }
    replaced = set(walk.readings.exclude(corrects=None).values_list("corrects", flat=True))
    there = {
        (
            row.unit.number,
            row.axle,
            row.side,
            kind,
            row.fields.get("shoe") or row.fields.get("pad") or "",
            row.fields.get("state", ""),
        )
        for row in walk.readings.select_related("unit").filter(withdraws=False)
        if row.pk not in replaced
        for kind in ({"rod_applied": "applied_stroke"}.get(row.kind, row.kind),)
    }
    return len(needed & there), len(needed)


def judged_of(walk: WalkAround) -> list[Judged]:
    """Return the assessments of a walk-around, the last first."""
    return list(walk.judged.order_by("-entered_at"))


def units_to_walk() -> list[UnitRow]:
    """Return the shop's units in use, by number."""
    return list(UnitRow.objects.filter(left_fleet_on=None).order_by("number"))


def _touched(walk: WalkAround) -> frozenset[Place] | None:
    if walk.touched is None:
        return None
    return frozenset((one["unit"], one["axle"], one["side"]) for one in walk.touched)


def _lining_places(limits: dict[str, Any]) -> dict[Place, frozenset[str]]:
    """Return where on the lining each end's rules ask it to be read: what a reading of the other place leaves open."""
    found = {}
    for number, of_unit in limits.items():
        asked = [_places_asked(end) for end in of_unit["ends"]]
        for place in of_unit["wheel_ends"]:
            found[number, place["axle"], place["side"]] = asked[place["end"]]
    return found


def _places_asked(end: dict[str, Any]) -> frozenset[str]:
    codes = {
        band["code"]
        for table in end["measures"]
        if table["kind"] == "lining"
        for band in table["bands"]
        if band["outcome"]
    }
    asked = {code.removeprefix("unseen_measure_") for code in codes if code.startswith("unseen_measure_")}
    return frozenset(asked or {"centre"})


def _labelled(passes: tuple[Pass, ...], language: str) -> list[dict[str, Any]]:
    plan = as_plan(passes)
    for one in plan:
        one["label"] = say(f"walkaround.pass.{one['name']}", language)
        one["does"] = say(f"walkaround.pass_does.{one['name']}", language)
        for stop in one["stops"]:
            for field in stop["fields"]:
                field["label"] = _label(field, language)
                field["short"], field["rest"] = _in_two(field, language)
    return plan


def _label(field: dict[str, Any], language: str) -> str:
    kind = f"{field['kind']}_{field['state']}" if field["state"] else field["kind"]
    named = [term(word, language) for word in (kind, field["part"], field["place"]) if word]
    return capital(", ".join(named))


def _in_two(field: dict[str, Any], language: str) -> tuple[str, str]:
    """Return what a row is called, and the rest of its name for the small line under it."""
    if not field["part"]:
        return _label(field, language), ""
    rest = [term(word, language) for word in (field["kind"], field["place"]) if word]
    return capital(term(field["part"], language)), ", ".join(rest)


def _unit(record: Unit, language: str) -> dict[str, Any]:
    return {
        "number": record.number,
        "kind": record.kind,
        "described": say("walkaround.unit", language, axles=len(record.axles), kind=record.kind),
        "power": record.is_power_unit,
        "plan": small_plan(record, language),
        "ends": [
            {
                "axle": axle.number,
                "side": side,
                "name": say("walkaround.end", language, axle=axle.number, side=side),
                "fitted": _fitted(axle.end(side), language),
                "nominal": _nominal(axle.end(side)),
                "parts": _parts(axle.end(side), language),
                "conditions": _can_be_seen(axle.end(side)),
            }
            for axle in record.axles
            for side in SIDES
            if axle.end(side).brake != "none"
        ],
    }


def _fitted(end: WheelEnd, language: str) -> str:
    """Say what is on file at an end: brake, drum, chamber and adjuster, as far as each is known."""
    said = [say(f"walkaround.brake.{end.brake}", language)]
    if end.chamber is not None and end.chamber.type is not None:
        kind = say(f"walkaround.stroke_class.{end.chamber.stroke_class or 'unknown'}", language)
        said.append(say("walkaround.chamber", language, type=end.chamber.type, stroke_class=kind))
    if end.adjuster is not None:
        arm = end.adjuster.arm
        kind = say(f"walkaround.adjuster.{end.adjuster.kind or 'unknown'}", language)
        said.append(kind if arm is None else say("walkaround.arm", language, adjuster=kind, arm=arm))
    return ", ".join(said)


def _nominal(end: WheelEnd) -> str | None:
    part = end.drum or end.rotor
    return None if part is None or part.nominal is None else str(part.nominal)


def _parts(end: WheelEnd, language: str) -> dict[str, str]:
    """Return the terms of the shoes or pads there, which sentences about linings name."""
    names = ("inner", "outer") if end.brake.endswith("disc") else ("upper", "lower")
    return {name: term(name, language) for name in names}


def _can_be_seen(end: WheelEnd) -> list[str]:
    """Return the names of the conditions that can be seen there at all, by what is on file of the end."""
    return [
        name
        for name, condition in shipped().conditions.items()
        if condition.part in ("brake", "wheel") and condition.can_be_at(end.brake, spring_brake=end.spring_brake)
    ]


def _conditions(language: str) -> list[dict[str, str]]:
    return [
        {"name": name, "label": capital(condition.label[language]), "part": condition.part}
        for name, condition in shipped().conditions.items()
        if condition.part != "none"
    ]
