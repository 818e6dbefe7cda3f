"""Which characters the shipped face can print; what it lacks is shown by a stand-in, so that no text stops a paper."""

from __future__ import annotations

import struct
import unicodedata
from functools import cache
from importlib.resources import files
from typing import Final

FACES: Final = ("AtkinsonHyperlegibleNext-Regular.ttf", "AtkinsonHyperlegibleNext-Bold.ttf")
STAND_IN: Final = "[?]"
_BMP_SEGMENTS: Final = 4
"""The format of the table that maps characters to glyphs in runs of codes."""


def printable(text: str) -> str:
    """Return a text as the face can print it: other forms of a character where it has them, else the stand-in.

    >>> printable("⅛ in, Łódź"), printable("漢")
    ('1⁄8 in, Łódź', '[?]')
    """
    has = characters()
    if has.issuperset(text):
        return text
    return "".join(letter if letter in has else _instead(letter, has) for letter in text)


def _instead(letter: str, has: frozenset[str]) -> str:
    if letter.isspace():
        return " "
    plain = unicodedata.normalize("NFKC", letter)
    return plain if has.issuperset(plain) else STAND_IN


@cache
def characters() -> frozenset[str]:
    """Return every character that all the shipped weights have, and those of breaks, which need no glyph."""
    weights = [_mapped(files(__package__).joinpath("fonts", face).read_bytes()) for face in FACES]
    return frozenset.intersection(*weights) | {"\n", "\u200b"}


def _mapped(face: bytes) -> frozenset[str]:
    """Return the characters of a TrueType file, from the table that maps them to glyphs."""
    tables = {
        face[at : at + 4]: struct.unpack(">I", face[at + 8 : at + 12])[0]
        for at in range(12, 12 + 16 * struct.unpack(">H", face[4:6])[0], 16)
    }
    start = tables[b"cmap"]
    count = struct.unpack(">H", face[start + 2 : start + 4])[0]
    mapped: set[str] = set()
    for at in range(start + 4, start + 4 + 8 * count, 8):
        table = start + struct.unpack(">I", face[at + 4 : at + 8])[0]
        if struct.unpack(">H", face[table : table + 2])[0] == _BMP_SEGMENTS:
            mapped |= _segments(face, table)
    return frozenset(mapped)


def _segments(face: bytes, table: int) -> set[str]:
    """Return the characters of one table of segments: of each its first and last code; the last segment is empty."""
    count = struct.unpack(">H", face[table + 6 : table + 8])[0] // 2
    lasts = struct.unpack(f">{count}H", face[table + 14 : table + 14 + 2 * count])
    at = table + 16 + 2 * count
    firsts = struct.unpack(f">{count}H", face[at : at + 2 * count])
    runs = [(first, last) for first, last in zip(firsts, lasts, strict=True) if first != 0xFFFF]
    return {chr(code) for first, last in runs for code in range(first, last + 1)}
