"""Reads what docstrings say of parameters, and what signatures say; a helper, tested in `test_docstrings.py`."""

from __future__ import annotations

import ast
import builtins
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from contracts.tree import SOURCE, modules_below, parsed

from treadle import errors

SECTIONS = ("Parameters", "Returns", "Yields", "Raises", "Notes", "Examples")
"""The sections of a docstring in the order they stand in; those with nothing to say are left out."""
_HEADING = re.compile(r"^([A-Z][A-Za-z ]+)\n-{3,}$", re.MULTILINE)
_ENTRY = re.compile(r"^\*{0,2}(?P<names>\w+(?:, \w+)*)(?: : (?P<kind>.+))?$")


@dataclass(frozen=True)
class Parameter:
    """A parameter, and whether it may be left out."""

    name: str
    optional: bool


@dataclass(frozen=True)
class Described:
    """A public function or record that has a docstring, with what its signature takes."""

    name: str
    line: int
    docstring: str
    takes: tuple[Parameter, ...]


def sections_of(docstring: str) -> list[tuple[str, str]]:
    """Each section with its text, in the order they stand in."""
    found = list(_HEADING.finditer(docstring))
    ends = [*(one.start() for one in found[1:]), len(docstring)]
    return [(one[1], docstring[one.end() : end].strip("\n")) for one, end in zip(found, ends, strict=False)]


def entries_of(section: str) -> list[tuple[str, str]]:
    """Each name of a section with the kind behind it: what stands at the margin."""
    lines = [line for line in section.splitlines() if line and not line.startswith(" ")]
    matches = [_ENTRY.match(line) for line in lines]
    return [(name, match["kind"] or "") for match in matches if match for name in match["names"].split(", ")]


def described_in(tree: ast.Module) -> Iterator[Described]:
    """Every public function, method and record of a module that has a docstring."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from _described(node, node.name, tuple(_fields_of(node)))
            for one in node.body:
                if isinstance(one, ast.FunctionDef) and not one.name.startswith("_"):
                    yield from _described(one, f"{node.name}.{one.name}", tuple(_parameters_of(one))[1:])
        elif isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield from _described(node, node.name, tuple(_parameters_of(node)))


def _described(node: ast.ClassDef | ast.FunctionDef, name: str, takes: tuple[Parameter, ...]) -> Iterator[Described]:
    docstring = ast.get_docstring(node)
    if docstring is not None:
        yield Described(name, node.lineno, docstring, takes)


def _parameters_of(function: ast.FunctionDef) -> Iterator[Parameter]:
    given = function.args
    positional = [*given.posonlyargs, *given.args]
    without_default = len(positional) - len(given.defaults)
    for place, one in enumerate(positional):
        yield Parameter(one.arg, optional=place >= without_default)
    if given.vararg is not None:
        yield Parameter(given.vararg.arg, optional=True)
    for one, default in zip(given.kwonlyargs, given.kw_defaults, strict=True):
        yield Parameter(one.arg, optional=default is not None)
    if given.kwarg is not None:
        yield Parameter(given.kwarg.arg, optional=True)


def _fields_of(record: ast.ClassDef) -> Iterator[Parameter]:
    for one in record.body:
        if isinstance(one, ast.AnnAssign) and isinstance(one.target, ast.Name) and not one.target.id.startswith("_"):
            yield Parameter(one.target.id, optional=one.value is not None)


def faults_of(described: Described) -> list[str]:
    """What a docstring says otherwise than the code, in sentences that say how to right it."""
    sections = sections_of(described.docstring)
    out = []
    names = [name for name, _ in sections]
    unknown = [name for name in names if name not in SECTIONS]
    if unknown:
        out.append(f"has a section {', '.join(unknown)}. Use {', '.join(SECTIONS)}.")
    elif names != sorted(names, key=SECTIONS.index):
        out.append(f"has its sections in the order {', '.join(names)}. Put them as {', '.join(SECTIONS)}.")
    for name, text in sections:
        if name == "Parameters":
            out += _parameter_faults(entries_of(text), described.takes)
        if name == "Raises":
            out += _raise_faults(entries_of(text))
    return out


def _parameter_faults(said: list[tuple[str, str]], takes: tuple[Parameter, ...]) -> list[str]:
    names, taken = [name for name, _ in said], [one.name for one in takes]
    if names != taken:
        return [f"describes {', '.join(names)} and takes {', '.join(taken)}. Describe each, in that order."]
    return [f"does not say of what kind {name} is. Write '{name} : kind'." for name, kind in said if not kind]


def _raise_faults(said: list[tuple[str, str]]) -> list[str]:
    return [f"raises {name}, which is no exception. Correct the name." for name, _ in said if not is_exception(name)]


FROM_OUTSIDE = frozenset({"Http404", "PermissionDenied"})
"""Exceptions of the web framework that ours raise."""


def is_exception(name: str) -> bool:
    """Whether there is an exception of that name: Python's, the framework's, or one of ours wherever it stands."""
    known = getattr(errors, name, getattr(builtins, name, None))
    return isinstance(known, type) or name in FROM_OUTSIDE or name in _exceptions_of_ours()


@cache
def _exceptions_of_ours() -> frozenset[str]:
    """Every class below `src` whose base is an exception, its own base being one of ours or Python's."""
    bases = {
        node.name: {base.id for base in node.bases if isinstance(base, ast.Name)}
        for path in modules_below(SOURCE)
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.ClassDef)
    }

    def raised(name: str) -> bool:
        known = getattr(errors, name, getattr(builtins, name, None))
        if isinstance(known, type) and issubclass(known, BaseException):
            return True
        return any(raised(base) for base in bases.get(name, ()) if base != name)

    return frozenset(name for name in bases if raised(name))
