"""What may be said of a part: its fields, the words each takes, and a part's specification in a person's language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from treadle.fleet import file_model as written
from treadle.web.units.fit import BAY_WORDS
from treadle.words import say

_MODELS: dict[str, type[BaseModel]] = {
    "foundation": written.EndEntry,
    "lining": written.EndEntry,
    "chamber": written.ChamberEntry,
    "adjuster": written.AdjusterEntry,
}


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to say of a part: a word of a few, yes or no, a size, a number, or free text."""

    name: str
    kind: Literal["word", "yes_no", "size", "count", "text"]
    words: tuple[str, ...] = ()
    needed: bool = False


def _word(slot: str, name: str, *, needed: bool = False) -> Field:
    return Field(name, "word", BAY_WORDS.get(name) or _words_of_the_file(slot, name), needed)


def _words_of_the_file(slot: str, name: str) -> tuple[str, ...]:
    """Return the words the walk-around file takes for a field; that it is not known is said by leaving it empty."""
    annotation = _MODELS[slot].model_fields[name].annotation
    literals = [one for one in (annotation, *get_args(annotation)) if get_origin(one) is Literal]
    return tuple(word for word in get_args(literals[0]) if word != "unknown")


FIELDS: dict[str, tuple[Field, ...]] = {
    "foundation": (
        _word("foundation", "brake", needed=True),
        Field("spring_brake", "yes_no"),
        Field("rod_visible", "yes_no"),
        Field("abs", "yes_no"),
    ),
    "lining": (
        _word("lining", "lining_form"),
        _word("lining", "lining_attachment"),
        Field("lining_type", "text"),
        Field("pattern", "text"),
        Field("new_thickness", "size"),
        Field("wear_mark", "yes_no"),
    ),
    "chamber": (
        _word("chamber", "design", needed=True),
        Field("type", "text"),
        _word("chamber", "stroke_class"),
        Field("rated_stroke", "size"),
        Field("marked_limit", "size"),
    ),
    "adjuster": (_word("adjuster", "kind"), Field("arm", "size"), _word("adjuster", "release")),
    "drum": (Field("nominal", "size"), Field("discard", "size"), _word("drum", "fit")),
    "rotor": (Field("nominal", "size"), Field("discard", "size")),
    "hardware": (Field("kit", "text"),),
    "wheel": (_word("wheel", "mounting"), Field("studs", "count")),
}
"""What may be said of the part in each slot, in the order it is asked."""

_NOT_AT = {
    "air_disc": {"drum"},
    "hydraulic_disc": {"drum", "chamber", "adjuster"},
    "hydraulic_drum": {"rotor", "chamber", "adjuster"},
    "electric": {"rotor", "chamber", "adjuster"},
    "none": {"lining", "chamber", "adjuster", "drum", "rotor", "hardware"},
}
_NOT_AT_A_DRUM = {"rotor"}


def slots_of(brake: str) -> tuple[str, ...]:
    """Return the slots a wheel end has under a kind of brake, in the order they are shown."""
    left_out = _NOT_AT.get(brake, _NOT_AT_A_DRUM)
    return tuple(slot for slot in FIELDS if slot not in left_out)


def said_of(slot: str, field: Field, value: Any, language: str) -> str:
    """Return a field's value in a person's language; a size stays as it was read."""
    if field.kind == "word":
        return say(f"units.word.{slot}.{field.name}.{value}", language)
    if field.kind == "yes_no":
        return say("units.yes" if value else "units.no", language)
    return str(value)


def lines_of(slot: str, spec: Mapping[str, Any], language: str) -> list[tuple[str, str]]:
    """Return all that is known of a part, as name and value."""
    return [
        (say(f"units.spec.{slot}.{field.name}", language), said_of(slot, field, spec[field.name], language))
        for field in FIELDS[slot]
        if spec.get(field.name) not in (None, "")
    ]


def summary_of(slot: str, spec: Mapping[str, Any], language: str) -> str:
    """Return a part in one line: words as they are, anything else with its name."""
    said = []
    for field in FIELDS[slot]:
        value = spec.get(field.name)
        if value in (None, ""):
            continue
        text = said_of(slot, field, value, language)
        name = say(f"units.spec.{slot}.{field.name}", language).lower()
        said.append(text if field.kind == "word" else say("units.named", language, name=name, value=text))
    return ", ".join(said)
