"""Reads templates as they are written: which sentences they say, and what in them a strict page may not hold; a helper.

Tested in `test_templates.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

from contracts.tree import SOURCE, files_of_the_tree, shown

_TAG = re.compile(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", re.DOTALL)
_COMMENT = re.compile(r"\{%\s*comment\b.*?\{%\s*endcomment\s*%\}", re.DOTALL)
_BLOCK = re.compile(r"\{%\s*say\s+(.*?)\s*%\}", re.DOTALL)
_CODE = re.compile(r"""^(['"])(?P<code>[\w.]+)\1(?P<more>\|add:[\w.]+)?(?=\s|$)""")
_GIVEN = re.compile(r"(?<=\s)(\w+)=")
_CLASSES = re.compile(r"\{%\s*block \w+_class\s*%\}[\w\s-]*\{%\s*endblock\s*%\}")
_QUOTED = re.compile(r"""(?<==)(?:"[^"]*"|'[^']*')""")

NAMES = frozenset({"Treadle"})
"""What is a name and so the same in every language."""
READ_ALOUD = frozenset({"alt", "aria-label", "aria-description", "placeholder", "title"})
"""Attributes that people see or hear."""
LEADS_SOMEWHERE = frozenset({"action", "data", "formaction", "href", "poster", "src", "srcset"})
_NOT_OURS = re.compile(r"(?i)^\s*(?:https?:)?//|^\s*(?:javascript|vbscript):")


@dataclass(frozen=True)
class SaidIn:
    """A sentence that a template says: its code (with a star where it goes on), the arguments it gives, and where."""

    code: str
    arguments: frozenset[str]
    place: str


def templates_below(folder: Path = SOURCE / "web") -> list[Path]:
    """Every template of the screens."""
    return [path for path in files_of_the_tree(folder) if "templates" in path.parts and path.suffix == ".html"]


def _without_comments(path: Path) -> str:
    """The text of a template, its comments emptied and its lines kept."""
    text = path.read_text(encoding="utf-8")
    for comment in (_COMMENT, re.compile(r"\{#.*?#\}")):
        text = comment.sub(lambda found: "\n" * found[0].count("\n"), text)
    return text


def sentences_said_in(paths: list[Path]) -> list[SaidIn]:
    """Every sentence these templates say; a code that cannot be told is the whole of what stands in its place."""
    found = []
    for path in paths:
        text = _without_comments(path)
        for block in _BLOCK.finditer(text):
            place = f"{shown(path)}:{text.count(chr(10), 0, block.start()) + 1}"
            said = block[1]
            code = _CODE.match(said)
            name = f"{code['code']}{'*' if code['more'] else ''}" if code else said.split()[0]
            given = _GIVEN.findall(_QUOTED.sub("", said))
            found.append(SaidIn(name, frozenset(given), place))
    return found


def is_code(name: str) -> bool:
    """Whether the code of a sentence could be told."""
    return re.fullmatch(r"[a-z_]+\.[\w.]*\*?", name) is not None


def unfit_in(path: Path) -> list[str]:
    """What stands in a template that no screen may hold, each with its line and what to do."""
    reader = _Reader(shown(path))
    text = _without_comments(path)
    for part in (_CLASSES, _TAG):
        text = part.sub(lambda found: "\n" * found[0].count("\n"), text)
    reader.feed(text)
    reader.close()
    return reader.found


class _Reader(HTMLParser):
    """Reads what is left of a template without its tags."""

    def __init__(self, name: str) -> None:
        super().__init__(convert_charrefs=True)
        self.name, self.found = name, list[str]()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "style":
            self._note("a <style>. Give it a class in treadle.css.")
        if tag == "script" and "src" not in given:
            self._note("a <script> without src. Put it into a file.")
        for name, value in attrs:
            for fault in _faults_of(name, value or ""):
                self._note(fault)

    def handle_data(self, data: str) -> None:
        words = " ".join(data.split())
        if _has_words(words):
            self._note(f"the words '{words}'. Write them in words/ and say their code.")

    def _note(self, fault: str) -> None:
        self.found.append(f"{self.name}:{self.getpos()[0]} has {fault}")


def _faults_of(name: str, value: str) -> Iterator[str]:
    if name == "style":
        yield "style=. Give it a class in treadle.css."
    if name.startswith("on"):
        yield f"{name}=. Listen in a script file."
    if name.startswith("hx-on") or (name.startswith("hx-") and value.strip().startswith(("js:", "javascript:"))):
        yield f"{name}=, which runs text as a script. Listen in a script file."
    if name in LEADS_SOMEWHERE and _NOT_OURS.match(value):
        yield f"{name}='{value}'. Everything comes from this server."
    if name in READ_ALOUD and _has_words(value):
        yield f"the words '{value}' in {name}=. Write them in words/ and say their code."


def _has_words(text: str) -> bool:
    return any(word not in NAMES for word in re.findall(r"[^\W\d_]+", text))
