"""Every address of the site as the resolver has it, with the roles its view says it is for; a helper."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

_NAME = re.compile(r"<(?:\w+:)?(\w+)>")


@dataclass(frozen=True)
class Route:
    """One address; of the API one for each method it takes. `open_to` is None where its view does not say."""

    name: str
    pattern: str
    method: str | None
    """What it takes; None for a page, where asking will tell."""
    open_to: frozenset[str] | None
    with_lent_password: bool = False

    def __str__(self) -> str:
        return f"{self.method or 'page'} {self.name or self.pattern}"

    @property
    def names(self) -> tuple[str, ...]:
        """The names in its address."""
        return tuple(_NAME.findall(self.pattern))

    @property
    def is_api(self) -> bool:
        """Whether it answers in JSON."""
        return self.pattern.startswith("api/")

    @property
    def leads_nowhere(self) -> bool:
        """Whether it is the root of the API, which exists to be named and answers 404 to everybody."""
        return self.name.endswith("api-root")

    def address(self, values: Mapping[str, Any]) -> str:
        """Return the address with something in the place of each name."""
        return "/" + _NAME.sub(lambda found: str(values[found[1]]), self.pattern)


def every_route(patterns: Iterable[URLPattern | URLResolver] | None = None) -> list[Route]:
    """Return every route of the site, or of the patterns given."""
    return list(_below(get_resolver().url_patterns if patterns is None else patterns, "", ""))


def _below(patterns: Iterable[URLPattern | URLResolver], before: str, space: str) -> Iterator[Route]:
    for entry in patterns:
        pattern = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            inner = ":".join(part for part in (space, entry.namespace) if part)
            yield from _below(entry.url_patterns, pattern, inner)
        else:
            name = f"{space}:{entry.name}" if space and entry.name else entry.name or ""
            yield from _routes_of(entry.callback, pattern, name)


def _routes_of(view: Any, pattern: str, name: str) -> Iterator[Route]:
    operations = _operations_of(view)
    for operation in operations:
        guards = {getattr(guard, "open_to", None) for guard in operation.auth_callbacks}
        open_to = guards.pop() if len(guards) == 1 else None
        yield from (Route(name, pattern, method, open_to) for method in operation.methods)
    if not operations:
        lent = getattr(view, "with_lent_password", False)
        yield Route(name, pattern, None, getattr(view, "open_to", None), with_lent_password=lent)


def _operations_of(view: Any) -> list[Any]:
    """The operations behind an address of the API; none behind a page."""
    for cell in getattr(view, "__closure__", None) or ():
        operations = getattr(cell.cell_contents, "operations", None)
        if operations is not None:
            return list(operations)
    return []
