"""Fitting and removing parts: each is an interval, so that what was there on any day can be told."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from pydantic import ValidationError
from pydantic_core import ErrorDetails

from treadle.errors import BadInput, Problem
from treadle.fleet import file_model as written
from treadle.fleet.read import chamber_sizes_refusing
from treadle.measure import read_quantity
from treadle.web.people.models import Person
from treadle.web.units.models import FittedPart, Unit
from treadle.web.units.to_core import OF_THE_FILE

_SIZES = {
    "lining": ("new_thickness",),
    "chamber": ("rated_stroke", "marked_limit"),
    "adjuster": ("arm",),
    "drum": ("nominal", "discard"),
    "rotor": ("nominal", "discard"),
}
_BAY_FIELDS = {
    "lining": {"new_thickness", "pattern"},
    "adjuster": {"release"},
    "drum": {"fit"},
    "wheel": {"mounting", "studs"},
    "hardware": {"kit"},
}
BAY_WORDS = {
    "release": ("pull_pawl", "none"),
    "mounting": ("hub_piloted_m22", "hub_piloted_m20", "stud_piloted"),
    "fit": ("inboard", "outboard"),
}
"""Words of the bay's own fields, as the procedures know them; left out where not known."""
MOST_STUDS = 20
"""More studs than this on one hub are a slip (chosen, wide of anything fitted)."""
_MODELS: dict[str, type[Any]] = {
    "foundation": written.EndEntry,
    "lining": written.EndEntry,
    "chamber": written.ChamberEntry,
    "adjuster": written.AdjusterEntry,
    "drum": written.FrictionEntry,
    "rotor": written.FrictionEntry,
}


def checked_spec(slot: str, spec: Mapping[str, Any], *, where: str) -> dict[str, Any]:
    """Return a part's specification with its sizes as read, and nothing empty in it.

    Parameters
    ----------
    slot : str
        The slot, which says what fields there are.
    spec : mapping
        Field to value; a size carries its unit.
    where : str
        The place, for messages.

    Raises
    ------
    BadInput
        A field the slot does not have, a word that is not allowed, a size that cannot be read.
    """
    stated = {name: value for name, value in spec.items() if value not in (None, "")}
    own = _BAY_FIELDS.get(slot, set())
    model = _MODELS.get(slot)
    allowed = own | set(OF_THE_FILE.get(slot, ()))
    for name in stated:
        if name not in allowed:
            details = {"field": name, "allowed": ", ".join(sorted(allowed))}
            raise BadInput(Problem("unknown_field", f"{where}, {slot}", details))
    for name in _SIZES.get(slot, ()):
        if name in stated:
            stated[name] = str(read_quantity(stated[name], "length", where=f"{where}, {slot}, {name}"))
    _check_bay_words(stated, f"{where}, {slot}")
    if model is not None:
        _check_words(model, {name: value for name, value in stated.items() if name not in own}, f"{where}, {slot}")
    if slot == "foundation" and "brake" not in stated:
        raise BadInput(Problem("missing_field", f"{where}, {slot}, brake", {"field": "brake"}))
    if slot == "chamber" and chamber_sizes_refusing(stated["design"], stated.get("type")):
        raise BadInput(Problem("chamber_size_unusable", f"{where}, {slot}, type", {"given": stated["type"]}))
    return stated


def _check_bay_words(stated: Mapping[str, Any], where: str) -> None:
    for name, words in BAY_WORDS.items():
        if name in stated and stated[name] not in words:
            details = {"given": stated[name], "allowed": ", ".join(words)}
            raise BadInput(Problem("word_not_allowed", f"{where}, {name}", details))
    studs = stated.get("studs")
    if studs is not None and not (isinstance(studs, int) and 3 <= studs <= MOST_STUDS):
        raise BadInput(Problem("word_not_allowed", f"{where}, studs", {"given": studs, "allowed": f"3-{MOST_STUDS}"}))


def _check_words(model: type[Any], stated: Mapping[str, Any], where: str) -> None:
    try:
        model.model_validate(dict(stated))
    except ValidationError as fault:
        raise BadInput(_problem_of(detail, where) for detail in fault.errors()) from fault


def _problem_of(detail: ErrorDetails, where: str) -> Problem:
    field = ".".join(map(str, detail["loc"]))
    if detail["type"] == "missing":
        return Problem("missing_field", f"{where}, {field}", {"field": field})
    allowed = str(detail.get("ctx", {}).get("expected", detail["msg"])).replace("'", "")
    return Problem("word_not_allowed", f"{where}, {field}", {"given": detail.get("input"), "allowed": allowed})


@transaction.atomic
def fit(
    unit: Unit,
    *,
    axle: int,
    side: str,
    slot: str,
    spec: Mapping[str, Any],
    at: datetime,
    by: Person,
    lot: str = "",
    meter: str = "",
    job: str = "",
    why: str = "",
) -> FittedPart:
    """Fit a part; what was there before is removed at the same moment, for the reason given.

    Raises
    ------
    BadInput
        The specification cannot be used, or the moment lies before the part there was fitted.
    """
    place = f"{unit.number}, axle {axle}, {side}"
    checked = checked_spec(slot, spec, where=place)
    remove(unit, axle=axle, side=side, slot=slot, at=at, meter=meter, job=job, why=why)
    part = FittedPart(
        unit=unit,
        axle=axle,
        side=side,
        slot=slot,
        spec=checked,
        lot=lot,
        fitted_at=at,
        fitted_meter=meter,
        fitted_in=job,
        entered_by=by,
        entered_zone=by.shop.zone,
    )
    part.save()
    return part


def remove(
    unit: Unit, *, axle: int, side: str, slot: str, at: datetime, meter: str = "", job: str = "", why: str = ""
) -> FittedPart | None:
    """End the interval of the part fitted at a place; return it, or None where there is none."""
    old = FittedPart.objects.filter(unit=unit, axle=axle, side=side, slot=slot, removed_at=None).first()
    if old is None:
        return None
    if at < old.fitted_at:
        zone = ZoneInfo(old.entered_zone)
        fitted, given = (f"{moment.astimezone(zone):%Y-%m-%d %H:%M}" for moment in (old.fitted_at, at))
        details = {"fitted": fitted, "given": given}
        raise BadInput(Problem("removed_before_fitted", str(old), details))
    old.removed_at, old.removed_meter, old.removed_in, old.removed_why = at, meter, job, why
    old.save(update_fields=["removed_at", "removed_meter", "removed_in", "removed_why"])
    return old  # type: ignore[no-any-return]


@transaction.atomic
def correct_spec(part: FittedPart, spec: Mapping[str, Any], *, lot: str | None = None) -> FittedPart:
    """Put right what was recorded of a part that is fitted: the part is the same, its description was wrong."""
    part.spec = checked_spec(part.slot, spec, where=f"{part.unit.number}, axle {part.axle}, {part.side}")
    if lot is not None:
        part.lot = lot
    part.save(update_fields=["spec", "lot"])
    return part
