"""`treadle check`: whether Treadle's own data is whole, and how well its rules are known."""

from __future__ import annotations

from collections import Counter
from typing import Any

from treadle.rules.load import shipped
from treadle.rules.model import BASES
from treadle.sources import bibliography
from treadle.words import LANGUAGES, catalogue


def check_everything() -> dict[str, Any]:
    """Load every rule, source and sentence, which refuses what is broken, and count them."""
    rules = shipped()
    values = [value for rule in rules.rules.values() for value in rule.values]
    figures = Counter(row.basis for value in values for row in value.rows)
    return {
        "edition": rules.edition,
        "rules": len(rules.rules),
        "conditions": len(rules.conditions),
        "sources": len(bibliography()),
        "values": len(values),
        "figures": sum(figures.values()),
        "basis": {basis: figures[basis] for basis in BASES},
        "sentences": {language: len(catalogue(language)) for language in LANGUAGES},
    }
