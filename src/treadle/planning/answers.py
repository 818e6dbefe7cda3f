"""Which work answers which finding, and which parts it takes, read from the files beside this module."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError

from treadle.errors import DataFault, Problem
from treadle.procedures import Sentence, shipped
from treadle.sources import Citation, bibliography, cite
from treadle.words import has


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _AnswerEntry(_Strict):
    task: str | None = None
    answer: Literal["repair", "watch", "by_hand"] | None = None
    notes: list[str] = []


class _AnswersFile(_Strict):
    reading: dict[str, _AnswerEntry]
    condition: dict[str, _AnswerEntry]


class _PartEntry(_Strict):
    part: str
    each_end: int | None = None
    when: Literal["always", "hub_off", "if_found"] = "always"
    rule: str
    basis: Literal["found", "secondary", "practice"]
    source: str | None = None
    locator: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What is done about a kind of finding: a procedure, or the list it goes to."""

    task: str | None
    goes_to: str
    notes: tuple[Sentence, ...] = ()


TO_THE_LEAD = Answer(None, "by_hand")


@dataclass(frozen=True, slots=True)
class Wanted:
    """A part a procedure takes, and by which rule how many."""

    key: str
    each_end: int | None
    when: str
    rule: Sentence
    basis: str
    citation: Citation | None


@dataclass(frozen=True, slots=True)
class Answers:
    """The answers to what was measured, and to what was seen."""

    reading: Mapping[str, Answer]
    condition: Mapping[str, Answer]

    def to(self, kind: str, condition: str | None) -> Answer:
        """Return the answer to a finding; one that nobody mapped goes to the lead."""
        if condition is not None:
            return self.condition.get(condition, TO_THE_LEAD)
        return self.reading.get(kind, TO_THE_LEAD)


@cache
def answers() -> Answers:
    """Return the answers that come with Treadle."""
    return answers_in(files(__package__).joinpath("answers.toml").read_text(encoding="utf-8"))


@cache
def parts_wanted() -> Mapping[str, tuple[Wanted, ...]]:
    """Return the parts of each procedure; one that is not there takes none."""
    return parts_in(files(__package__).joinpath("parts.toml").read_text(encoding="utf-8"))


def answers_in(text: str) -> Answers:
    """Return the answers a file holds.

    Raises
    ------
    DataFault
        The file is not as it must be, or names a procedure or note that is not there.
    """
    path = "answers.toml"
    entry = _valid(path, TypeAdapter(_AnswersFile), text)
    tables = (("reading", entry.reading), ("condition", entry.condition))
    made = {
        name: MappingProxyType({key: _answer(path, f"{name}.{key}", one) for key, one in table.items()})
        for name, table in tables
    }
    return Answers(made["reading"], made["condition"])


def _answer(path: str, key: str, entry: _AnswerEntry) -> Answer:
    if (entry.task is None) == (entry.answer is None):
        raise _fault(path, key, "either a task or an answer")
    if entry.task is not None and entry.task not in shipped():
        raise _fault(path, f"{key}.task", f"there is no procedure '{entry.task}'")
    notes = tuple(Sentence(_said(path, f"planning.note.{note}")) for note in entry.notes)
    return Answer(entry.task, entry.answer or "task", notes)


def parts_in(text: str) -> Mapping[str, tuple[Wanted, ...]]:
    """Return the parts a file holds, by procedure.

    Raises
    ------
    DataFault
        The file is not as it must be, or names a procedure, part, rule or source that is not there.
    """
    path = "parts.toml"
    entries = _valid(path, TypeAdapter(dict[str, list[_PartEntry]]), text)
    for procedure in entries:
        if procedure not in shipped():
            raise _fault(path, procedure, f"there is no procedure '{procedure}'")
    return MappingProxyType({name: tuple(_wanted(path, name, one) for one in parts) for name, parts in entries.items()})


def _wanted(path: str, procedure: str, entry: _PartEntry) -> Wanted:
    if (entry.each_end is None) != (entry.when == "if_found"):
        raise _fault(path, f"{procedure}.each_end", "a number of each end, unless it is as found")
    if entry.source is not None and entry.source not in bibliography():
        raise DataFault(Problem("unknown_source", f"planning/{path}", {"source": entry.source}))
    _said(path, f"planning.part.{entry.part}")
    return Wanted(
        entry.part,
        entry.each_end,
        entry.when,
        Sentence(_said(path, f"planning.rule.{entry.rule}")),
        entry.basis,
        None if entry.source is None else cite(entry.source, entry.locator),
    )


def _valid(path: str, model: TypeAdapter[Any], text: str) -> Any:
    try:
        return model.validate_python(tomllib.loads(text))
    except tomllib.TOMLDecodeError as fault:
        raise _fault(path, "", str(fault)) from fault
    except ValidationError as fault:
        first = fault.errors()[0]
        raise _fault(path, ".".join(map(str, first["loc"])), first["msg"]) from fault


def _said(path: str, code: str) -> str:
    if not has(code):
        raise _fault(path, code, "there is no such sentence in the words")
    return code


def _fault(path: str, key: str, reason: str) -> DataFault:
    return DataFault(Problem("bad_data_entry", f"planning/{path}", {"key": key, "reason": reason}))
