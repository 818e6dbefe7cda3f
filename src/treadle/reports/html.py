"""The walk-around report as HTML: a fragment for a page of ours, and a page of its own that needs no other file."""

from __future__ import annotations

import base64
import hashlib
import re
from functools import cache
from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template

from treadle.assess.verdict import Assessment
from treadle.fleet.records import WalkAround
from treadle.reports.content import report_of
from treadle.reports.marks import symbol
from treadle.rules.model import OUTCOMES
from treadle.words import say

_FONT_FILE = re.compile(r'url\("(fonts/[A-Za-z-]+\.ttf)"\)')


def html_fragment(
    assessment: Assessment,
    walk_around: WalkAround,
    language: str = "en",
    *,
    level: int = 2,
    name: str = "report",
) -> str:
    """Return the report as an article to be put into a page that loads ``report.css``.

    It holds classes only, no inline style and no script, so that it may stand under a strict content policy.

    Parameters
    ----------
    assessment : Assessment
        What was judged.
    walk_around : WalkAround
        What it was judged from.
    language : str
        "en" or "es".
    level : int
        Level of its first heading, 1 to 4; those inside follow below it.
    name : str
        Beginning of every id in it, letters and hyphens; two reports in one page need two names.
    """
    report = report_of(assessment, walk_around, language, name=f"{name}-plan")
    symbols = "".join(symbol(outcome, prefix=f"{name}-mark") for outcome in OUTCOMES)
    heads = {part: f"h{level + deeper}" for deeper, part in enumerate(("title", "part", "unit"))}
    return _template("walkaround.html.jinja").render(report=report, name=name, symbols=symbols, heads=heads)


def html_page(assessment: Assessment, walk_around: WalkAround, language: str = "en") -> str:
    """Return the report as a whole page: style and typeface inside it, nothing fetched from anywhere."""
    style = _style()
    return _template("page.html.jinja").render(
        fragment=html_fragment(assessment, walk_around, language, level=1),
        language=language,
        units=", ".join(" + ".join(one.units) for one in assessment.combinations),
        style=style,
        style_hash=base64.b64encode(hashlib.sha256(style.encode()).digest()).decode(),
        title=say("report.title", language),
    )


@cache
def _template(name: str) -> Template:
    environment = Environment(
        loader=FunctionLoader(_text),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(name)


def _text(name: str) -> str:
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


@cache
def _style() -> str:
    """Return the style sheet with its typeface inside it."""
    return _FONT_FILE.sub(lambda found: f"url({_data_url(found[1])})", _text("report.css"))


def _data_url(name: str) -> str:
    content = files(__package__).joinpath(name).read_bytes()
    return f"data:font/ttf;base64,{base64.b64encode(content).decode()}"
