"""Loading the law: one TOML file a provision, its id its path; a broken file is refused with file, key and line."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import pairwise
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from treadle.errors import BadInput, DataFault, Problem
from treadle.measure import UNITS, Quantity, read_quantity
from treadle.rules import rule_file as written
from treadle.rules.compare import is_limit
from treadle.rules.model import Condition, Either, Figure, Row, Rule, RuleSet, Value, Window
from treadle.sources import Citation, bibliography, cite

_Model = TypeVar("_Model", bound=BaseModel)
_PLAIN_KEY = re.compile(r"[a-z][a-z_]*")


@cache
def shipped() -> RuleSet:
    """Return the rules that come with Treadle."""
    return load(files("treadle.rules").joinpath("data"))


def load(folder: Traversable) -> RuleSet:
    """Load every rule and condition under a folder.

    Raises
    ------
    DataFault
        A file is not TOML, lacks a key or has an unknown one, cites no known source, prints a figure in neither unit
        system, has values out of order, or names a rule that is not there.
    """
    texts = dict(_texts(folder, ""))
    rule_files, conditions = {}, {}
    for path, text in texts.items():
        source = _File(path, text)
        if path.startswith("conditions/"):
            entry = source.parsed(written.ConditionFile)
            name = path.removeprefix("conditions/").removesuffix(".toml")
            conditions[name] = Condition(
                name,
                entry.part,
                entry.label.model_dump(),
                tuple(entry.breaches),
                brakes=tuple(entry.brakes),
                spring_brake=entry.spring_brake,
            )
        else:
            rule_files[path.removesuffix(".toml").replace("/", ".")] = (source, source.parsed(written.RuleFile))
    rules = {name: _rule(name, *rule_files[name], rule_files) for name in sorted(rule_files)}
    for name, condition in conditions.items():
        for rule_id in condition.breaches:
            if rule_id not in rules or rules[rule_id].quantity != "condition":
                path = f"conditions/{name}.toml"
                _File(path, texts[path]).refuse("unknown_rule", f'"{rule_id}"', rule=rule_id)
    return RuleSet(rules, dict(sorted(conditions.items())), _edition(texts))


def _texts(folder: Traversable, prefix: str) -> Iterable[tuple[str, str]]:
    for item in sorted(folder.iterdir(), key=lambda item: item.name):
        if item.is_dir():
            yield from _texts(item, f"{prefix}{item.name}/")
        elif item.name.endswith(".toml"):
            yield f"{prefix}{item.name}", _text(item, f"rules/data/{prefix}{item.name}")


def _text(file: Traversable, where: str) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError as fault:
        details = {"key": "", "reason": f"not UTF-8 text, byte {fault.start}"}
        raise DataFault(Problem("bad_data_entry", where, details)) from fault


def _edition(texts: Mapping[str, str]) -> str:
    digest = hashlib.sha256()
    for path, text in sorted(texts.items()):
        digest.update(f"{path}\n{len(text)}\n{text}".encode())
    return digest.hexdigest()[:12]


class _File:
    """One data file: parses it, and finds the line to name when it is broken."""

    def __init__(self, path: str, text: str) -> None:
        self.path, self.lines, self.text = path, text.splitlines(), text

    def parsed(self, model: type[_Model]) -> _Model:
        try:
            raw = tomllib.loads(self.text, parse_float=Decimal)
        except tomllib.TOMLDecodeError as fault:
            details = {"key": "", "reason": str(fault)}
            raise DataFault(Problem("bad_data_entry", f"rules/data/{self.path}", details)) from fault
        try:
            return model.model_validate(raw)
        except ValidationError as fault:
            first = fault.errors()[0]
            steps = [str(step) for step in first["loc"] if isinstance(step, int) or _PLAIN_KEY.fullmatch(step)]
            key = ".".join(steps)
            raise self.fault("bad_data_entry", key, key=key, reason=first["msg"]) from fault

    def fault(self, slug: str, at: str, **details: Any) -> DataFault:
        """Return a fault; `at` is a dotted key, entries of a list counted from 0, or a text in quotation marks."""
        return DataFault(Problem(slug, f"rules/data/{self.path}, line {self.line_of(at)}", details))

    def refuse(self, slug: str, at: str, **details: Any) -> None:
        raise self.fault(slug, at, **details)

    def line_of(self, at: str) -> int:
        """Return the number of the line a key or a text stands on, or of the block it is missing from."""
        if at.startswith('"'):
            return next((number for number, line in enumerate(self.lines, 1) if at in line), 1)
        steps = at.split(".")
        low, high = 0, len(self.lines)
        if steps[0] != "value":
            high = next((number for number, line in enumerate(self.lines) if line.startswith("[[")), high)
        for step, after in zip(steps, [*steps[1:], ""], strict=True):
            if step.isdigit():
                continue
            if after.isdigit() and step in _BLOCKS:
                low, high = self._block(_BLOCKS[step], int(after), low, high)
            else:
                low = next((number for number in range(low, high) if _names(self.lines[number], step)), low)
        return low + 1

    def _block(self, header: str, count: int, low: int, high: int) -> tuple[int, int]:
        """Return where the block of a header, counted from 0, begins and ends within some lines."""
        starts = [number for number in range(low, high) if self.lines[number].strip() == header]
        if count >= len(starts):
            return low, high
        return starts[count], next((start for start in starts if start > starts[count]), high)


_BLOCKS = {"value": "[[value]]", "row": "[[value.row]]"}


def _names(line: str, key: str) -> bool:
    """Whether a line gives a key its value, at its start or in a table within it."""
    return re.search(rf"(^|[{{,.])\s*{re.escape(key)}\s*[.=]", line.partition("#")[0]) is not None


def _rule(
    rule_id: str, file: _File, entry: written.RuleFile, every: Mapping[str, tuple[_File, written.RuleFile]]
) -> Rule:
    for name in (entry.same_limit_as, entry.unless_listed_in):
        if name is not None and (name not in every or name == rule_id):
            file.refuse("unknown_rule", f'"{name}"', rule=name)
    if entry.comparator == "breach_if_one_of" and not entry.words:
        file.refuse("bad_data_entry", "comparator", key="words", reason="breach_if_one_of needs the words")
    values = tuple(_values(file, entry, every))
    _refuse_disorder(file, values)
    _refuse_unknown_conditions(file, entry)
    return Rule(
        id=rule_id,
        label=entry.label.model_dump(),
        quantity=entry.quantity,
        place=entry.place,
        state=entry.state,
        comparator=entry.comparator,
        words=tuple(entry.words),
        compares=entry.compares,
        applies=_applies(file, entry.applies),
        layer=entry.layer,
        then=entry.then,
        window=_window(file, entry.needs),
        over=_pair(file, entry.over, "over"),
        rpm_at_most=entry.rpm_at_most,
        least_of_half=entry.least_of_half,
        either=_either(file, entry.either),
        counts=entry.counts,
        alone=entry.alone,
        figure_from=entry.figure_from,
        percent=None if entry.percent is None else Fraction(entry.percent, 100),
        plus=None if entry.plus is None else _quantity(file, entry.plus, "plus"),
        or_figure_from=entry.or_figure_from,
        unless_listed_in=entry.unless_listed_in,
        values=values,
    )


def _refuse_disorder(file: _File, values: tuple[Value, ...]) -> None:
    """Refuse values that do not follow one another: each begins after the last, and ends before the next begins."""
    for number, value in enumerate(values):
        if value.ends is not None and value.ends <= value.effective_from:
            file.refuse("values_out_of_order", f"value.{number}.ends", day=value.ends)
    for number, (earlier, later) in enumerate(pairwise(values), start=1):
        if earlier.effective_from >= later.effective_from:
            file.refuse("values_out_of_order", f"value.{number}.effective_from", day=later.effective_from)
        if earlier.ends is not None and earlier.ends > later.effective_from:
            file.refuse("values_out_of_order", f"value.{number - 1}.ends", day=earlier.ends)


def _refuse_unknown_conditions(file: _File, entry: written.RuleFile) -> None:
    allowed = ", ".join(sorted(written.APPLIES))
    for key in entry.applies:
        if key not in written.APPLIES:
            file.refuse("bad_data_entry", f"applies.{key}", key=key, reason=f"allowed: {allowed}")
    for number, value in enumerate(entry.value):
        for place, row in enumerate(value.row):
            for key in row.when:
                if key not in written.APPLIES:
                    at = f"value.{number}.row.{place}.when.{key}"
                    file.refuse("bad_data_entry", at, key=key, reason=f"allowed: {allowed}")


def _values(
    file: _File, entry: written.RuleFile, every: Mapping[str, tuple[_File, written.RuleFile]]
) -> Iterable[Value]:
    """Return a rule's dated values; with `same_limit_as` each borrows the rows in force that day in the other rule."""
    borrowed: list[Value] = []
    if entry.same_limit_as is not None:
        other_file, other = every[entry.same_limit_as]
        borrowed = list(_values(other_file, other, every))
    for number, value in enumerate(entry.value):
        at = f"value.{number}"
        rows = tuple(_row(file, entry, value, row, f"{at}.row.{place}") for place, row in enumerate(value.row))
        if not rows and borrowed:
            in_force = [other for other in borrowed if other.effective_from <= value.effective_from]
            if not in_force:
                file.refuse("values_out_of_order", f"{at}.effective_from", day=value.effective_from)
            rows = in_force[-1].rows
        elif not rows:
            rows = (_row(file, entry, value, value, at),)
        enacted = value.enacted_by
        yield Value(
            effective_from=value.effective_from,
            ends=value.ends,
            citation=_citation(file, value.source, value.locator),
            also=tuple(_citation(file, also.source, also.locator) for also in value.also),
            basis=value.basis or entry.basis,
            rows=rows,
            unconfirmed_from=value.unconfirmed_from,
            enacted_by=None if enacted is None else _citation(file, enacted.source, ""),
            published=None if enacted is None else enacted.published,
            checked=tuple((one.on, one.by, one.copy_) for one in value.checked),
        )


