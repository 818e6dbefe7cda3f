"""The walk-around file, version 1, as it is written: the one description from which its JSON Schema is published.

Only structure and fixed words are checked here; `fleet.read` turns it into records and checks the rest.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field

Occasion = Literal["daily", "service", "received", "roadside", "periodic", "after_work"]
Kind = Literal["tractor", "truck", "trailer", "dolly", "bus"]
Role = Literal["steer", "drive", "lift", "trailer", "dolly"]
Brake = Literal["air_drum", "air_disc", "air_wedge", "hydraulic_drum", "hydraulic_disc", "electric", "none"]
Side = Literal["left", "right"]
Shoe = Literal["upper", "lower", "front", "rear"]
Pad = Literal["inner", "outer"]
QuantityText = Annotated[
    str, Field(description="A quantity with its unit, as read off the tool.", examples=["1 3/4 in", "6.4 mm"])
]
AxleNumber = Annotated[int, Field(ge=1, le=99, description="Counted from the front, from 1.")]
Time = Annotated[
    str,
    Field(description="ISO 8601 date and time with its UTC offset.", examples=["2026-10-02T07:40:00-06:00"]),
]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class ChamberEntry(_Strict):
    """An air chamber as cast, tagged and stamped."""

    design: Literal["clamp", "bolt", "roto", "dual_diaphragm", "unlisted"]
    type: str | None = None
    stroke_class: Literal["standard", "long", "unknown"] | None = None
    rated_stroke: QuantityText | None = None
    marked_limit: QuantityText | None = None


class AdjusterEntry(_Strict):
    """A slack adjuster; the arm is its effective length."""

    kind: Literal["automatic", "manual", "unknown"] | None = None
    arm: QuantityText | None = None


class FrictionEntry(_Strict):
    """A drum or rotor: nominal size and the maker's discard size."""

    nominal: QuantityText | None = None
    discard: QuantityText | None = None


class _EndFields(_Strict):
    brake: Brake | None = None
    lining_form: Literal["continuous", "two_pads"] | None = None
    lining_attachment: Literal["bonded", "riveted", "bolted"] | None = None
    lining_type: str | None = None
    wear_mark: bool | None = None
    chamber: ChamberEntry | None = None
    adjuster: AdjusterEntry | None = None
    drum: FrictionEntry | None = None
    rotor: FrictionEntry | None = None
    spring_brake: bool | None = None
    rod_visible: bool | None = None
    abs: bool | None = None


class EndEntry(_EndFields):
    """What one end has that its axle does not: each field replaces the axle's whole field."""


class AxleEntry(_EndFields):
    """An axle; what is stated here holds for both ends."""

    role: Role
    brake: Brake
    gawr: QuantityText | None = None
    lift_raised: bool | None = None
    left: EndEntry = EndEntry()
    right: EndEntry = EndEntry()


class UnitEntry(_Strict):
    """A vehicle; axles from the front."""

    number: str = Field(min_length=1)
    kind: Kind
    built: str = Field(description="Year and month, or the day.", examples=["2019-03", "2019-03-14"])
    runs_in: list[str] = Field(min_length=1)
    axles: list[AxleEntry] = Field(min_length=1)


class _Circumstances(_Strict):
    reservoir: QuantityText | None = None
    engine: Literal["off", "running"] | None = None
    spring_brakes: Literal["released", "applied"] | None = None
    supply: Literal["own", "shop"] | None = None


class TakenEntry(_Circumstances):
    """When, by whom and in what state; a reading may override any of it."""

    at: Time
    by: str = Field(min_length=1)
    meter: dict[str, QuantityText] = {}


class _Entry(_Circumstances):
    unit: str
    id: str | None = None
    at: Time | None = None
    by: str | None = None


class _EndEntry(_Entry):
    axle: AxleNumber
    side: Side


class StrokeEntry(_EndEntry):
    """The applied stroke, or what happened instead of one."""

    kind: Literal["applied_stroke"]
    value: QuantityText | None = None
    special: Literal["no_movement", "bottomed"] | None = None


class LengthEntry(_EndEntry):
    """A length at a wheel end."""

    kind: Literal[
        "free_stroke",
        "rod_released",
        "rod_applied",
        "running_clearance",
        "drum_diameter",
        "rotor_thickness",
        "end_play",
    ]
    value: QuantityText


class LiningEntry(_EndEntry):
    """The thickness of a lining or pad, without its shoe or plate."""

    kind: Literal["lining"]
    place: Literal["centre", "thinnest"]
    shoe: Shoe | None = None
    pad: Pad | None = None
    value: QuantityText


