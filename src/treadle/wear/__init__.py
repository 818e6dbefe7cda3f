"""What distance does to a brake: meters made into distance, and the wear that goes with it."""

from treadle.wear.axis import Coupling, Distance, Jump, Meter, MeterReading, Segment, Span
from treadle.wear.distance import (
    MOST_A_DAY,
    check_reading,
    distance_at,
    distance_between,
    distance_pulled,
    doubtful_jumps,
    filled_by_tractors,
    last_known,
)

__all__ = [
    "Coupling",
    "Distance",
    "Jump",
    "Meter",
    "MeterReading",
    "Segment",
    "Span",
    "MOST_A_DAY",
    "check_reading",
    "distance_at",
    "distance_between",
    "distance_pulled",
    "doubtful_jumps",
    "filled_by_tractors",
    "last_known",
]
