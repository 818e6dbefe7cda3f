"""Makes the generated pages of docs/reference anew: schemas, rules, conditions, messages, sources.

python docs/generate.py            write them
python docs/generate.py --check    only say which are stale
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path

from treadle.assess.file_model import assessment_schema
from treadle.fleet.file_model import walkaround_schema
from treadle.rules.load import shipped
from treadle.rules.model import Condition, Figure, Rule, Value
from treadle.sources import bibliography
from treadle.words import catalogue

REFERENCE = Path(__file__).parent / "reference"
MADE = "<!-- Made by docs/generate.py; change its source, not this page. -->\n\n"


def pages() -> Mapping[str, str]:
    """Return every generated page, by path under docs/reference."""
    return {
        "schemas/walkaround-1.schema.json": _json(walkaround_schema()),
        "schemas/assessment-1.schema.json": _json(assessment_schema()),
        "rules.md": _rules(),
        "conditions.md": _conditions(),
        "messages.md": _messages(),
        "sources.md": _sources(),
    }


def stale() -> list[str]:
    """Return the pages that differ from what would be made now."""
    return [
        name
        for name, text in pages().items()
        if not (REFERENCE / name).exists() or (REFERENCE / name).read_text(encoding="utf-8") != text
    ]


def _json(schema: Mapping[str, object]) -> str:
    return json.dumps(schema, ensure_ascii=False, indent=1) + "\n"


def _rules() -> str:
    parts = ["# Rules\n\n", MADE, "Every rule held, by id. `treadle why ID --on DAY` shows one on a day.\n"]
    return "".join([*parts, *(_rule(rule) for rule in shipped().rules.values())])


def _rule(rule: Rule) -> str:
    lines = [
        f"\n## {rule.id}\n\n{rule.label['en']}. Layer {rule.layer}; a breach is {rule.then}; "
        f"`{rule.comparator}` on `{rule.quantity}`{f' at the {rule.place}' if rule.place else ''}.\n\n",
        "| in force | for | as printed | figures | basis | citation |\n|---|---|---|---|---|---|\n",
    ]
    return "".join([*lines, *(_value(value) for value in rule.values)])


def _value(value: Value) -> str:
    span = f"from {value.effective_from}" + (f" until {value.ends}" if value.ends else "")
    return "".join(
        f"| {span} | {_when(row.when)} | {row.as_printed} | {_figures(row.figure)} | {row.basis} | {value.cited} |\n"
        for row in value.rows
    )


def _when(table: Mapping[str, object]) -> str:
    return "; ".join(
        f"{key} {', '.join(map(str, wanted)) if isinstance(wanted, tuple) else wanted}" for key, wanted in table.items()
    )


def _figures(figure: Figure | None) -> str:
    return " / ".join(str(size) for size in (figure.customary, figure.metric) if size) if figure else ""


def _conditions() -> str:
    rows = "".join(
        f"| `{name}` | {one.label['en']} | {one.label['es']} | {one.part} | {_seen_at(one)} "
        f"| {', '.join(one.breaches) or 'none'} |\n"
        for name, one in shipped().conditions.items()
    )
    head = "| word | English | Spanish | part | seen at | provisions it breaches |\n|---|---|---|---|---|---|\n"
    return f"# Conditions\n\n{MADE}What may stand as `value` of a `condition` reading.\n\n{head}{rows}"


def _seen_at(condition: Condition) -> str:
    where = ", ".join(f"`{brake}`" for brake in condition.brakes)
    return ", ".join(filter(None, (where, "spring brake" if condition.spring_brake else ""))) or "any"


def _messages() -> str:
    parts = [f"# Messages\n\n{MADE}Every error message by its slug: what, where, what is allowed, what to do.\n"]
    spanish = catalogue("es")
    for code, text in sorted(catalogue("en").items()):
        if code.startswith("error."):
            parts.append(f"\n## {code.removeprefix('error.')}\n\n{text}\n\n{spanish[code]}\n")
    return "".join(parts)


def _sources() -> str:
    rows = "".join(
        f"| `{one.key}` | {one.title} | {one.kind} | {one.publisher} | {one.read} |\n"
        for one in bibliography().values()
    )
    return f"# Sources\n\n{MADE}| key | title | kind | publisher | what was read |\n|---|---|---|---|---|\n{rows}"


def main() -> None:
    """Write the pages, or with --check end with 1 when any is stale."""
    if "--check" in sys.argv[1:]:
        names = stale()
        sys.exit(f"stale: {', '.join(names)}; run python docs/generate.py" if names else 0)
    for name, text in pages().items():
        path = REFERENCE / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
