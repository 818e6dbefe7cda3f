"""Joins readings and rules: one assessment of units on a day, with layers, doubt, basis, near and roll-up."""

from treadle.assess.judge import Judge, assess, vocabulary
from treadle.assess.policy import LAW_ONLY, Policy
from treadle.assess.policy_file import read_confirmed, read_policy
from treadle.assess.resolved import resolve_limits
from treadle.assess.verdict import Assessment, Finding

__all__ = [
    "LAW_ONLY",
    "Assessment",
    "Finding",
    "Judge",
    "Policy",
    "assess",
    "read_confirmed",
    "read_policy",
    "resolve_limits",
    "vocabulary",
]
