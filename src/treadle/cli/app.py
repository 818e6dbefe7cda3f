"""The commands and their options; each parses, calls the core, prints, and returns an exit code.

Exit codes: 0 good or watch, 1 hold, fix or unseen, 2 input that cannot be used, 3 a fault of Treadle's own.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Literal

import typer

from treadle.assess import LAW_ONLY, Assessment, Policy, assess, read_confirmed, read_policy, vocabulary
from treadle.assess.file_model import assessment_schema
from treadle.cli.checks import check_everything
from treadle.cli.explain_rule import rule_as_json, show_rule, show_rules
from treadle.cli.files import read_text, read_walkaround_file
from treadle.cli.serve import serve
from treadle.cli.show import say_plainly, show_assessment
from treadle.errors import BadInput, Problem, TreadleError
from treadle.fleet.file_model import Occasion, walkaround_schema
from treadle.fleet.records import WalkAround
from treadle.rules.load import shipped
from treadle.words import explain

BAD_INPUT, OWN_FAULT = 2, 3
MAY_NOT_LEAVE = frozenset({"hold", "fix", "unseen"})

app = typer.Typer(
    help="Judge the air brakes of a fleet by what was measured. Brake work can kill: a qualified person does or "
    "supervises it, and the makers' instructions and local law come first.",
    no_args_is_help=True,
    add_completion=True,
    pretty_exceptions_enable=False,
)

Language = Annotated[
    Literal["en", "es"],
    typer.Option("--language", "-l", envvar="TREADLE_LANGUAGE", help="Language of the sentences."),
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON, and nothing else.")]


def main() -> None:
    """Run the command; anything unforeseen ends with code 3 and a short message."""
    try:
        app()
    except Exception as fault:  # noqa: BLE001 - the last door: whatever comes here is our own fault
        sys.stderr.write(f"Treadle itself failed: {type(fault).__name__}: {fault}\n")
        sys.exit(OWN_FAULT)


@contextmanager
def _messages(language: str) -> Iterator[None]:
    """Turn errors into a message on standard error and an exit code."""
    try:
        yield
    except BadInput as refused:
        sys.stderr.write(explain(refused, language) + "\n")
        raise typer.Exit(BAD_INPUT) from refused
    except TreadleError as fault:
        sys.stderr.write(explain(fault, language) + "\n")
        raise typer.Exit(OWN_FAULT) from fault


@app.command()
def judge(
    file: Annotated[
        Path,
        typer.Argument(help="A walk-around: .json, .xlsx, or a folder of units, wheel_ends and readings .csv."),
    ],
    *,
    as_json: Json = False,
    on: Annotated[
        str | None,
        typer.Option(help="Judge by the rules of this day, 2026-10-02. Left out: the day it was taken."),
    ] = None,
    occasion: Annotated[
        Occasion | None, typer.Option(help="What the walk-around is for. Left out: as the file says.")
    ] = None,
    policy: Annotated[Path | None, typer.Option(help="The shop's own, tighter limits (policy/1).")] = None,
    confirmed: Annotated[
        Path | None, typer.Option(help="Limits the shop has read in the official text (confirmed/1).")
    ] = None,
    pdf: Annotated[Path | None, typer.Option(help="Write the report as a PDF here.")] = None,
    html: Annotated[Path | None, typer.Option(help="Write the report as a web page here.")] = None,
    csv: Annotated[Path | None, typer.Option(help="Write the findings as CSV here.")] = None,
    xlsx: Annotated[Path | None, typer.Option(help="Write the findings as a workbook here.")] = None,
    paper: Annotated[Literal["a4", "letter"], typer.Option(help="Paper of the PDF.")] = "a4",
    language: Language = "en",
) -> None:
    """Judge a walk-around: which vehicles may leave, and why, each number with its rule.

    Exit code 0: good or watch. 1: hold, fix or unseen. 2: the file cannot be used. 3: Treadle itself failed.
    """
    with _messages(language):
        walk_around, assessment = _assessed(file, on, occasion, policy, confirmed)
        for path, content in _reports(assessment, walk_around, language, paper, (pdf, html, csv, xlsx)):
            _write(path, content)
        if as_json:
            print(json.dumps(assessment.as_json(language), ensure_ascii=False, indent=1))
        else:
            show_assessment(assessment, walk_around, language)
            for written in filter(None, (pdf, html, csv, xlsx)):
                say_plainly("cli.wrote", language, path=str(written))
    raise typer.Exit(int(assessment.outcome in MAY_NOT_LEAVE))


def _assessed(
    file: Path, on: str | None, occasion: str | None, policy: Path | None, confirmed: Path | None
) -> tuple[WalkAround, Assessment]:
    rules = shipped()
    walk_around = read_walkaround_file(file, vocabulary(rules), occasion)
    day = _day(on) if on is not None else walk_around.taken.at.date()
    places = {place for unit in walk_around.units for place in unit.runs_in}
    shop = LAW_ONLY
    if policy is not None:
        shop = read_policy(read_text(policy), rules, day, jurisdictions=places)
    if confirmed is not None:
        ids = read_confirmed(read_text(confirmed), rules, today=datetime.now().astimezone().date())
        shop = Policy(shop.near, shop.age_days, shop.age_miles, shop.unseen_blocks, shop.rules, ids)
    return walk_around, assess(walk_around, rules, on=day, occasion=occasion, policy=shop)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(Problem("unreadable_day", "--on", {"given": text})) from None


def _reports(
    assessment: Assessment,
    walk_around: WalkAround,
    language: str,
    paper: str,
    paths: tuple[Path | None, Path | None, Path | None, Path | None],
) -> Iterator[tuple[Path, bytes]]:
    """Make each report that was asked for; their libraries load only then."""
    pdf, html, csv, xlsx = paths
    if pdf is not None:
        from treadle.reports.pdf import pdf as make_pdf

        yield pdf, make_pdf(assessment, walk_around, language, paper)
    if html is not None:
        from treadle.reports.html import html_page

        yield html, html_page(assessment, walk_around, language).encode()
    if csv is not None:
        from treadle.reports.csv_out import findings_csv

        yield csv, findings_csv(assessment, language).encode()
    if xlsx is not None:
        from treadle.reports.xlsx_out import workbook

        yield xlsx, workbook(assessment, language)


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as fault:
        raise BadInput(Problem("unwritable_file", str(path), {"reason": fault.strerror})) from fault


@app.command()
def why(
    rule: Annotated[str | None, typer.Argument(help="A rule's id, such as us.federal.stroke.")] = None,
    *,
    on: Annotated[str | None, typer.Option(help="The day asked about. Left out: its latest value.")] = None,
    every: Annotated[bool, typer.Option("--list", help="Name every rule.")] = False,
    as_json: Json = False,
    language: Language = "en",
) -> None:
    """Show a rule: what it says, since when, where that stands, and how it is known."""
    with _messages(language):
        rules = shipped()
        if (every or rule is None) and as_json:
            listed = [rule_as_json(one, None, language) for one in rules.rules.values()]
            print(json.dumps(listed, ensure_ascii=False, indent=1))
            return
        if every or rule is None:
            show_rules(rules, language)
            return
        if rule not in rules.rules:
            raise BadInput(Problem("unknown_rule", "why", {"rule": rule}))
        day = None if on is None else _day(on)
        if as_json:
            print(json.dumps(rule_as_json(rules.rules[rule], day, language), ensure_ascii=False, indent=1))
        else:
            show_rule(rules.rules[rule], day, language)


@app.command()
def check(*, as_json: Json = False, language: Language = "en") -> None:
    """Check Treadle's own rules, sources and sentences, and count the rules by how they are known."""
    with _messages(language):
        report = check_everything()
        if as_json:
            print(json.dumps(report, indent=1))
        else:
            say_plainly("cli.check", language, **report)


@app.command()
def schema(
    name: Annotated[Literal["walkaround", "assessment"], typer.Argument(help="Which file's schema.")],
) -> None:
    """Print the JSON Schema of a file."""
    made = walkaround_schema() if name == "walkaround" else assessment_schema()
    print(json.dumps(made, ensure_ascii=False, indent=1))


app.command()(serve)
