"""How the simulated brakes wear, and what a tool reads off them: physical state, in inches and miles.

Each constant carries its mark: found or secondary (read in a source), memory, derived, chosen (ours, for the demo).
Nothing here is used by the product; it only has to be plausible.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from random import Random

# -- linings

USABLE = 0.5
"""From a new block of 3/4 in to 1/4 in. [in] (memory: block thickness; found: 49 CFR 393.47(d), 1/4 in)"""
LIFE_MILES = {
    "line": 275_000,  # found: line haul with S-cams 250,000 to 300,000 mi
    "regional": 130_000,  # secondary: general service 50,000 to 150,000 mi, near its upper end
    "local": 75_000,  # secondary: the same range, towards its lower end
    "bus": 60_000,  # secondary: severe service about 50,000 mi; a crew bus is a little kinder (chosen)
    "trailer": 190_000,  # chosen: behind line-haul and regional tractors by turns
}
"""Miles in which a drive or trailer lining wears from new to 1/4 in."""
BY_POSITION = {"steer": 0.6, "drive": 1.0, "lift": 0.7, "trailer": 1.0, "dolly": 0.9}
"""Wear against that of a drive axle. (chosen)"""
SPREAD = {"unit": 0.15, "axle": 0.10, "end": 0.10, "lining": 0.08, "shoe": 0.05}
"""Standard deviations of the logarithm of the rate: units, axles, ends, linings and shoes differ. (chosen)"""
PHI, KAPPA = 0.02, 0.02
"""Variance of the wear b over a gap, in 32nds: phi b + kappa b^2. (chosen: the defaults of the wear sheet's model)"""
READING_ERROR = 0.58 / 32
"""Standard deviation of a lining reading before rounding to 1/32. [in] (derived: 0.65 with rounding, 0.29 alone)"""
MISREAD = 0.012
"""Share of lining readings that are off by six times as much. (chosen: within the 0.04 the wear sheet allows for)"""
PAD_LIFE_MILES = 320_000
"""Miles in which a disc pad wears by 0.6 in. (chosen)"""

# -- drums

DISCARD_OVER = 0.120
"""Over nominal at discard, unless the casting says otherwise. [in] (found)"""
DRUM_PER_LINING = 0.09
"""Drum diameter grown per inch of lining worn: two linings bring it near discard. (derived from: drums live about two
sets of linings, common practice, no source; and 200,000 to 400,000 mi, secondary)"""
NEW_DRUM_AT = 0.085
"""A drum further over than this at a reline is replaced. [in] (chosen: it would not last another lining)"""

# -- stroke

STIFFNESS = 3000 / 1.15
"""Force for an inch of elastic take-up. [lbf/in] (derived from the found split 0.66 + 1.15 + 0.19 = 2 in)"""
THRESHOLD = 5.0
"""Pressure before the linings touch. [psi] (memory: 3 to 7)"""
KNEE, TOE = 0.70, 0.30
"""Where a chamber's force begins to fall, and over what share of its stroke it falls to nothing. (chosen, to fit found
facts: full force to 70 % of the stroke)"""
GAIN = {"5.5 in": 22.0, "6 in": 24.0}
"""Inches of stroke per inch of radial gap, by arm. (derived, agrees with three found facts)"""
FREE_STROKE = (0.50, 0.625)
"""What a healthy self-adjuster holds. [in] (found: 1/2 to 5/8 in commonly)"""
BUSHINGS = 0.12
"""Stroke added by worn bushings and cam over 300,000 mi. [in] (chosen)"""
FAILS_EVERY_MILES = 1_100_000
"""Miles of one end in which its adjuster begins to fail, on average. (chosen)"""
LETS_GO = (0.10, 0.32)
"""Share of the wear a failing adjuster does not take up. (chosen)"""
STROKE_ERROR = 0.02
"""Standard deviation of a stroke reading before it is rounded to 1/16. [in] (chosen)"""
LIMITS = {("20", 2.25): 1.75, ("24", 2.25): 1.75, ("30", 2.5): 2.0, ("30", 3.0): 2.5}
"""What the shop of the demo looks for: stroke limit by chamber type and rated stroke. [in] (found: 49 CFR 393.47(e))"""

# -- what ends a lining before wear, per mile of an end (chosen)

CONDITIONS = {
    "oil_at_edge": 1 / 3_000_000,
    "drum_heat_checked": 1 / 9_000_000,
    "rust_jacking": 1 / 4_000_000,
    "chamber_leak": 1 / 3_500_000,
}


@dataclass(slots=True)
class Aim:
    """Where an end is steered: from `begin` at `start` to `goal` by `end`, in days of the history; then it stays."""

    start: int
    end: int
    begin: float
    goal: float

    def on(self, day: int) -> float:
        """Return the value on a day."""
        if day >= self.end:
            return self.goal
        return self.begin + (self.goal - self.begin) * (day - self.start) / (self.end - self.start)


@dataclass(slots=True)
class End:
    """The physical state of one wheel end; lengths in inches."""

    brake: str
    new: float
    """Thickness of a new lining or pad."""
    rate: float
    """Wear of each shoe by mile."""
    area: float
    rated: float
    gain: float
    linings: list[float] = field(default_factory=list)
    by_shoe: tuple[float, float] = (1.0, 1.0)
    drum_over: float = 0.0
    free: float = 0.56
    slack: float = 0.0
    """Stroke that a failing adjuster left."""
    lets_go: float = 0.0
    bushings: float = 0.0
    miles: int = 0
    """The unit's miles up to which this state is worn."""
    conditions: list[str] = field(default_factory=list)
    lining_aim: Aim | None = None
    stroke_aim: Aim | None = None

    @property
    def limit(self) -> float:
        """The stroke the shop looks for."""
        return LIMITS[f"{self.area:.0f}", self.rated]

    @property
    def thinnest(self) -> float:
        """The thinner of its two linings."""
        return min(self.linings)


def rate_of(rng: Random, *, duty: str, role: str, disc: bool, spread: float) -> float:
    """Return the wear of a lining by mile, drawn for one end; `spread` is the share its unit and axle have drawn.

    The answer is in inches by mile.
    """
    base = 0.6 / PAD_LIFE_MILES if disc else USABLE / LIFE_MILES[duty]
    return base * BY_POSITION[role] * math.exp(spread + rng.gauss(0, SPREAD["end"]))


def fit_lining(end: End, rng: Random, thickness: float | None = None) -> None:
    """Put linings on an end, new ones or of a thickness in inches; their rate differs a little from others'."""
    both = math.exp(rng.gauss(0, SPREAD["lining"]))
    end.by_shoe = (both * math.exp(rng.gauss(0, SPREAD["shoe"])), both * math.exp(rng.gauss(0, SPREAD["shoe"])))
    end.linings = [thickness if thickness is not None else end.new] * 2
    end.lining_aim = None
    end.conditions = [one for one in end.conditions if one not in ("oil_at_edge", "rust_jacking")]


def fit_adjuster(end: End, rng: Random) -> None:
    """Put a new self-adjuster on an end, and the bushings and pins that go with it."""
    end.free, end.slack, end.lets_go, end.bushings = rng.uniform(*FREE_STROKE), 0.0, 0.0, 0.0
    end.stroke_aim = None


def fit_drum(end: End) -> None:
    """Put a new drum on an end."""
    end.drum_over = 0.0
    end.conditions = [one for one in end.conditions if one != "drum_heat_checked"]


def wear_to(end: End, miles: int, day: int, rng: Random, *, may_fail: bool = True) -> None:
    """Wear an end on to its unit's miles.

    Wear over a gap is drawn from a gamma distribution, so it is never negative; a drum grows with what its linings
    lose; a failing adjuster leaves its share of the wear as stroke.
    """
    gone = miles - end.miles
    end.miles = miles
    if end.lining_aim is not None:
        before = end.thinnest
        goal = min(end.lining_aim.on(day), before)
        end.linings = [goal, min(max(goal + 1 / 32, goal), end.linings[1])]
        worn = before - goal
    elif gone > 0:
        worn = _worn(end.rate * gone, rng)
        end.linings = [max(one - worn * by, 0.02) for one, by in zip(end.linings, end.by_shoe, strict=True)]
    else:
        return
    if gone <= 0:
        return
    end.drum_over += worn * DRUM_PER_LINING
    end.bushings += BUSHINGS * gone / 300_000
    if end.brake != "air_drum":
        return
    if end.lets_go:
        end.slack += end.lets_go * end.gain * worn
    elif may_fail and rng.random() < gone / FAILS_EVERY_MILES:
        end.lets_go = rng.uniform(*LETS_GO)
    if may_fail:
        for name, by_mile in CONDITIONS.items():
            if rng.random() < gone * by_mile and name not in end.conditions:
                end.conditions.append(name)


def _worn(mean: float, rng: Random) -> float:
    """Draw the wear over a gap in inches: mean as given, variance by `PHI` and `KAPPA` in 32nds."""
    steps = mean * 32
    return rng.gammavariate(steps / (PHI + KAPPA * steps), PHI + KAPPA * steps) / 32


def held_force(end: End, stroke: float, pressure: float) -> float:
    """Force of the chamber at a stroke in inches and a pressure in psi, in lbf."""
    over = max(stroke / end.rated - KNEE, 0.0) / TOE
    return end.area * max(pressure - THRESHOLD, 0.0) * max(1 - over**3, 0.0)


def applied_stroke(end: End, pressure: float, day: int) -> float:
    """Stroke of a full application in inches: clearance, and what the brake gives elastically at this pressure in psi.

    Solved for the one stroke at which the chamber's force and the brake's agree.
    """
    if end.stroke_aim is not None:
        return end.stroke_aim.on(day)
    rest = end.free + end.slack + end.bushings
    stroke = rest + held_force(end, 0.0, pressure) / STIFFNESS
    if stroke <= KNEE * end.rated:
        return stroke
    low, high = min(rest, end.rated), end.rated
    for _ in range(20):
        middle = (low + high) / 2
        if rest + held_force(end, middle, pressure) / STIFFNESS > middle:
            low = middle
        else:
            high = middle
    return low


def free_stroke(end: End, day: int) -> float:
    """Stroke until the linings touch, as pried by hand, in inches."""
    if end.stroke_aim is not None:
        stroke = end.stroke_aim.on(day)
        return max(stroke - held_force(end, stroke, 95.0) / STIFFNESS, 0.4)
    return end.free + end.slack


# -- what the tool reads


def read_lining(thickness: float, rng: Random, *, exact: bool = False, misread: bool = True) -> int:
    """Return a lining reading in 32nds of an inch; at least one, for a tool held on what is left."""
    if not exact:
        error = rng.gauss(0, READING_ERROR)
        thickness += error * 6 if misread and rng.random() < MISREAD else error
    return max(round(thickness * 32), 1)


def read_stroke(stroke: float, rng: Random, *, exact: bool = False) -> int:
    """Return a stroke reading in 16ths of an inch."""
    return max(round((stroke if exact else stroke + rng.gauss(0, STROKE_ERROR)) * 16), 2)


def read_drum(over: float, rng: Random) -> int:
    """Return how far a drum is over nominal, in thousandths of an inch, at one place."""
    return max(round((over + rng.gauss(0, 0.002)) * 1000), 0)
