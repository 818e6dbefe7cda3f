"""The five outcome marks, each a drum seen end-on, drawn as paths; shape speaks first, hue only adds to it."""

from __future__ import annotations

from dataclasses import dataclass

HUES_ON_PAPER = {
    "good": "#10655b",
    "watch": "#6d5c00",
    "unseen": "#54558c",
    "fix": "#a8481a",
    "hold": "#8c1d40",
}
"""Each at least 4.5 to 1 against the card and the paper; report.css holds the five of the dark bay."""

SIZE = 48
"""Every mark is drawn in a square of this side."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """One path of a mark: a line of this width, or a filled shape where the width is 0."""

    path: str
    width: float = 0
    dash: str = ""
    """Lengths of dash and gap; a dash is then a round dot."""

    def element(self) -> str:
        """Return the path as an SVG element in the colour of its surroundings."""
        if not self.width:
            return f'<path d="{self.path}" fill="currentColor"/>'
        dots = f' stroke-dasharray="{self.dash}" stroke-linecap="round"' if self.dash else ""
        return f'<path d="{self.path}" fill="none" stroke="currentColor" stroke-width="{self.width:g}"{dots}/>'


_DRUM = "M24 4a20 20 0 1 1 0 40a20 20 0 1 1 0-40z"

MARKS: dict[str, tuple[Stroke, ...]] = {
    # A drum with two full linings.
    "good": (Stroke(_DRUM, 3.2), Stroke("M14.2 12.6a15 15 0 0 0 0 22.8M33.8 12.6a15 15 0 0 1 0 22.8", 9)),
    # The same drum, its linings thin.
    "watch": (
        Stroke(_DRUM, 3.2),
        Stroke("M16.2 14.7a12.2 12.2 0 0 0 0 18.6M31.8 14.7a12.2 12.2 0 0 1 0 18.6", 3),
    ),
    # A dotted drum: nobody looked.  Ten dots; the dash is their even share of the way round.
    "unseen": (Stroke(_DRUM, 6.2, dash="0.01 12.556"),),
    # A cracked drum: the rim is open where the crack comes in.
    "fix": (
        Stroke("M33.2 6.2A20 20 0 1 1 20.6 4.3", 5),
        Stroke("M29.5 .5 21 15.2 28.6 21 19.5 34", 4.6),
    ),
    # A wheel against a chock: it stays where it is.
    "hold": (
        Stroke("M2 46V9q1 18 15.5 26.5T47 46z"),
        Stroke("M30 3.5a14 14 0 1 1 0 28a14 14 0 1 1 0-28z", 5),
    ),
}


def shapes(outcome: str) -> str:
    """Return the elements of a mark, in the square of `SIZE`, in the colour of their surroundings."""
    return "".join(stroke.element() for stroke in MARKS[outcome])


def symbol(outcome: str, *, prefix: str = "mark") -> str:
    """Return a mark as an SVG symbol, to be drawn by ``<use href="#mark-fix"/>``."""
    return f'<symbol id="{prefix}-{outcome}" viewBox="0 0 {SIZE} {SIZE}">{shapes(outcome)}</symbol>'


def placed(outcome: str, *, x: float, y: float, side: float) -> str:
    """Return a mark in its hue on paper, as a group to be put into a larger drawing."""
    where = f'transform="translate({x:g} {y:g}) scale({side / SIZE:.4g})"'
    return f'<g class="mark mark-{outcome}" color="{HUES_ON_PAPER[outcome]}" {where}>{shapes(outcome)}</g>'


def picture(outcome: str) -> str:
    """Return a mark in its hue on paper as an SVG file of its own."""
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{SIZE}" height="{SIZE}" viewBox="0 0 {SIZE} {SIZE}"'
    return f'{head} color="{HUES_ON_PAPER[outcome]}">{shapes(outcome)}</svg>'
