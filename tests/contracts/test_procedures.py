"""Procedures and planning: every sentence they can say is written, none is written for nobody, all data is used."""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterable
from typing import Any

from contracts.codes import constants
from contracts.tree import SOURCE, modules_below, parsed

from treadle.planning.answers import answers, parts_wanted
from treadle.procedures import PHASES, Procedure, shipped, torque_records
from treadle.rules.load import shipped as rules_shipped
from treadle.words import catalogue

DATA = SOURCE / "procedures" / "data"


def written(group: str) -> set[str]:
    return {code for code in catalogue("en") if code.startswith(f"{group}.")}


def table(name: str) -> dict[str, Any]:
    return tomllib.loads((DATA / name).read_text(encoding="utf-8"))


def texts_in_code(package: str) -> set[str]:
    """Every constant text of a package, and how those put together begin."""
    out = set()
    for path in modules_below(SOURCE / package):
        for node in ast.walk(parsed(path)):
            out |= set(constants(node)) if isinstance(node, ast.expr) else set()
    return out


# -- sentences


def codes_of(procedures: Iterable[Procedure]) -> set[str]:
    """Every code that the procedures, their steps and what stands at a step may say."""
    out = {f"procedure.phase.{phase}" for phase in PHASES}
    for procedure in procedures:
        out |= {procedure.title.code, procedure.does.code, *(caution.code for caution in procedure.cautions)}
        for plan in procedure.plans:
            out |= {f"procedure.{plan.key}.action", *plan.tools}
            out |= {f"procedure.{plan.like}.{part}" for part in ("purpose", "good", "otherwise")}
            if {"confirm", "second_person"} & set(plan.hold_kinds):
                out.add(f"procedure.{plan.like}.confirm")
            out |= {one.says.code for one in (*plan.hazards, *plan.figures, *plan.measurements)}
            out |= {one.at_least.says.code for one in plan.measurements if one.at_least}
    for record in torque_records():
        out |= {record.says.code, record.band_says.code, record.lubrication_says.code}
    return out


def reasons_missing() -> set[str]:
    return {f"procedure.missing.{text}" for text in texts_in_code("procedures")} & written("procedure.missing")


def test_every_sentence_of_a_procedure_is_written():
    assert codes_of(shipped().values()) - written("procedure") == set()


def test_no_sentence_of_a_procedure_is_written_for_nobody():
    assert written("procedure") - codes_of(shipped().values()) - reasons_missing() == set()


def test_a_sentence_no_step_says_is_found():
    without = [one for key, one in shipped().items() if key != "find_overstroke_cause"]
    assert "procedure.find.cause.confirm" in written("procedure") - codes_of(without)


def codes_of_planning() -> set[str]:
    """Every code that planning may say: those of its data, and those its modules name whole or in parts."""
    notes = [note for group in (answers().reading, answers().condition) for one in group.values() for note in one.notes]
    parts = [part for wanted in parts_wanted().values() for part in wanted]
    data = {note.code for note in notes} | {part.rule.code for part in parts}
    data |= {f"planning.part.{part.key}" for part in parts}
    texts = texts_in_code("planning")
    data |= texts & written("planning")
    data |= {f"planning.need.{text}" for text in texts} & written("planning")
    data |= {f"planning.lifting.stands_{known}" for known in ("rated", "unknown")}
    return data | {f"planning.lifting.suspension_{known}" for known in ("air", "unknown")}


def test_every_sentence_of_planning_is_written_and_none_for_nobody():
    assert written("planning") == codes_of_planning()


# -- data


def test_every_step_belongs_to_a_procedure():
    used = {plan.key for procedure in shipped().values() for plan in procedure.plans}
    held = {f"{phase}.{name}" for phase in PHASES for name in table(f"steps/{phase}.toml")}
    assert held == used


def test_every_hazard_and_figure_stands_at_a_step():
    plans = [plan for procedure in shipped().values() for plan in procedure.plans]
    assert set(table("hazards.toml")) == {hazard.key for plan in plans for hazard in plan.hazards}
    shown = {figure.key for plan in plans for figure in plan.figures}
    shown |= {one.at_least.key for plan in plans for one in plan.measurements if one.at_least}
    assert set(table("figures.toml")) == shown


def test_what_is_answered_can_be_found():
    rules = rules_shipped()
    found = {rule.compares or rule.quantity for rule in rules.rules.values()}
    assert set(answers().reading) <= found
    assert set(answers().condition) == set(rules.conditions) - {"none_seen"}


def test_every_reading_a_rule_judges_is_answered():
    judged = {rule.compares or rule.quantity for rule in rules_shipped().rules.values()}
    of_no_finding = {"condition", "share", "stroke_excess"}
    assert judged - of_no_finding - set(answers().reading) == set()
