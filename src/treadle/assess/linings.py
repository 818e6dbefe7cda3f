"""Judging the lining of one shoe or pad: at its centre, at its thinnest, and above its fasteners."""

from __future__ import annotations

from collections.abc import Mapping

from treadle.assess.comparison import Comparison, State, compare
from treadle.assess.limits import Group
from treadle.measure import Quantity
from treadle.rules.compare import is_past


def lining_against(group: Group, at: Mapping[str, Quantity], above: Quantity | None) -> Comparison:
    """Hold a shoe or pad against a rule on its thickness, or on either its thickness or its height above fasteners."""
    own = _thickness_against(group, at)
    either = group.rule.either
    if either is None or own.why == "in_doubt":
        return own
    below = None
    if above is not None:
        limit = either.figure.beside(above.unit)
        below = is_past(either.comparator, above.in_unit(limit.unit), limit.value)
    return _either_of(own, below=below)


def _either_of(own: Comparison, *, below: bool | None) -> Comparison:
    """Join a lining's thickness with its height above the fasteners: it fails only under both."""

    def changed(state: State, why: str = "", missing: tuple[str, ...] = ()) -> Comparison:
        return Comparison(
            own.group,
            state,
            own.measured,
            None if state == "open" else own.limit,
            None if state == "open" else own.past_by,
            own.basis,
            own.decides,
            why=why,
            missing=missing,
        )

    match own.state, below:
        case "breach", None:
            return changed("open", "no_height", ("above_fastener",))
        case "breach", False:
            return changed("under_one")
        case "within", True:
            return changed("under_one")
    return own


def _thickness_against(group: Group, at: Mapping[str, Quantity]) -> Comparison:
    """Hold a shoe's thickness against a rule on its centre or its thinnest point.

    The thinnest point at or over a limit satisfies a rule on the centre, and the centre under one fails a rule on
    the thinnest point; the converses say nothing.
    """
    place = group.rule.place
    if place is None:
        return compare(group, min(at.values(), key=lambda size: size.in_unit("mm")))
    if place == "thinnest" and place in at:  # a centre read thinner than the thinnest point decides
        return compare(group, min(at.values(), key=lambda size: size.in_unit("mm")))
    if place in at:
        return compare(group, at[place])
    other, telling = ("thinnest", "within") if place == "centre" else ("centre", "breach")
    result = compare(group, at[other])
    if result.state in (telling, "open"):
        return result
    return Comparison(group, "open", at[other], why=f"measure_{place}", missing=("lining", place))
