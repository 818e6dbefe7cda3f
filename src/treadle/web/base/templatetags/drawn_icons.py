"""The few signs beside the five marks, drawn as lines in a square of 24; each goes with a word."""

from __future__ import annotations

ICONS = {
    "back": "M15.5 3.5 7 12l8.5 8.5",
    "next": "M8.5 3.5 17 12l-8.5 8.5",
    "done": "M3.5 13l5.5 5.5L20.5 6",
    "plus": "M12 4v16M4 12h16",
    # A warning triangle, as on every machine.
    "caution": "M12 3 22 20.5H2zM12 9.5v5M12 17.3v.4",
    # A wheel chocked before and behind: nothing goes on until it is freed.
    "hold": "M12 3a6.5 6.5 0 1 1 0 13a6.5 6.5 0 1 1 0-13zM1.5 12v8.5h7.5M22.5 12v8.5H15",
    "find": "M10 3.5a6.5 6.5 0 1 1 0 13a6.5 6.5 0 1 1 0-13zM15 15l6 6",
    "print": "M6.5 9V3.5h11V9M6.5 17H3V9h18v8h-3.5M6.5 13.5h11v7h-11z",
    "person": "M12 3.5a4 4 0 1 1 0 8a4 4 0 1 1 0-8zM4 21q0-6.5 8-6.5t8 6.5",
    # An air line uncoupled.
    "offline": "M1.5 12H6M6 7.5v9M9.5 9.5v5M22.5 12H18M18 7.5v9M14.5 9.5v5",
    "clock": "M12 3a9 9 0 1 1 0 18a9 9 0 1 1 0-18zM12 7.5V12l3.5 2.5",
    "camera": "M2.5 7.5h5L9 4.5h6l1.5 3h5v12h-19zM12 9.5a3.7 3.7 0 1 1 0 7.4a3.7 3.7 0 1 1 0-7.4z",
}
"""Name to path; each is drawn with a line of 2.2 and round ends."""


def symbol(name: str) -> str:
    """Return a sign as an SVG symbol, to be drawn by ``<use href="#icon-print"/>``."""
    return (
        f'<symbol id="icon-{name}" viewBox="0 0 24 24"><path d="{ICONS[name]}" fill="none" stroke="currentColor" '
        f'stroke-width="2.2" stroke-linecap="round" stroke-linejoin="round"/></symbol>'
    )
