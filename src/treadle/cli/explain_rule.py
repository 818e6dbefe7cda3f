"""Showing one rule: what it says, the day it took effect, where it stands, and how its figure is known."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from rich.table import Table
from rich.text import Text

from treadle.cli.show import console
from treadle.errors import BadInput, Problem
from treadle.measure import Quantity
from treadle.rules.model import Figure, Rule, RuleSet, Value
from treadle.words import say, term


def show_rules(rules: RuleSet, language: str) -> None:
    """Print the id and label of every rule."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("rule", "layer", "label"):
        table.add_column(say(f"cli.column.{name}", language), no_wrap=name != "label", overflow="fold")
    for rule in rules.rules.values():
        table.add_row(rule.id, term(rule.layer, language), rule.label[language])
    console().print(table)


def rule_as_json(rule: Rule, on: date | None, language: str) -> dict[str, Any]:
    """Return everything about a rule as plain fields; with a day, refuse one before, between or after its values."""
    in_force = _value_on(rule, on)
    return {
        "rule": rule.id,
        "label": rule.label[language],
        "jurisdiction": rule.jurisdiction,
        "layer": rule.layer,
        "quantity": rule.quantity,
        "place": rule.place,
        "comparator": rule.comparator,
        "applies": {key: _plain(value) for key, value in rule.applies.items()},
        "then": rule.then,
        "in_force": _value_json(in_force),
        "history": [_value_json(value) for value in rule.values],
    }


def _value_on(rule: Rule, on: date | None) -> Value:
    if on is None:
        return rule.values[-1]
    value = rule.in_force(on)
    if value is None:
        spans = ", ".join(f"{one.effective_from} - {one.ends or '...'}" for one in rule.values)
        details = {"rule": rule.id, "on": on.isoformat(), "spans": spans}
        raise BadInput(Problem("no_value_in_force", "why", details))
    return value


def _value_json(value: Value) -> dict[str, Any]:
    source = value.citation.source
    return {
        "effective_from": value.effective_from.isoformat(),
        "ends": value.ends.isoformat() if value.ends else None,
        "enacted_by": str(value.enacted_by) if value.enacted_by else None,
        "published": value.published.isoformat() if value.published else None,
        "checked": [{"on": on.isoformat(), "by": by, "copy": copy} for on, by, copy in value.checked],
        "unconfirmed_from": value.unconfirmed_from.isoformat() if value.unconfirmed_from else None,
        "citation": value.cited,
        "source": {
            "key": source.key,
            "title": source.title,
            "publisher": source.publisher,
            "read": source.read,
        },
        "rows": [
            {
                "when": {key: _plain(wanted) for key, wanted in row.when.items()},
                "as_printed": row.as_printed,
                "figures": _figures(row.figure),
                "basis": row.basis,
            }
            for row in value.rows
        ],
    }


def _figures(figure: Figure | None) -> list[str]:
    return [str(size) for size in (figure.customary, figure.metric) if size is not None] if figure else []


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        plain = [_plain(item) for item in value]
        return plain[0] if len(plain) == 1 else plain
    return str(value) if isinstance(value, Quantity | date) else value


def show_rule(rule: Rule, on: date | None, language: str) -> None:
    """Print a rule with the value asked for, its rows, and its history."""
    value = _value_on(rule, on)
    out = console()
    out.print(Text(rule.label[language], style="bold"))
    out.print(Text(rule.id))
    out.print(
        Text(
            say(
                "cli.rule_line",
                language,
                layer=term(rule.layer, language),
                place=term(rule.jurisdiction, language),
                then=say(f"outcome.{rule.then}", language),
                comparator=say(f"cli.comparator.{rule.comparator}", language),
            )
        )
    )
    if rule.applies:
        out.print(Text(say("cli.applies", language, applies=_conditions(rule.applies))))
    out.print()
    out.print(Text(_span(value, language), style="bold"))
    source = value.citation.source
    out.print(Text(say("cli.source", language, citation=value.cited, title=source.title, read=source.read)))
    if value.enacted_by is not None:
        out.print(Text(say("cli.enacted", language, act=value.enacted_by.source.title, published=value.published)))
    if value.unconfirmed_from is not None:
        out.print(Text(say("cli.unconfirmed_from", language, day=value.unconfirmed_from)))
    out.print(_rows(value, language))
    for other in rule.values:
        if other is not value:
            out.print(Text(f"{_span(other, language)}: {other.cited}", style="dim"))


def _span(value: Value, language: str) -> str:
    if value.ends is None:
        return say("cli.in_force_from", language, start=value.effective_from)
    return say("cli.in_force_between", language, start=value.effective_from, end=value.ends)


def _conditions(table: Mapping[str, Any]) -> str:
    return "; ".join(
        f"{key} {', '.join(map(str, items)) if isinstance(items := _plain(wanted), list) else items}"
        for key, wanted in table.items()
    )


def _rows(value: Value, language: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 3, 0, 0))
    for name in ("for", "figure", "as_printed", "basis"):
        table.add_column(say(f"cli.column.{name}", language), overflow="fold")
    for row in value.rows:
        table.add_row(
            _conditions(row.when) or "–",
            " / ".join(_figures(row.figure)) or "–",
            row.as_printed,
            term(row.basis, language),
        )
    return table