def _citation(file: _File, key: str, locator: str) -> Citation:
    if key not in bibliography():
        file.refuse("unknown_source", f'"{key}"', source=key)
    return cite(key, locator)


def _row(
    file: _File,
    entry: written.RuleFile,
    value: written.ValueEntry,
    row: written.RowEntry | written.ValueEntry,
    at: str,
) -> Row:
    figure = _figure(file, row.customary, row.metric, at)
    figure_elsewhere = entry.figure_from is not None or entry.percent is not None
    if figure is None and is_limit(entry.comparator) and not figure_elsewhere:
        reason = "a limit needs a figure"
        file.refuse("bad_data_entry", f"{at}.as_printed", key="metric, customary", reason=reason)
    when = _applies(file, row.when) if isinstance(row, written.RowEntry) else {}
    return Row(when, figure, row.basis or value.basis or entry.basis, row.as_printed)


def _figure(
    file: _File, customary: written.FigureEntry | None, metric: written.FigureEntry | None, at: str
) -> Figure | None:
    if customary is None and metric is None:
        return None
    return Figure(
        _stated(file, customary, f"{at}.customary", metric=False), _stated(file, metric, f"{at}.metric", metric=True)
    )


def _stated(file: _File, entry: written.FigureEntry | None, at: str, *, metric: bool) -> Quantity | None:
    if entry is None:
        return None
    figure = _quantity(file, f"{entry.value} {entry.unit}", at)
    both_systems = UNITS[figure.unit].dimension in ("time", "angle")
    if not both_systems and UNITS[figure.unit].metric != metric:
        reason = "a figure of the other unit system"
        raise file.fault("bad_data_entry", at, key=at.rpartition(".")[2], reason=reason)
    return figure


