"""The common layouts as data: axles and what practice fits at each end, as defaults to be checked against the tags."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from treadle.errors import BadInput, Problem
from treadle.web.units.fit import checked_spec

Spec = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class LayoutAxle:
    """An axle of a layout: both ends alike; `parts` by slot."""

    role: str
    dual: bool
    parts: Mapping[str, Spec]


@dataclass(frozen=True, slots=True)
class Layout:
    """A common layout; `spread` says that its axles stand far apart."""

    name: str
    kind: str
    axles: tuple[LayoutAxle, ...]
    spread: bool = False

    @property
    def ends(self) -> int:
        """How many wheel ends it has."""
        return 2 * len(self.axles)


@cache
def layouts() -> Mapping[str, Layout]:
    """Return the layouts by name, in the order they are offered."""
    raw = tomllib.loads(files(__package__).joinpath("layouts.toml").read_text(encoding="utf-8"))
    ends = {
        name: {slot: checked_spec(slot, spec, where=f"layouts.toml, {name}") for slot, spec in parts.items()}
        for name, parts in raw["end"].items()
    }
    return {
        name: Layout(
            name,
            entry["kind"],
            tuple(LayoutAxle(axle["role"], axle.get("dual", True), ends[axle["end"]]) for axle in entry["axles"]),
            entry.get("spread", False),
        )
        for name, entry in raw["layout"].items()
    }


def layout_of(name: str) -> Layout:
    """Return a layout by name.

    Raises
    ------
    BadInput
        There is none of that name.
    """
    if name not in layouts():
        raise BadInput(Problem("unknown_layout", "layout", {"given": name, "allowed": ", ".join(layouts())}))
    return layouts()[name]