class AboveFastenerEntry(_EndEntry):
    """How far the lining stands above its rivets or bolts."""

    kind: Literal["above_fastener"]
    shoe: Shoe | None = None
    pad: Pad | None = None
    value: QuantityText


class ScribeMovementEntry(_EndEntry):
    """How far the scribe mark of one shoe of a wedge brake moved."""

    kind: Literal["scribe_movement"]
    shoe: Shoe
    value: QuantityText


class CamAngleEntry(_EndEntry):
    """How far the cam has turned from its rest."""

    kind: Literal["cam_angle"]
    value: QuantityText


class HubTemperatureEntry(_EndEntry):
    """The hub's temperature."""

    kind: Literal["hub_temperature"]
    value: QuantityText


class WearIndicatorEntry(_EndEntry):
    """Where the lining stands against its wear mark or indicator."""

    kind: Literal["wear_indicator"]
    shoe: Shoe | None = None
    pad: Pad | None = None
    value: Literal["clear", "at_mark", "gone"]


class TagsEntry(_EndEntry):
    """Whether the tags of chamber and adjuster were read and agree with what is on file."""

    kind: Literal["tags"]
    value: Literal["confirmed", "differ"]


class ConditionEntry(_Entry):
    """Something seen, from the published list; `none_seen` says that somebody looked."""

    kind: Literal["condition"]
    axle: AxleNumber | None = None
    side: Side | None = None
    value: str


class NotSeenEntry(_Entry):
    """Something that was looked for and could not be read, with the reason."""

    kind: Literal["not_seen"]
    axle: AxleNumber | None = None
    side: Side | None = None
    shoe: Shoe | None = None
    pad: Pad | None = None
    what: str
    reason: str = Field(min_length=1)


Seconds = Annotated[Decimal, Field(gt=0, le=86_400, strict=False)]


class AirLossEntry(_Entry):
    """Pressure lost over a time, brakes released or applied."""

    kind: Literal["air_loss"]
    state: Literal["released", "applied"]
    start: QuantityText
    end: QuantityText
    seconds: Seconds


class BuildUpEntry(_Entry):
    """Pressure gained over a time."""

    kind: Literal["build_up"]
    start: QuantityText
    end: QuantityText
    seconds: Seconds
    rpm: int | None = Field(default=None, gt=0)


class ActsAtEntry(_Entry):
    """The pressure at which something acted, or that it did not act."""

    kind: Literal["low_air_warning", "spring_brake_set", "cut_in", "cut_out"]
    value: QuantityText | None = None
    special: Literal["did_not_act"] | None = None


class ReservoirVolumeEntry(_Entry):
    """Volume of the service reservoirs."""

    kind: Literal["reservoir_volume"]
    value: QuantityText


class BrakeForceEntry(_Entry):
    """Force at one wheel on a brake tester."""

    kind: Literal["brake_force"]
    axle: AxleNumber | None = None
    side: Side
    value: QuantityText


class StopDistanceEntry(_Entry):
    """A stopping distance."""

    kind: Literal["stop_distance"]
    value: QuantityText


class ParkingHoldEntry(_Entry):
    """Whether the parking brakes held."""

    kind: Literal["parking_hold"]
    value: Literal["held", "moved"]


ReadingEntry = Annotated[
    StrokeEntry
    | LengthEntry
    | LiningEntry
    | AboveFastenerEntry
    | ScribeMovementEntry
    | CamAngleEntry
    | HubTemperatureEntry
    | WearIndicatorEntry
    | TagsEntry
    | ConditionEntry
    | NotSeenEntry
    | AirLossEntry
    | BuildUpEntry
    | ActsAtEntry
    | ReservoirVolumeEntry
    | BrakeForceEntry
    | StopDistanceEntry
    | ParkingHoldEntry,
    Field(discriminator="kind"),
]


READING_MODELS: dict[str, type[BaseModel]] = {
    kind: model
    for model in get_args(get_args(ReadingEntry)[0])
    for kind in get_args(model.model_fields["kind"].annotation)
}
"""The description of each kind of reading."""


class TouchedEntry(_Strict):
    """A wheel end that was worked on."""

    unit: str
    axle: AxleNumber
    side: Side
    opened: bool = Field(default=True, description="Whether its drum or rotor could be measured.")


class WalkAroundFile(_Strict):
    """A walk-around: units as they stand, how they are coupled, and what was seen and measured."""

    treadle: Literal["walkaround/1"]
    occasion: Occasion
    combinations: list[Annotated[list[str], Field(min_length=1)]] = []
    units: list[UnitEntry] = Field(min_length=1)
    taken: TakenEntry
    touched: list[TouchedEntry] | None = None
    readings: list[ReadingEntry]


def walkaround_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of the walk-around file."""
    schema = WalkAroundFile.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "walkaround/1", **schema}