def _quantity(file: _File, text: Any, at: str) -> Quantity:
    if isinstance(text, str):
        for dimension in ("length", "pressure", "mass", "force", "time", "angle"):
            try:
                return read_quantity(text, dimension, where=file.path)
            except BadInput:
                continue
    raise file.fault("bad_data_entry", at, key=str(text), reason="not a quantity with its unit")


def _applies(file: _File, table: Mapping[str, Any]) -> dict[str, Any]:
    """Return a table of conditions with sizes as quantities and every other single value as a list of one."""
    out: dict[str, Any] = {}
    for key, value in table.items():
        if key == "rated_stroke":
            sizes = value if isinstance(value, list) else [value]
            out[key] = tuple(_quantity(file, size, f'"{size}"') for size in sizes)
        elif key in ("built_from", "built_before", "units_coupled_from"):
            out[key] = value
        else:
            out[key] = tuple(value) if isinstance(value, list) else (value,)
    return out


def _window(file: _File, entry: written.WindowEntry) -> Window:
    return Window(_pair(file, entry.reservoir, "needs"), entry.engine, entry.spring_brakes)


def _pair(file: _File, texts: list[str] | None, at: str) -> tuple[Quantity, Quantity] | None:
    if texts is None:
        return None
    low, high = (_quantity(file, text, at) for text in texts)
    return low, high


def _either(file: _File, entry: written.EitherEntry | None) -> Either | None:
    if entry is None:
        return None
    figure = _figure(file, entry.customary, entry.metric, "either")
    if figure is None:
        raise file.fault("bad_data_entry", "either", key="either", reason="a limit needs a figure")
    return Either(entry.quantity, entry.comparator, figure)
