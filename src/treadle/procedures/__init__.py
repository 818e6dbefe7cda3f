"""The steps of each kind of brake job as data, resolved for one axle, with hazards and hold points that bite."""

from treadle.procedures.hold import Entry, Missing, StepRecord, TorqueDone, what_is_missing
from treadle.procedures.model import (
    LUBRICATION_OPEN,
    PHASES,
    Figure,
    Hazard,
    Hold,
    Measurement,
    Procedure,
    Sentence,
    Step,
    TorqueRecord,
)
from treadle.procedures.read import edition, load, shipped, torque_records
from treadle.procedures.resolve import FACT_WORDS, Facts, steps_for
from treadle.procedures.star import STUD_COUNTS, star_order

__all__ = [
    "FACT_WORDS",
    "LUBRICATION_OPEN",
    "PHASES",
    "STUD_COUNTS",
    "Entry",
    "Facts",
    "Figure",
    "Hazard",
    "Hold",
    "Measurement",
    "Missing",
    "Procedure",
    "Sentence",
    "Step",
    "StepRecord",
    "TorqueDone",
    "TorqueRecord",
    "edition",
    "load",
    "shipped",
    "star_order",
    "steps_for",
    "torque_records",
    "what_is_missing",
]
