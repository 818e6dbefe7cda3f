"""The chain that shows whether a sealed record was changed: each link hashes its record and the link before."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from treadle.web.base.models import Seal

NOTHING_BEFORE = "0" * 64


def canonical(record: dict[str, Any]) -> str:
    """Return a record as the one text that is hashed: JSON, keys sorted, no spaces, every letter as itself.

    Numbers are whole; whatever has a fraction is text as it was read, so that both databases give the same bytes.

    Raises
    ------
    TypeError
        A value is a float, or anything JSON does not know.

    >>> canonical({"b": "1 3/4 in", "a": [1, None, True]})
    '{"a":[1,null,true],"b":"1 3/4 in"}'
    """
    _refuse_floats(record)
    return json.dumps(record, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def digest_of(*, number: int, previous: str, text: str) -> str:
    """Return the SHA-256 of a link, in hexadecimal: of number, previous digest and text, a line feed between."""
    return hashlib.sha256(f"{number}\n{previous}\n{text}".encode()).hexdigest()


@transaction.atomic
def seal(about: str, record_id: uuid.UUID, record: dict[str, Any], *, at: datetime) -> Seal:
    """Append a record to the chain of the shop in scope.

    Parameters
    ----------
    about : str
        What kind of record it is.
    record_id : UUID
        Its row.
    record : dict
        All it says, as JSON without floats.
    at : datetime
        When it is sealed, with its zone.
    """
    last = Seal.objects.select_for_update().order_by("-number").first()
    number, previous = (1, NOTHING_BEFORE) if last is None else (last.number + 1, last.digest)
    text = canonical({"about": about, "id": str(record_id), "sealed_at": at.isoformat(), "record": record})
    link = Seal(
        number=number,
        about=about,
        record=record_id,
        text=text,
        previous=previous,
        digest=digest_of(number=number, previous=previous, text=text),
        sealed_at=at,
    )
    link.save(force_insert=True)
    return link


@dataclass(frozen=True, slots=True)
class Broken:
    """A link that does not hold, and why: ``number``, ``previous`` or ``digest``."""

    number: int
    why: str


def broken_links(links: Iterable[Seal]) -> list[Broken]:
    """Return the links of one chain, in order, that do not hold; none when nothing was changed."""
    found, previous, expected = [], NOTHING_BEFORE, 1
    for link in links:
        if link.number != expected:
            found.append(Broken(link.number, "number"))
        if link.previous != previous:
            found.append(Broken(link.number, "previous"))
        if link.digest != digest_of(number=link.number, previous=link.previous, text=link.text):
            found.append(Broken(link.number, "digest"))
        previous, expected = link.digest, link.number + 1
    return found


def _refuse_floats(value: Any) -> None:
    if isinstance(value, float):
        raise TypeError(f"{value!r} is a float: seal the text as it was read")
    if isinstance(value, dict):
        for part in value.values():
            _refuse_floats(part)
    elif isinstance(value, list | tuple):
        for part in value:
            _refuse_floats(part)
