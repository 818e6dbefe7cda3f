"""The order in which wheel nuts are drawn up, so that each pulls against the one across from it."""

from __future__ import annotations

from math import gcd

from treadle.errors import BadInput, Problem

STUD_COUNTS = (5, 6, 8, 10)
"""The stud counts there is an order for."""


def star_order(studs: int) -> tuple[int, ...]:
    """Return the order of tightening, studs counted clockwise from the top from 1.

    The wheel maker's own figure governs where there is one.

    Raises
    ------
    BadInput
        There is no order for that number of studs.

    Examples
    --------
    >>> star_order(10)
    (1, 6, 3, 8, 5, 10, 2, 7, 4, 9)
    """
    if studs not in STUD_COUNTS:
        details = {"given": studs, "allowed": ", ".join(map(str, STUD_COUNTS))}
        raise BadInput(Problem("word_not_allowed", "studs", details))
    if studs % 2:
        return tuple(visit * 2 % studs + 1 for visit in range(studs))
    half = studs // 2
    return tuple(stud + 1 for pair in _pairs(half) for stud in (pair, pair + half))


def _pairs(half: int) -> tuple[int, ...]:
    """Return in which order the pairs of opposite studs come, each by its first stud."""
    if half % 2:
        step = min((one for one in range(1, half) if gcd(one, half) == 1), key=lambda one: (abs(2 * one - half), one))
        return tuple(visit * step % half for visit in range(half))
    return tuple(pair + across for pair in range(half // 2) for across in (0, half // 2))
