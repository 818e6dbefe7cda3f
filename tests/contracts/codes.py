"""Finds in the code which sentences it asks for: slugs of errors, codes of findings, remedies, reasons; a helper.

It reads syntax, so it sees a sentence that no test happens to reach.  Tested in `test_sentences.py`.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from contracts.tree import SOURCE, modules_below, parsed, shown

RAISERS = frozenset({"Problem", "_refuse", "_refusal", "refuse", "fault"})
"""What takes a slug first: the problem itself, and the helpers that make one."""
ADDED_BY = {"_refusal": frozenset({"text"})}
"""Details that a helper adds to those it is given."""


@dataclass(frozen=True)
class Raised:
    """A slug where it is raised, with the names of its details; None where they cannot be told."""

    slug: str
    details: frozenset[str] | None
    place: str


def constants(node: ast.expr | None) -> Iterator[str]:
    """Every text an expression may be: a constant, or either side of a condition or of an `or`."""
    match node:
        case ast.Constant(value=str(text)):
            yield text
        case ast.IfExp(body=one, orelse=other):
            yield from constants(one)
            yield from constants(other)
        case ast.BoolOp(values=values):
            for value in values:
                yield from constants(value)


def called(node: ast.Call) -> str:
    """The last name of what is called."""
    match node.func:
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return name
    return ""


# -- errors


def slugs_raised(paths: Iterable[Path] | None = None) -> list[Raised]:
    """Every slug raised in these files, of the source tree if left out."""
    found = []
    for path in modules_below(SOURCE) if paths is None else paths:
        for function in _functions(parsed(path)):
            for node in ast.walk(function):
                if isinstance(node, ast.Call) and called(node) in RAISERS and node.args:
                    details = _details(node, function)
                    place = f"{shown(path)}:{node.lineno}"
                    found += [Raised(slug, details, place) for slug in constants(node.args[0])]
    return list(dict.fromkeys(found))


def _functions(tree: ast.Module) -> Iterator[ast.AST]:
    """Every function that stands in no other."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef):
            yield from (one for one in node.body if isinstance(one, ast.FunctionDef))
        elif isinstance(node, ast.FunctionDef):
            yield node


def _details(call: ast.Call, function: ast.AST) -> frozenset[str] | None:
    if called(call) == "Problem":
        return _keys(call.args[2], function, call.lineno) if len(call.args) > 2 else frozenset()
    names = [keyword.arg for keyword in call.keywords]
    spread = [_keys(keyword.value, function, call.lineno) for keyword in call.keywords if keyword.arg is None]
    if any(keys is None for keys in spread):
        return None
    given = frozenset(name for name in names if name is not None).union(*(keys for keys in spread if keys))
    return given | ADDED_BY.get(called(call), frozenset())


def _keys(node: ast.expr, function: ast.AST, before: int) -> frozenset[str] | None:
    """The keys of a dict, as written or as last given to the name that stands for it."""
    if isinstance(node, ast.Dict):
        if None in node.keys:
            return None
        return frozenset(text for key in node.keys for text in constants(key))
    if isinstance(node, ast.Name):
        given = [
            one
            for one in ast.walk(function)
            if isinstance(one, ast.Assign)
            and one.lineno < before
            and any(isinstance(target, ast.Name) and target.id == node.id for target in one.targets)
        ]
        return _keys(given[-1].value, function, before) if given else None
    return None


# -- findings, remedies, reasons


@dataclass(frozen=True)
class Asked:
    """What the judge gives as the code of a finding, with how those put together begin and the kinds of reading
    that may show a condition; as its remedy; as why a comparison is open; and as why something was not judged."""

    codes: frozenset[str]
    beginnings: frozenset[str]
    kinds_seen: frozenset[str]
    remedies: frozenset[str]
    whys: frozenset[str]
    not_judged: frozenset[str]


