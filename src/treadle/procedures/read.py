"""Loading the procedures: one TOML file each, its key its name; a broken file is refused with file and key."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import pairwise
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from treadle.errors import BadInput, DataFault, Problem
from treadle.fleet.read import DIMENSIONS, READING_KINDS
from treadle.measure import Quantity, read_quantity
from treadle.procedures import procedure_file as written
from treadle.procedures.model import (
    PHASES,
    Figure,
    Hazard,
    Measurement,
    Procedure,
    Sentence,
    StepPlan,
    TorqueRecord,
)
from treadle.sources import Citation, bibliography, cite
from treadle.words import LANGUAGES, catalogue, has

_Model = TypeVar("_Model", bound=BaseModel)

MAKERS_PREVAIL, QUALIFIED = "makers_prevail", "qualified_person"
"""The cautions no procedure may be without."""

_OWN_KINDS = {"reservoir": "pressure"}
"""What a hold point measures beyond the readings of a walk-around, and what that is."""


@cache
def shipped() -> Mapping[str, Procedure]:
    """Return the procedures that come with Treadle, by key."""
    return load(files("treadle.procedures").joinpath("data"))


@cache
def torque_records(mounting: str | None = None) -> tuple[TorqueRecord, ...]:
    """Return the wheel torques held, those of one kind of mounting or all where it is not known.

    Several for one mounting mean that sources disagree: the paper of the very wheel decides, nobody picks for it.
    """
    records = _torques(_Folder(files("treadle.procedures").joinpath("data")))
    return tuple(record for record in records if mounting in (None, record.mounting))


def edition(folder: Traversable | None = None) -> str:
    """Return what tells one set of procedures from any other: a hash of its data and of every sentence it can say.

    Parameters
    ----------
    folder : Traversable, optional
        Where the data is; that which comes with Treadle if left out.
    """
    root = files("treadle.procedures").joinpath("data") if folder is None else folder
    digest = hashlib.sha256()
    for path, text in sorted(_texts(root, "")):
        digest.update(f"{path}\n{len(text)}\n{text}".encode())
    for language in LANGUAGES:
        for code, text in sorted(catalogue(language).items()):
            if code.startswith("procedure."):
                digest.update(f"{language}.{code}\n{len(text)}\n{text}".encode())
    return digest.hexdigest()[:12]


def _texts(folder: Traversable, prefix: str) -> Iterable[tuple[str, str]]:
    for item in folder.iterdir():
        if item.is_dir():
            yield from _texts(item, f"{prefix}{item.name}/")
        elif item.name.endswith(".toml"):
            yield f"{prefix}{item.name}", item.read_text(encoding="utf-8")


def load(folder: Traversable) -> Mapping[str, Procedure]:
    """Load every procedure of a folder, with the steps, hazards and figures that stand beside them.

    Raises
    ------
    DataFault
        A file is not TOML, lacks a key or has an unknown one, cites no known source, names a step, hazard or figure
        that is not there, leaves its phases out of order, or lacks a caution every procedure carries.
    """
    data = _Folder(folder)
    steps = _steps(data)
    _torques(data)  # steps show them by mounting; a broken record is refused with the rest
    names = sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml"))
    return MappingProxyType({name: _procedure(data, name, steps) for name in names if name not in _SHARED})


_SHARED = frozenset({"hazards", "figures", "torque"})


@dataclass(frozen=True)
class _Folder:
    """The data folder: parses a file of it, and says where something in it is wrong."""

    root: Traversable

    def parsed(self, path: str) -> dict[str, Any]:
        try:
            return tomllib.loads(self.root.joinpath(*path.split("/")).read_text(encoding="utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError, FileNotFoundError) as fault:
            raise self.fault(path, "", reason=str(fault)) from fault

    def entries(self, path: str, model: type[_Model]) -> Iterable[tuple[str, _Model]]:
        for key, entry in self.parsed(path).items():
            yield key, self.valid(path, model, entry, key)

    def valid(self, path: str, model: type[_Model], entry: Any, within: str = "") -> _Model:
        try:
            return model.model_validate(entry)
        except ValidationError as fault:
            first = fault.errors()[0]
            key = ".".join(filter(None, (within, *map(str, first["loc"]))))
            raise self.fault(path, key, reason=first["msg"]) from fault

    def fault(self, path: str, key: str, *, reason: str) -> DataFault:
        return DataFault(Problem("bad_data_entry", f"procedures/data/{path}", {"key": key, "reason": reason}))

    def said(self, path: str, code: str) -> str:
        """Return a code that has its sentence."""
        if not has(code):
            raise self.fault(path, code, reason="there is no such sentence in the words")
        return code

    def citation(self, path: str, source: str, locator: str) -> Citation:
        if source not in bibliography():
            raise DataFault(Problem("unknown_source", f"procedures/data/{path}", {"source": source}))
        return cite(source, locator)

    def quantity(self, path: str, key: str, text: str, dimension: str) -> Quantity:
        try:
            return read_quantity(text, dimension, where=path)
        except BadInput as fault:
            raise self.fault(path, key, reason=f"'{text}' is no {dimension} with its unit") from fault


def _hazards(data: _Folder) -> dict[str, Hazard]:
    path = "hazards.toml"
    out = {}
    for key, entry in data.entries(path, written.HazardEntry):
        data.said(path, f"procedure.hazard.{key}")
        if entry.basis in ("found", "secondary") and not entry.cites:
            raise data.fault(path, f"{key}.cites", reason=f"a hazard that was {entry.basis} names where")
        out[key] = Hazard(key, entry.basis, tuple(data.citation(path, one.source, one.locator) for one in entry.cites))
    return out


def _figures(data: _Folder) -> dict[str, Figure]:
    path = "figures.toml"
    out = {}
    for key, entry in data.entries(path, written.FigureEntry):
        data.said(path, f"procedure.figure.{key}")
        low = data.quantity(path, f"{key}.low", entry.low, entry.dimension)
        high = None if entry.high is None else data.quantity(path, f"{key}.high", entry.high, entry.dimension)
        out[key] = Figure(key, low, high, data.citation(path, entry.source, entry.locator), entry.basis)
    return out


def _torques(data: _Folder) -> tuple[TorqueRecord, ...]:
    path = "torque.toml"
    return tuple(
        TorqueRecord(
            key,
            entry.mounting,
            entry.fastener,
            data.quantity(path, f"{key}.low", entry.low, "torque"),
            data.quantity(path, f"{key}.high", entry.high, "torque"),
            entry.lubrication,
            str(data.citation(path, entry.source, entry.locator)),
            entry.basis,
        )
        for key, entry in data.entries(path, written.TorqueEntry)
    )


def _steps(data: _Folder) -> dict[str, StepPlan]:
    hazards, figures = _hazards(data), _figures(data)
    out = {}
    for phase in PHASES:
        path = f"steps/{phase}.toml"
        for name, entry in data.entries(path, written.StepEntry):
            key = f"{phase}.{name}"
            out[key] = _step(data, key, entry, hazards, figures)
    return out


def _step(
    data: _Folder, key: str, entry: written.StepEntry, hazards: Mapping[str, Hazard], figures: Mapping[str, Figure]
) -> StepPlan:
    phase, _, name = key.partition(".")
    path = f"steps/{phase}.toml"
    like = key if entry.like is None else f"{phase}.{entry.like}"
    data.said(path, f"procedure.{key}.action")
    for part in ("purpose", "good", "otherwise"):
        data.said(path, f"procedure.{like}.{part}")
    if "confirm" in entry.hold or "second_person" in entry.hold:
        data.said(path, f"procedure.{like}.confirm")
    for held, has_what, field in (
        ("measurement" in entry.hold, bool(entry.measure), "measure"),
        ("torque" in entry.hold, entry.torque, "torque"),
    ):
        if held != has_what:
            raise data.fault(path, f"{name}.{field}", reason="what a hold point asks for and the hold go together")
    return StepPlan(
        key=key,
        like=like,
        phase=phase,
        each_end=entry.each_end,
        goes_round=entry.goes_round,
        when=MappingProxyType({fact: tuple(words) for fact, words in entry.when if words is not None}),
        tools=tuple(data.said(path, f"procedure.tool.{tool}") for tool in entry.tools),
        hazards=tuple(_named(data, path, f"{name}.hazards", one, hazards) for one in entry.hazards),
        figures=tuple(_named(data, path, f"{name}.figures", one, figures) for one in entry.figures),
        hold_kinds=tuple(entry.hold),
        measurements=tuple(_measurement(data, path, name, one, figures) for one in entry.measure),
        shows_order=entry.order,
        shows_torque=entry.torque,
    )


_Named = TypeVar("_Named")


def _named(data: _Folder, path: str, key: str, name: str, known: Mapping[str, _Named]) -> _Named:
    if name not in known:
        raise data.fault(path, key, reason=f"nothing is named '{name}'")
    return known[name]


def _measurement(
    data: _Folder, path: str, name: str, entry: written.MeasureEntry, figures: Mapping[str, Figure]
) -> Measurement:
    if entry.kind not in READING_KINDS and entry.kind not in _OWN_KINDS:
        raise data.fault(path, f"{name}.measure", reason=f"nothing is read as '{entry.kind}'")
    data.said(path, f"procedure.measurement.{entry.key}")
    return Measurement(
        key=entry.key,
        kind=entry.kind,
        dimension=DIMENSIONS.get(entry.kind) or _OWN_KINDS.get(entry.kind),
        count=entry.count,
        parts_differ=entry.parts_differ,
        place=entry.place,
        state=entry.state,
        at_least=None if entry.at_least is None else _named(data, path, f"{name}.measure", entry.at_least, figures),
        kept=entry.kept,
    )


def _procedure(data: _Folder, name: str, steps: Mapping[str, StepPlan]) -> Procedure:
    path = f"{name}.toml"
    entry = data.valid(path, written.ProcedureFile, data.parsed(path))
    for caution in (MAKERS_PREVAIL, QUALIFIED):
        if caution not in entry.cautions:
            raise data.fault(path, "cautions", reason=f"every procedure carries '{caution}'")
    for part in ("title", "does"):
        data.said(path, f"procedure.{part}.{name}")
    plans = tuple(_named(data, path, "steps", key, steps) for key in entry.steps)
    if len(set(entry.steps)) < len(entry.steps):
        raise data.fault(path, "steps", reason="a step stands there twice")
    for before, after in pairwise(plans):
        if PHASES.index(before.phase) > PHASES.index(after.phase):
            raise data.fault(path, "steps", reason=f"'{after.key}' comes after '{before.key}', of a later phase")
    cautions = tuple(Sentence(data.said(path, f"procedure.caution.{caution}")) for caution in entry.cautions)
    return Procedure(name, cautions, plans)
