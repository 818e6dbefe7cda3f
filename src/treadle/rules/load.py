"""Loading the law: one TOML file a provision, its id its path; a broken file is refused with file, key and line."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import pairwise
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from treadle.errors import BadInput, DataFault, Problem
from treadle.measure import Quantity, read_quantity
from treadle.rules.compare import is_limit
from treadle.rules.model import Condition, Either, Figure, Row, Rule, RuleSet, Value, Window
from treadle.sources import bibliography, cite

Outcome = Literal["hold", "fix", "watch"]
Basis = Literal["found", "secondary", "derived", "chosen", "practice", "memory"]
_LimitComparator = Literal[
    "breach_if_more_than",
    "breach_if_more_than_or_equal",
    "breach_if_less_than",
    "breach_if_less_than_or_equal",
]


_Model = TypeVar("_Model", bound=BaseModel)


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _FigureEntry(_Strict):
    value: str | int | Decimal
    unit: str


class _CitationEntry(_Strict):
    source: str
    locator: str


class _EnactedBy(_Strict):
    source: str
    published: date


class _Checked(_Strict):
    on: date
    by: str
    copy_: str = Field(alias="copy")


class _RowEntry(_Strict):
    when: dict[str, Any] = {}
    as_printed: str
    metric: _FigureEntry | None = None
    customary: _FigureEntry | None = None
    basis: Basis | None = None


class _ValueEntry(_Strict):
    as_printed: str
    metric: _FigureEntry | None = None
    customary: _FigureEntry | None = None
    basis: Basis | None = None
    source: str
    locator: str
    also: list[_CitationEntry] = []
    effective_from: date
    ends: date | None = None
    unconfirmed_from: date | None = None
    enacted_by: _EnactedBy | None = None
    checked: list[_Checked] = []
    row: list[_RowEntry] = []


class _WindowEntry(_Strict):
    reservoir: list[str] | None = None
    engine: Literal["off"] | None = None
    spring_brakes: Literal["released"] | None = None


class _EitherEntry(_Strict):
    quantity: str
    comparator: _LimitComparator
    metric: _FigureEntry | None = None
    customary: _FigureEntry | None = None


class _Label(_Strict):
    en: str
    es: str


class _RuleFile(_Strict):
    label: _Label
    quantity: str
    place: Literal["centre", "thinnest"] | None = None
    state: Literal["released", "applied"] | None = None
    comparator: _LimitComparator | Literal["breach_if_one_of", "breach_if_different", "breach_if_seen"]
    words: list[str] = []
    compares: Literal["chamber_type", "arm", "lining_type", "stroke_class"] | None = None
    applies: dict[str, Any] = {}
    layer: Literal["operate", "roadside", "periodic", "build", "practice", "records"]
    then: Outcome
    basis: Basis
    needs: _WindowEntry = _WindowEntry()
    over: list[str] | None = None
    least_of_half: str | None = None
    either: _EitherEntry | None = None
    counts: Literal["whole", "by_excess"] | None = None
    alone: Literal["any", "steering"] | None = None
    figure_from: str | None = None
    percent: int | None = None
    plus: str | None = None
    or_figure_from: str | None = None
    unless_listed_in: str | None = None
    same_limit_as: str | None = None
    value: list[_ValueEntry] = Field(min_length=1)


class _ConditionFile(_Strict):
    label: _Label
    part: Literal["brake", "wheel", "air", "none"]
    breaches: list[str] = []


_APPLIES = frozenset(
    {
        "kind",
        "power_unit",
        "role",
        "steering",
        "brake",
        "lining_form",
        "lining_attachment",
        "design",
        "type",
        "stroke_class",
        "rated_stroke",
        "spring_brake",
        "wear_mark",
        "air_braked",
        "units_coupled",
        "units_coupled_from",
        "built_from",
        "built_before",
    }
)
"""What `applies` and `when` may ask about."""


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
            entry = source.parsed(_ConditionFile)
            name = path.removeprefix("conditions/").removesuffix(".toml")
            conditions[name] = Condition(name, entry.part, entry.label.model_dump(), tuple(entry.breaches))
        else:
            rule_files[path.removesuffix(".toml").replace("/", ".")] = (source, source.parsed(_RuleFile))
    rules = {name: _rule(name, *rule_files[name], rule_files) for name in sorted(rule_files)}
    for name, condition in conditions.items():
        for rule_id in condition.breaches:
            if rule_id not in rules or rules[rule_id].quantity != "condition":
                _File(f"conditions/{name}.toml", texts[f"conditions/{name}.toml"]).refuse(
                    "unknown_rule", rule_id, rule=rule_id
                )
    return RuleSet(rules, dict(sorted(conditions.items())), _edition(texts))


def _texts(folder: Traversable, prefix: str) -> Iterable[tuple[str, str]]:
    for item in sorted(folder.iterdir(), key=lambda item: item.name):
        if item.is_dir():
            yield from _texts(item, f"{prefix}{item.name}/")
        elif item.name.endswith(".toml"):
            yield f"{prefix}{item.name}", item.read_text(encoding="utf-8")


def _edition(texts: Mapping[str, str]) -> str:
    digest = hashlib.sha256()
    for path, text in sorted(texts.items()):
        digest.update(f"{path}\n{len(text)}\n{text}".encode())
    return digest.hexdigest()[:12]


class _File:
    """One data file: parses it, and finds the line to name when it is broken."""

    def __init__(self, path: str, text: str) -> None:
        self.path, self.text = path, text

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
            key = ".".join(str(step) for step in first["loc"])
            raise self.fault("bad_data_entry", key, key=key, reason=first["msg"]) from fault

    def fault(self, slug: str, at: str, **details: Any) -> DataFault:
        return DataFault(Problem(slug, f"rules/data/{self.path}, line {self.line_of(at)}", details))

    def refuse(self, slug: str, at: str, **details: Any) -> None:
        raise self.fault(slug, at, **details)

    def line_of(self, key: str) -> int:
        """Return the line where the last step of a dotted key, or a text, first stands; 1 when it stands nowhere."""
        lines = self.text.splitlines()
        for step in reversed(key.split(".")):
            for number, line in enumerate(lines, start=1):
                if not step.isdigit() and re.search(rf"(?<![\w.]){re.escape(step)}(?![\w])", line):
                    return number
        for number, line in enumerate(lines, start=1):
            if key in line:
                return number
        return 1


def _rule(rule_id: str, file: _File, entry: _RuleFile, every: Mapping[str, tuple[_File, _RuleFile]]) -> Rule:
    for name in (entry.same_limit_as, entry.unless_listed_in):
        if name is not None and name not in every:
            file.refuse("unknown_rule", name, rule=name)
    values = tuple(_values(file, entry, every))
    for earlier, later in pairwise(values):
        if earlier.effective_from >= later.effective_from:
            file.refuse("values_out_of_order", "effective_from", day=later.effective_from)
    for table in (entry.applies, *(row.when for value in values for row in value.rows)):
        for key in table:
            if key not in _APPLIES:
                allowed = ", ".join(sorted(_APPLIES))
                file.refuse("bad_data_entry", key, key=key, reason=f"allowed: {allowed}")
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
        over=_pair(file, entry.over),
        least_of_half=entry.least_of_half,
        either=_either(file, entry.either),
        counts=entry.counts,
        alone=entry.alone,
        figure_from=entry.figure_from,
        percent=None if entry.percent is None else Fraction(entry.percent, 100),
        plus=None if entry.plus is None else _quantity(file, entry.plus),
        or_figure_from=entry.or_figure_from,
        unless_listed_in=entry.unless_listed_in,
        values=values,
    )


def _values(file: _File, entry: _RuleFile, every: Mapping[str, tuple[_File, _RuleFile]]) -> Iterable[Value]:
    """Return a rule's dated values; with `same_limit_as` each borrows the rows in force that day in the other rule."""
    borrowed: list[Value] = []
    if entry.same_limit_as is not None:
        other_file, other = every[entry.same_limit_as]
        borrowed = list(_values(other_file, other, every))
    for value in entry.value:
        rows = tuple(_row(file, entry, value, row) for row in value.row)
        if not rows and borrowed:
            in_force = [other for other in borrowed if other.effective_from <= value.effective_from]
            if not in_force:
                file.refuse("values_out_of_order", "effective_from", day=value.effective_from)
            rows = in_force[-1].rows
        elif not rows:
            rows = (_row(file, entry, value, value),)
        yield Value(
            effective_from=value.effective_from,
            ends=value.ends,
            citation=_citation(file, value.source, value.locator),
            also=tuple(_citation(file, also.source, also.locator) for also in value.also),
            basis=value.basis or entry.basis,
            rows=rows,
            unconfirmed_from=value.unconfirmed_from,
        )


