"""Every sentence of the server is said by somebody, in both languages with the same places to fill."""

from __future__ import annotations

import string

from contracts.tree import SOURCE, modules_below

from treadle.words import catalogue


def sentences(language):
    return {code: text for code, text in catalogue(language).items() if code.startswith("serve.")}


def places(text):
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def test_both_languages_say_the_same_things_of_the_same_arguments():
    english, spanish = sentences("en"), sentences("es")
    assert {code: places(text) for code, text in english.items()} == {
        code: places(text) for code, text in spanish.items()
    }


def test_no_sentence_of_the_server_is_written_for_nobody():
    code = "".join(path.read_text(encoding="utf-8") for path in modules_below(SOURCE))
    assert [one for one in sentences("en") if f'"{one}"' not in code] == []