def asked_for(paths: Iterable[Path] | None = None) -> Asked:
    """What is asked for in these files, those of the judge if left out; what is put together of parts is not here."""
    nodes = [node for path in paths or modules_below(SOURCE / "assess") for node in ast.walk(parsed(path))]
    calls = [node for node in nodes if isinstance(node, ast.Call)]
    assigned = {name: frozenset(_assigned(nodes, name)) for name in ("code", "remedy", "why")}
    given = {name: frozenset(_keyword(calls, name)) for name in ("code", "remedy", "why")}
    codes = assigned["code"] | given["code"] | _positional(calls, "_verdict", 1) | _positional(calls, "_unseen", 0)
    whys = assigned["why"] | given["why"] | _positional(calls, "Circumstances", 1) | _positional(calls, "changed", 1)
    pairs = frozenset(text for node in nodes for text in _second_of_pairs_not_judged(node))
    beginnings = frozenset(
        code.values[0].value
        for call in calls
        if called(call) == "_verdict" and len(call.args) > 1
        for code in [call.args[1]]
        if isinstance(code, ast.JoinedStr) and isinstance(code.values[0], ast.Constant)
    )
    kinds_seen = _positional(calls, "_condition_of", 1)
    return Asked(codes, beginnings, kinds_seen, assigned["remedy"] | given["remedy"], whys - {""}, pairs)


def _keyword(calls: Iterable[ast.Call], name: str) -> Iterator[str]:
    for call in calls:
        for keyword in call.keywords:
            if keyword.arg == name:
                yield from constants(keyword.value)


def _positional(calls: Iterable[ast.Call], function: str, place: int) -> frozenset[str]:
    return frozenset(
        text
        for call in calls
        if called(call) == function and len(call.args) > place
        for text in constants(call.args[place])
    )


def _assigned(nodes: Iterable[ast.AST], name: str) -> Iterator[str]:
    """Texts given to a name: alone, at its place of a tuple, or in the tuples a loop goes through."""
    for node in nodes:
        match node:
            case ast.Assign(targets=[ast.Name(id=found)], value=value) if found == name:
                yield from constants(value)
            case ast.Assign(targets=[ast.Tuple(elts=targets)], value=ast.Tuple(elts=values)):
                yield from _at_the_place_of(name, targets, values)
            case ast.For(target=ast.Tuple(elts=targets), iter=ast.Tuple(elts=rounds)):
                for one in rounds:
                    if isinstance(one, ast.Tuple):
                        yield from _at_the_place_of(name, targets, one.elts)


def _at_the_place_of(name: str, targets: list[ast.expr], values: list[ast.expr]) -> Iterator[str]:
    for target, value in zip(targets, values, strict=False):
        if isinstance(target, ast.Name) and target.id == name:
            yield from constants(value)


def _second_of_pairs_not_judged(node: ast.AST) -> Iterator[str]:
    """The reason in each `(what, why)` that goes to what was not judged."""
    match node:
        case ast.Call(func=ast.Attribute(attr="append", value=ast.Attribute(attr="not_judged")), args=[pair]):
            yield from _second(pair)
        case ast.keyword(arg="not_judged", value=value):
            for one in ast.walk(value):
                yield from _second(one)


def _second(pair: ast.AST) -> Iterator[str]:
    if isinstance(pair, ast.Tuple) and len(pair.elts) == 2:
        yield from constants(pair.elts[1])


def sentences_said_outright(paths: Iterable[Path] | None = None) -> dict[str, str]:
    """Each code that is said as a constant, with the place; and of one put together, how it begins, with a star."""
    found = {}
    for path in paths or modules_below(SOURCE):
        for node in ast.walk(parsed(path)):
            if not isinstance(node, ast.Call) or called(node) not in ("say", "say_plainly") or not node.args:
                continue
            first = node.args[0]
            codes = list(constants(first))
            if isinstance(first, ast.JoinedStr) and isinstance(first.values[0], ast.Constant):
                codes = [f"{first.values[0].value}*"]
            found |= {code: f"{shown(path)}:{node.lineno}" for code in codes}
    return found
