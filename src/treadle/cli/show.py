"""Printing an assessment for a person at a terminal: marks and words, worst first, never colour alone."""

from __future__ import annotations

import sys
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from treadle.assess.share import as_brakes
from treadle.assess.verdict import Assessment, AxleOutcome, Finding
from treadle.fleet.records import WalkAround
from treadle.reports.rows import by_reading
from treadle.reports.wording import place_of
from treadle.words import has, say, term

# Drums seen end-on, as the drawn marks are: full, thin, dotted, cracked, and the chock that keeps it there.
_MARKS = {"good": "◎", "watch": "○", "unseen": "◌", "fix": "⊘", "hold": "◣"}
_PLAIN_MARKS = {"good": "o", "watch": "o", "unseen": ".", "fix": "/", "hold": "#"}
_STYLES = {
    "good": "cyan",
    "watch": "yellow",
    "unseen": "blue",
    "fix": "bright_red",
    "hold": "bold magenta",
}


def mark(outcome: str) -> str:
    """Return the mark of an outcome in one character the terminal can print."""
    try:
        _MARKS[outcome].encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return _PLAIN_MARKS[outcome]
    return _MARKS[outcome]


def outcome_text(outcome: str | None, language: str) -> Text:
    """Return mark and word of an outcome; a dash where nothing was asked."""
    if outcome is None:
        return Text("–")
    return Text(f"{mark(outcome)} {say(f'outcome.{outcome}', language)}", style=_STYLES[outcome])


def console() -> Console:
    """Return the terminal, at least wide enough for a table when the output is a file."""
    made = Console(highlight=False)
    return made if made.is_terminal else Console(highlight=False, width=120)


def say_plainly(code: str, language: str, **arguments: Any) -> None:
    """Print one sentence."""
    console().print(Text(say(code, language, **arguments)), soft_wrap=True)


def show_assessment(assessment: Assessment, walk_around: WalkAround, language: str) -> None:
    """Print an assessment."""
    out = console()
    out.print(_heading(assessment, walk_around, language))
    out.print()
    out.print(_overview(assessment, language))
    for combination in assessment.combinations:
        line = say(
            "cli.share",
            language,
            units=" + ".join(combination.units),
            defective=as_brakes(combination.halves),
            brakes=combination.brakes,
        )
        out.print(Text(line))
    out.print()
    bad = [finding for finding in assessment.findings if finding.outcome != "good"]
    if bad:
        out.print(_findings(bad, language))
    passed = len(assessment.findings) - len(bad)
    out.print(Text(say("cli.passed", language, passed=passed, not_judged=len(assessment.not_judged))))
    out.print(Text(say("cli.caution", language), style="dim"))


def _heading(assessment: Assessment, walk_around: WalkAround, language: str) -> Text:
    line = say(
        "cli.heading",
        language,
        occasion=term(assessment.occasion, language),
        on=assessment.on.isoformat(),
        by=walk_around.taken.by,
        edition=assessment.edition,
    )
    head = outcome_text(assessment.outcome, language)
    head.stylize("bold")
    means = say(f"outcome.means.{assessment.outcome}", language)
    return Text.assemble(head, f": {means}\n", (line, "dim"))


def _overview(assessment: Assessment, language: str) -> Table:
    """One row an axle, left on the left, as one walks round."""
    table = Table(box=None, pad_edge=False, padding=(0, 3, 0, 0))
    for name in ("unit", "outcome", "axle", "left", "right"):
        table.add_column(say(f"cli.column.{name}", language), no_wrap=True)
    for unit in assessment.units:
        for position, axle in enumerate(unit.axles):
            first = position == 0
            table.add_row(
                unit.number if first else "",
                outcome_text(unit.outcome, language) if first else "",
                str(axle.axle),
                *_sides(axle, language),
            )
    return table


def _sides(axle: AxleOutcome, language: str) -> list[Text]:
    return [outcome_text(outcome, language) for _, outcome in axle.ends]


def _findings(findings: list[Finding], language: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 1, 0))
    table.add_column(say("cli.column.outcome", language), no_wrap=True)
    table.add_column(say("cli.column.where", language), no_wrap=True)
    table.add_column(say("cli.column.measured", language), no_wrap=True)
    table.add_column(say("cli.column.limit", language), no_wrap=True)
    table.add_column(say("cli.column.says", language), ratio=1)
    for first, *others in by_reading(findings):
        says = Text(first.says(language))
        for other in others:
            says.append(f"\n{mark(other.outcome)} {_also(other, language)}")
        says.append(f"\n{first.remedy(language)}", style="dim")
        if first.verdict.rule is not None:
            says.append(f"\n{first.verdict.rule}", style="dim")
        table.add_row(
            outcome_text(first.outcome, language),
            place_of(first.unit, first.axle, first.side, language),
            str(first.verdict.measured or ""),
            str(first.verdict.limit or ""),
            says,
        )
    return table


def _also(finding: Finding, language: str) -> str:
    """Say what a further rule adds about a reading already spoken of."""
    tail = finding.verdict.code.partition("_")[0]
    if has(f"finding.tail.{tail}"):
        return f"{say(f'finding.tail.{tail}', language)} ({finding.verdict.citation})"
    return finding.says(language)
