"""Every word a part may have on file has its word on the screen: one without would stop the page of its unit."""

from __future__ import annotations

import pytest

from treadle.web.units.specs import FIELDS, said_of
from treadle.words import LANGUAGES

OFFERED = [(slot, field, word) for slot, fields in FIELDS.items() for field in fields for word in field.words]
FROM_FILES = [
    (slot, field, "unknown")  # a file may say so; a screen leaves the field empty
    for slot, name in (("chamber", "stroke_class"), ("adjuster", "kind"))
    for field in FIELDS[slot]
    if field.name == name
]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_of_every_part_can_be_said(language):
    assert (len(OFFERED) > 20, len(FROM_FILES)) == (True, 2)
    assert all(said_of(slot, field, word, language) for slot, field, word in (*OFFERED, *FROM_FILES))
