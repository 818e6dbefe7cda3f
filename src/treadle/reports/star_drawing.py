"""The wheel's nuts from outside with the order in which they are drawn up; the procedures give the order."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, pi, sin

SIZE = 200
_CENTRE, _CIRCLE, _NUT = SIZE / 2, 70, 17
_INK = "#1b1f23"
_FACE = 'font-family="Atkinson Hyperlegible Next, sans-serif"'


def star_drawing(order: Sequence[int]) -> str:
    """Return a wheel face as an SVG: each nut where it is, in it the place it has in the order.

    Parameters
    ----------
    order : sequence of int
        The nuts in the order of tightening, counted clockwise from the top from 1.
    """
    turns = {nut: turn for turn, nut in enumerate(order, start=1)}
    first = _at(order[0], len(order))
    second = _at(order[1], len(order))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{SIZE}" height="{SIZE}" viewBox="0 0 {SIZE} {SIZE}">',
        f'<circle cx="{_CENTRE:g}" cy="{_CENTRE:g}" r="96" fill="none" stroke="{_INK}" stroke-width="3"/>',
        f'<circle cx="{_CENTRE:g}" cy="{_CENTRE:g}" r="30" fill="none" stroke="{_INK}" stroke-width="3"/>',
        f'<path d="M{first[0]:.1f} {first[1]:.1f}L{second[0]:.1f} {second[1]:.1f}" stroke="{_INK}" '
        'stroke-width="2" stroke-dasharray="5 4"/>',
    ]
    for nut in range(1, len(order) + 1):
        x, y = _at(nut, len(order))
        parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_NUT}" fill="#ffffff" stroke="{_INK}" stroke-width="3"/>'
            f'<text x="{x:.1f}" y="{y + 7:.1f}" text-anchor="middle" {_FACE} font-size="20" font-weight="700" '
            f'fill="{_INK}">{turns[nut]}</text>'
        )
    return "".join([*parts, "</svg>"])


def _at(nut: int, nuts: int) -> tuple[float, float]:
    """Return where a nut is: the first at the top, the others clockwise."""
    angle = 2 * pi * (nut - 1) / nuts
    return _CENTRE + _CIRCLE * sin(angle), _CENTRE - _CIRCLE * cos(angle)
