"""How long a job takes, from the shop's own finished jobs and nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor
from statistics import median

from treadle.procedures import Sentence

FEWEST_JOBS = 3
"""Below it there is no estimate: times of other shops are never borrowed."""

_SCALE, _FARTHEST = 0.6745, 3.5
"""The robust z of a value is 0.6745 of its distance from the median in median absolute deviations; past 3.5 it is left
out of the estimate, and shown."""


@dataclass(frozen=True, slots=True)
class Hours:
    """What own history says of a kind of job: half took up to `median` hours, four of five up to `p80`."""

    jobs: int
    median: float | None = None
    p80: float | None = None
    left_out: tuple[float, ...] = ()

    @property
    def says(self) -> Sentence:
        """The estimate, or that there is none."""
        if self.median is None or self.p80 is None:
            return Sentence("planning.hours.none", {"jobs": self.jobs, "fewest": FEWEST_JOBS})
        figures = {"jobs": self.jobs, "median": f"{self.median:.1f}", "p80": f"{self.p80:.1f}"}
        if not self.left_out:
            return Sentence("planning.hours.estimate", figures)
        left_out = ", ".join(f"{hours:.1f}" for hours in self.left_out)
        return Sentence("planning.hours.estimate_without", {**figures, "left_out": left_out})


def hours_from(history: Sequence[float]) -> Hours:
    """Return the median and the 80th percentile of the hours of own jobs, without those far out of line.

    Parameters
    ----------
    history : sequence of float
        Hours of the shop's own finished jobs of one kind. [h]

    Returns
    -------
    Hours
        Without figures where fewer than three jobs remain.

    Examples
    --------
    >>> hours_from([2.9, 3.1, 3.0, 3.4, 3.2, 6.8, 2.8, 3.3])
    Hours(jobs=7, median=3.1, p80=3.28, left_out=(6.8,))
    """
    left_out = _out_of_line(history)
    kept = sorted(hours for hours in history if hours not in left_out)
    if len(kept) < FEWEST_JOBS:
        return Hours(len(kept), left_out=left_out)
    return Hours(len(kept), round(median(kept), 2), round(_share_within(kept, 0.8), 2), left_out)


def _out_of_line(history: Sequence[float]) -> tuple[float, ...]:
    if len(history) < FEWEST_JOBS:
        return ()
    middle = median(history)
    spread = median(abs(hours - middle) for hours in history)
    if not spread:
        return ()
    return tuple(hours for hours in history if _SCALE * abs(hours - middle) / spread > _FARTHEST)


def _share_within(hours: Sequence[float], share: float) -> float:
    """Return the hours within which that share of sorted jobs was done, drawn straight between neighbours."""
    place = (len(hours) - 1) * share
    low = floor(place)
    high = min(low + 1, len(hours) - 1)
    return hours[low] + (place - low) * (hours[high] - hours[low])