def _citation(file: _File, key: str, locator: str) -> Any:
    if key not in bibliography():
        file.refuse("unknown_source", key, source=key)
    return cite(key, locator)


def _row(file: _File, entry: _RuleFile, value: _ValueEntry, row: _RowEntry | _ValueEntry) -> Row:
    figure = _figure(file, row.customary, row.metric)
    figure_elsewhere = entry.figure_from is not None or entry.percent is not None
    if figure is None and is_limit(entry.comparator) and not figure_elsewhere:
        file.refuse("bad_data_entry", "as_printed", key="metric, customary", reason="a limit needs a figure")
    when = _applies(file, row.when) if isinstance(row, _RowEntry) else {}
    return Row(when, figure, row.basis or value.basis or entry.basis, row.as_printed)


def _figure(file: _File, customary: _FigureEntry | None, metric: _FigureEntry | None) -> Figure | None:
    if customary is None and metric is None:
        return None
    return Figure(_stated(file, customary), _stated(file, metric))


def _stated(file: _File, entry: _FigureEntry | None) -> Quantity | None:
    return None if entry is None else _quantity(file, f"{entry.value} {entry.unit}")


def _quantity(file: _File, text: str) -> Quantity:
    for dimension in ("length", "pressure", "mass", "force", "time", "angle"):
        try:
            return read_quantity(text, dimension, where=file.path)
        except BadInput:
            continue
    raise file.fault("bad_data_entry", text, key=text, reason="not a quantity")


def _applies(file: _File, table: Mapping[str, Any]) -> dict[str, Any]:
    """Return a table of conditions with sizes as quantities and every other single value as a list of one."""
    out: dict[str, Any] = {}
    for key, value in table.items():
        if key == "rated_stroke":
            out[key] = tuple(_quantity(file, text) for text in (value if isinstance(value, list) else [value]))
        elif key in ("built_from", "built_before", "units_coupled_from"):
            out[key] = value
        else:
            out[key] = tuple(value) if isinstance(value, list) else (value,)
    return out


def _window(file: _File, entry: _WindowEntry) -> Window:
    return Window(_pair(file, entry.reservoir), entry.engine, entry.spring_brakes)


def _pair(file: _File, texts: list[str] | None) -> tuple[Quantity, Quantity] | None:
    if texts is None:
        return None
    low, high = (_quantity(file, text) for text in texts)
    return low, high


def _either(file: _File, entry: _EitherEntry | None) -> Either | None:
    if entry is None:
        return None
    figure = _figure(file, entry.customary, entry.metric)
    if figure is None:
        raise file.fault("bad_data_entry", "either", key="either", reason="a limit needs a figure")
    return Either(entry.quantity, entry.comparator, figure)
