"""Every sentence and term, as a code with arguments, in English and Spanish; nothing else decides wording.

A code is the dotted path of an entry in the files of `en/` and `es/`, such as ``finding.over``; its first step is the
file's name.  An entry is a template: ``{limit}`` takes the argument as it is, ``{kind:term}`` looks the argument up
under ``term``, ``{missing:terms}`` does so for a list and joins it, ``{subject:subject}`` begins a sentence with what
was measured.
"""

from __future__ import annotations

import string
import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from treadle.errors import DataFault, Problem, TreadleError

LANGUAGES = ("en", "es")


def say(code: str, language: str = "en", /, **arguments: Any) -> str:
    """Return the sentence of `code` in `language`, filled with `arguments`.

    Raises
    ------
    DataFault
        The language has no such code, or the sentence needs an argument that was not given.

    Examples
    --------
    >>> say("outcome.hold"), say("outcome.hold", "es")
    ('hold', 'retener')
    """
    template = catalogue(language).get(code)
    if template is None:
        raise DataFault(Problem("unknown_code", f"words/{language}", {"code": code}))
    try:
        return _Filler(language).format(template, **arguments)
    except KeyError as missing:
        details = {"code": code, "argument": str(missing)}
        raise DataFault(Problem("missing_argument", f"words/{language}", details)) from missing


def term(word: str, language: str = "en") -> str:
    """Return the trade term for a word of the file contract; a word with no entry stands for itself.

    >>> term("applied_stroke"), term("applied_stroke", "es")
    ('applied stroke', 'carrera aplicada')
    """
    return catalogue(language).get(f"term.{word}", word)


def has(code: str) -> bool:
    """Whether there is a sentence of that code."""
    return code in catalogue("en")


def explain(error: TreadleError, language: str = "en") -> str:
    """Return the message of an error: what, where, what is allowed, what to do; one line a problem."""
    return "\n".join(
        say(f"error.{problem.slug}", language, where=problem.where, **problem.details) for problem in error.problems
    )


@cache
def catalogue(language: str) -> Mapping[str, str]:
    """Return all entries of one language, code to template."""
    if language not in LANGUAGES:
        details = {"language": language, "allowed": ", ".join(LANGUAGES)}
        raise DataFault(Problem("unknown_language", "language", details))
    return {
        code: template
        for file in files(__package__).joinpath(language).iterdir()
        if file.name.endswith(".toml")
        for code, template in _flatten(
            tomllib.loads(file.read_text(encoding="utf-8")), f"{file.name.removesuffix('.toml')}."
        )
    }


def _flatten(table: Mapping[str, Any], prefix: str = "") -> Iterable[tuple[str, str]]:
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _flatten(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", value


class _Filler(string.Formatter):
    """Fills a template; knows the format words ``term``, ``terms`` and ``subject``."""

    def __init__(self, language: str) -> None:
        self.language = language

    def format_field(self, value: Any, format_spec: str) -> str:
        if format_spec == "term":
            return term(str(value), self.language)
        if format_spec == "terms":
            return self._joined([term(str(word), self.language) for word in value])
        if format_spec == "subject":
            return self._subject(*value)
        return str(super().format_field(value, format_spec))

    def _joined(self, parts: list[str]) -> str:
        if len(parts) < 2:
            return "".join(parts)
        return f"{', '.join(parts[:-1])} {term('and', self.language)} {parts[-1]}"

    def _subject(self, kind: str, *details: str | None) -> str:
        """Write what was measured, as a sentence begins: "Lining, upper shoe"."""
        words = ", ".join(term(word, self.language) for word in (kind, *details) if word)
        return words[:1].upper() + words[1:]
