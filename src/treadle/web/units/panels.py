"""What higher apps show on a unit's page: each registers panels and actions, and the page asks them in order."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from treadle.web.units.models import Unit
from treadle.words import say

Fill = Callable[[HttpRequest, Unit], Mapping[str, Any] | None]


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of the unit's page: a template with its context, which `fill` gives; None leaves the panel out.

    `title` is the code of its heading.
    """

    name: str
    order: int
    title: str
    template: str
    fill: Fill


@dataclass(frozen=True, slots=True)
class Action:
    """Something to do with the unit from its page: `address` gives where it leads, None leaves it out.

    `label` is the code of what stands on the button; the first in order is the one next thing.
    """

    name: str
    order: int
    label: str
    address: Callable[[HttpRequest, Unit], str | None]


_PANELS: dict[str, Panel] = {}
_ACTIONS: dict[str, Action] = {}


def register_panel(panel: Panel) -> None:
    """Show a panel on every unit's page; one of the same name is replaced."""
    _PANELS[panel.name] = panel


def register_action(action: Action) -> None:
    """Offer an action on every unit's page; one of the same name is replaced."""
    _ACTIONS[action.name] = action


def panels_for(request: HttpRequest, unit: Unit) -> list[dict[str, Any]]:
    """Return the panels that have something to show, in order, each with its title, template and context."""
    shown, language = [], request.language  # type: ignore[attr-defined]
    for panel in sorted(_PANELS.values(), key=lambda one: (one.order, one.name)):
        context = panel.fill(request, unit)
        if context is not None:
            named = {"name": panel.name, "title": say(panel.title, language), "template": panel.template}
            shown.append({**named, "context": context})
    return shown


def actions_for(request: HttpRequest, unit: Unit) -> list[dict[str, str]]:
    """Return what can be done with the unit by this person, in order, as label and address."""
    offered = sorted(_ACTIONS.values(), key=lambda one: (one.order, one.name))
    found = ((action.label, action.address(request, unit)) for action in offered)
    language = request.language  # type: ignore[attr-defined]
    return [{"label": say(label, language), "address": address} for label, address in found if address is not None]
