"""The invented carrier's vehicles, as they were bought: layouts, fitted parts, meters, duties.

The setting: Osier Bend Cartage of Tarn Ferry hauls for the mills and gravel landings of an invented valley, under
United States rules.  Names of lining types and patterns are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from demo.people import CARRIER, INTERCHANGE_POOL, OWNER_OPERATOR

Spec = dict[str, Any]


@dataclass(frozen=True, slots=True)
class AxlePlan:
    """An axle as bought; `fitted` holds what stands at each end, slot to specification."""

    role: str
    gawr: str
    fitted: dict[str, Spec]
    dual: bool = True
    can_lift: bool = False

    @property
    def brake(self) -> str:
        """The kind of brake, as the walk-around file names it."""
        return str(self.fitted["foundation"]["brake"])


@dataclass(frozen=True, slots=True)
class UnitPlan:
    """A vehicle as bought."""

    number: str
    kind: str
    built: str
    layout: str
    axles: tuple[AxlePlan, ...]
    duty: str
    """Which life its linings have: line, regional, local, bus or trailer."""
    miles_a_week: int = 0
    """Of a power unit."""
    meter: str = ""
    """``odometer``, ``hub_odometer`` or none."""
    measure: str = "mi"
    shown: int = 0
    """What the meter showed when the history begins, in its measure."""
    suspension: str = "air"
    runs_in: tuple[str, ...] = ("us",)
    owner: str = CARRIER
    maintainer: str = CARRIER
    note: str = ""
    pulls: tuple[str, ...] = ()
    """Groups of trailers a tractor pulls: van, flat, pups."""
    group: str = ""
    """The group a trailer or dolly belongs to."""
    driver: str = ""

    @property
    def is_power_unit(self) -> bool:
        """Whether it has an engine."""
        return self.kind in ("tractor", "truck", "bus")


def _lining(name: str, new: str, pattern: str) -> Spec:
    return {
        "lining_form": "continuous",
        "lining_attachment": "riveted",
        "lining_type": name,
        "new_thickness": new,
        "pattern": pattern,
    }


def _drum_axle(
    role: str,
    *,
    chamber: tuple[str, str, str],
    arm: str = "5.5 in",
    drum: str = "16.5 in",
    lining: Spec,
    gawr: str,
    spring: bool,
    mounting: str = "hub_piloted_m22",
    dual: bool = True,
) -> AxlePlan:
    """Return an S-cam axle; `chamber` is type, stroke class and rated stroke."""
    size, stroke_class, rated = chamber
    discard = {"16.5 in": "16.62 in", "15 in": "15.12 in"}[drum]
    return AxlePlan(
        role,
        gawr,
        {
            "foundation": {"brake": "air_drum", "spring_brake": spring, "abs": True},
            "lining": lining,
            "chamber": {"design": "clamp", "type": size, "stroke_class": stroke_class, "rated_stroke": rated},
            "adjuster": {"kind": "automatic", "arm": arm},
            "drum": {"nominal": drum, "discard": discard, "fit": "outboard"},
            "hardware": {"kit": "springs, rollers, pins and retainers"},
            "wheel": {"mounting": mounting, "studs": 10},
        },
        dual=dual,
    )


STANDARD_20, STANDARD_24 = ("20", "standard", "2.25 in"), ("24", "standard", "2.25 in")
STANDARD_30, LONG_30 = ("30", "standard", "2.5 in"), ("30", "long", "3 in")
LARCH_20, LARCH_23 = _lining("Larch 20", "3/4 in", "TF-20"), _lining("Larch 23", "3/4 in", "TF-23")
LARCH_STEER = _lining("Larch 20", "5/8 in", "TF-15S")

STEER = _drum_axle(
    "steer", chamber=STANDARD_20, drum="15 in", lining=LARCH_STEER, gawr="12000 lb", spring=False, dual=False
)
WIDE_STEER = _drum_axle("steer", chamber=STANDARD_24, lining=LARCH_STEER, gawr="13200 lb", spring=False, dual=False)
DISC_STEER = AxlePlan(
    "steer",
    "13200 lb",
    {
        "foundation": {"brake": "air_disc", "spring_brake": False, "abs": True, "rod_visible": False},
        "lining": {"lining_type": "Larch Pad 2", "new_thickness": "19 mm"},
        "chamber": {"design": "clamp", "type": "24", "stroke_class": "standard", "rated_stroke": "2.25 in"},
        "adjuster": {"kind": "automatic"},
        "rotor": {"nominal": "45 mm", "discard": "37 mm"},
        "wheel": {"mounting": "hub_piloted_m22", "studs": 10},
    },
    dual=False,
)
DRIVE = _drum_axle("drive", chamber=STANDARD_30, lining=LARCH_23, gawr="20000 lb", spring=True)
LONG_DRIVE = _drum_axle("drive", chamber=LONG_30, lining=LARCH_23, gawr="20000 lb", spring=True)
BUS_DRIVE = _drum_axle("drive", chamber=LONG_30, arm="6 in", lining=LARCH_23, gawr="23000 lb", spring=True)
TANDEM = _drum_axle("trailer", chamber=STANDARD_30, lining=LARCH_20, gawr="20000 lb", spring=True)
OLD_TANDEM = replace(TANDEM, fitted={**TANDEM.fitted, "wheel": {"mounting": "stud_piloted", "studs": 10}})
SPREAD = _drum_axle("trailer", chamber=LONG_30, lining=LARCH_20, gawr="20000 lb", spring=True)
PUP = _drum_axle("trailer", chamber=STANDARD_30, lining=LARCH_20, gawr="20000 lb", spring=True)
DOLLY = _drum_axle("dolly", chamber=STANDARD_30, lining=LARCH_20, gawr="20000 lb", spring=True)


def _tractor(number: str, built: str, axles: tuple[AxlePlan, ...], duty: str, **more: Any) -> UnitPlan:
    layout = "tractor_3_drum" if len(axles) == 3 else "tractor_2_drum"
    return UnitPlan(number, "tractor", built, layout, axles, duty, meter="odometer", **more)


def _trailer(number: str, built: str, axle: AxlePlan, group: str, *, axles: int = 2, **more: Any) -> UnitPlan:
    layout = {"van": "trailer_tandem_drum", "flat": "trailer_spread_drum", "pup": "trailer_single_drum"}[group]
    more = {"suspension": "spring", **more}
    return UnitPlan(number, "trailer", built, layout, (axle,) * axles, "trailer", group=group, **more)


_THREE, _THREE_LONG, _THREE_WIDE = (
    (STEER, DRIVE, DRIVE),
    (WIDE_STEER, LONG_DRIVE, LONG_DRIVE),
    (WIDE_STEER, DRIVE, DRIVE),
)
_VAN, _FLAT = ("van",), ("van", "flat")

FLEET: tuple[UnitPlan, ...] = (
    _tractor("K-3", "2017-06", _THREE, "regional", miles_a_week=1150, shown=402_118, pulls=_FLAT, driver="P. Garrow"),
    _tractor("K-5", "2018-02", _THREE, "line", miles_a_week=2050, shown=388_240, pulls=_VAN, driver="T. Wren"),
    _tractor("K-8", "2018-09", _THREE_WIDE, "line", miles_a_week=2200, shown=351_900, pulls=_VAN, driver="S. Lund"),
    _tractor("K-11", "2020-03", _THREE_WIDE, "line", miles_a_week=2150, shown=205_377, pulls=_VAN, driver="I. Castell"),
    _tractor("K-12", "2019-03", _THREE, "regional", miles_a_week=1250, shown=217_045, pulls=_VAN, driver="T. Wren"),
    _tractor(
        "K-14", "2021-01", _THREE_LONG, "regional", miles_a_week=1300, shown=98_310, pulls=_FLAT, driver="S. Lund"
    ),
    _tractor("K-15", "2021-02", _THREE, "regional", miles_a_week=1200, shown=91_002, pulls=_FLAT, driver="P. Garrow"),
    _tractor(
        "K-21",
        "2016-11",
        _THREE,
        "line",
        miles_a_week=1900,
        measure="km",
        shown=1_004_220,
        pulls=_VAN,
        owner=OWNER_OPERATOR,
        note="Leased on with its owner, who drives it; its odometer counts kilometres.",
        driver=OWNER_OPERATOR,
    ),
    _tractor(
        "K-6",
        "2015-05",
        (STEER, DRIVE),
        "local",
        miles_a_week=520,
        shown=421_666,
        pulls=("pup", "van"),
        driver="I. Castell",
        suspension="spring",
    ),
    _tractor(
        "K-9",
        "2019-10",
        (STEER, DRIVE),
        "regional",
        miles_a_week=1400,
        shown=188_059,
        pulls=("pup",),
        driver="P. Garrow",
    ),
    _tractor(
        "K-17",
        "2022-04",
        (DISC_STEER, DRIVE),
        "local",
        miles_a_week=610,
        shown=38_870,
        pulls=("pup", "van"),
        driver="S. Lund",
    ),
    UnitPlan(
        "S-4",
        "truck",
        "2018-07",
        "truck_2_drum",
        (STEER, DRIVE),
        "local",
        480,
        "odometer",
        shown=96_412,
        suspension="spring",
        driver="I. Castell",
    ),
    UnitPlan(
        "S-6",
        "truck",
        "2020-10",
        "truck_3_drum",
        (WIDE_STEER, LONG_DRIVE, LONG_DRIVE),
        "local",
        430,
        "odometer",
        shown=41_733,
        driver="P. Garrow",
        note="Gravel body.",
    ),
    UnitPlan(
        "B-1",
        "bus",
        "2017-08",
        "bus_2_drum",
        (WIDE_STEER, BUS_DRIVE),
        "bus",
        560,
        "odometer",
        shown=148_390,
        driver="T. Wren",
        note="Crew bus between Tarn Ferry and the gravel landing.",
    ),
    _trailer("T-1", "2018-04", TANDEM, "van", meter="hub_odometer", shown=141_220),
    _trailer("T-2", "2018-04", TANDEM, "van", meter="hub_odometer", shown=139_871),
    _trailer("T-3", "2019-06", TANDEM, "van", meter="hub_odometer", shown=101_660),
    _trailer("T-4", "2019-06", TANDEM, "van", meter="hub_odometer", shown=97_505),
    _trailer("T-5", "2014-02", OLD_TANDEM, "van"),
    _trailer("T-6", "2014-02", OLD_TANDEM, "van"),
    _trailer("T-7", "2016-08", TANDEM, "van", meter="hub_odometer", shown=107_330),
    _trailer("T-8", "2016-08", TANDEM, "van"),
    _trailer("T-9", "2021-09", TANDEM, "van", meter="hub_odometer", shown=30_118, suspension="air"),
    _trailer("T-10", "2015-03", SPREAD, "flat", suspension="air"),
    _trailer("T-11", "2015-03", SPREAD, "flat", suspension="air"),
    _trailer("T-12", "2017-10", SPREAD, "flat", meter="hub_odometer", shown=77_402, suspension="air"),
    _trailer("T-14", "2017-10", SPREAD, "flat", suspension="air"),
    _trailer("T-15", "2016-01", PUP, "pup", axles=1),
    _trailer("T-16", "2016-01", PUP, "pup", axles=1),
    _trailer("T-17", "2018-11", PUP, "pup", axles=1, meter="hub_odometer", shown=64_210),
    _trailer("T-18", "2018-11", PUP, "pup", axles=1),
    _trailer(
        "X-41",
        "2013-05",
        replace(
            OLD_TANDEM,
            fitted={
                **OLD_TANDEM.fitted,
                "chamber": {"design": "clamp", "type": "30", "stroke_class": "unknown"},
            },
        ),
        "van",
        owner=INTERCHANGE_POOL,
        maintainer=INTERCHANGE_POOL,
        note="Interchange; the tags of its chambers cannot be read.",
    ),
    UnitPlan("D-1", "dolly", "2016-01", "dolly_1_drum", (DOLLY,), "trailer", suspension="spring", group="dolly"),
    UnitPlan("D-2", "dolly", "2018-11", "dolly_1_drum", (DOLLY,), "trailer", suspension="spring", group="dolly"),
)
"""The fleet of the demo: 14 power units, 18 trailers, 2 dollies."""
POOL = len(FLEET)


def fleet_of(pool: int, size: int = POOL) -> tuple[UnitPlan, ...]:
    """Return the first `size` units of a pool; pools after the first are numbered on, for benchmarks."""
    if pool == 0:
        return FLEET[:size]
    return tuple(replace(plan, number=renumbered(plan.number, pool)) for plan in FLEET[:size])


def renumbered(number: str, pool: int) -> str:
    """Return a unit's number in another pool.

    >>> renumbered("K-12", 3), renumbered("K-12", 0)
    ('K-312', 'K-12')
    """
    letter, _, count = number.partition("-")
    return f"{letter}-{pool * 100 + int(count)}"
