"""From an assessment to a proposed job: tasks and why, parts, tools, lifting, hazards, own hours."""

from treadle.planning.hours import FEWEST_JOBS, Hours, hours_from
from treadle.planning.proposal import Part, Proposal, Task
from treadle.planning.proposing import propose

__all__ = [
    "FEWEST_JOBS",
    "Hours",
    "Part",
    "Proposal",
    "Task",
    "hours_from",
    "propose",
]
