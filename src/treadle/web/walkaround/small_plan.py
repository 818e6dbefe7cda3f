"""A unit from above, small: where you are on it, and what each wheel end came to so far."""

from __future__ import annotations

from html import escape

from treadle.fleet.records import SIDES, Unit
from treadle.words import say

WIDTH = 76
_STEP, _GROUP, _TOP = 24, 42, {"trailer": 40, "dolly": 34}
_WHEEL = 18


def small_plan(unit: Unit, language: str) -> str:
    """Return the drawing as SVG; each wheel end is a group with its axle and side as data, to be coloured by class.

    Front at the top, so that left is left; attributes and classes only, for a strict content policy.
    """
    heights = _heights(unit)
    bottom = heights[-1] + 22
    title = escape(say("report.plan.title", language, unit=unit.number))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="small-plan" role="img" aria-label="{title}" '
        f'width="{WIDTH}" height="{bottom}" viewBox="0 0 {WIDTH} {bottom}">',
        _body(unit.kind, bottom),
    ]
    for axle, y in zip(unit.axles, heights, strict=True):
        parts.append(f'<path class="body" d="M20 {y}H56"/>')
        sides = [side for side in SIDES if axle.end(side).brake != "none"]
        parts += [_end(axle.number, side, y, single=axle.role == "steer") for side in sides]
    return "".join([*parts, "</svg>"])


def _heights(unit: Unit) -> list[int]:
    y = _TOP.get(unit.kind, 20)
    heights = [y]
    for ahead, axle in zip(unit.axles, unit.axles[1:], strict=False):
        y += _STEP if (ahead.role == "steer") == (axle.role == "steer") else _GROUP
        heights.append(y)
    return heights


def _body(kind: str, bottom: int) -> str:
    if kind == "trailer":
        return f'<path class="body plate" d="M26 4h24V{bottom - 4}h-24z"/>'
    if kind == "dolly":
        return f'<path class="body plate" d="M38 4L28 22V{bottom - 8}H48V22z"/>'
    if kind == "bus":
        return f'<path class="body plate" d="M31 4h14q5 0 5 5V{bottom - 4}h-24V9q0-5 5-5z"/>'
    cab = '<path class="body plate" d="M31 4h14q5 0 5 5v27h-24V9q0-5 5-5z"/>'
    if kind == "truck":
        return f'<path class="body plate" d="M26 40h24V{bottom - 4}h-24z"/>{cab}'
    return f'<path class="body" d="M33 36V{bottom - 6}M43 36V{bottom - 6}"/>{cab}'


def _end(axle: int, side: str, y: int, *, single: bool) -> str:
    places = ((14, 10),) if single else ((6, 8), (16, 8))
    wheels = "".join(
        f'<rect class="wheel" x="{x if side == "left" else WIDTH - x - wide}" y="{y - _WHEEL // 2}" width="{wide}" '
        f'height="{_WHEEL}" rx="2.5"/>'
        for x, wide in places
    )
    return f'<g class="end" data-axle="{axle}" data-side="{side}">{wheels}</g>'
