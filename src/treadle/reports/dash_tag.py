"""The tag on the dash: may this unit move, may it be dispatched, who said so and why; read from three metres."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from treadle.reports import typesetting
from treadle.reports.parts import Reason, Shop, by_whom, code_of, fact, one_of, reason_lines, shop_lines
from treadle.reports.typesetting import Sheet, words_of
from treadle.reports.wording import breakable, listed, moment_of
from treadle.words import say

SIZES = ("full", "half")
"""One tag on the sheet, or two alike with a line to cut along: one for the dash, one for the key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class YardMove:
    """The lead's recorded order to move a held unit in the yard: from where to where, until when, how."""

    ordered_by: str
    ordered_at: datetime
    until: datetime
    start: str
    end: str
    speed: str = ""
    driver: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A unit that is not to be dispatched, or not to be moved at all.

    `outcome` is "hold", "fix" or "unseen"; None where nothing is wrong with it but nobody has released it.

    Raises
    ------
    BadInput
        The outcome is one that keeps nothing in.
    """

    outcome: str | None
    since: datetime
    ordered_by: str
    why: tuple[Reason, ...]
    move: YardMove | None = None

    def __post_init__(self) -> None:
        """Refuse an outcome that keeps nothing in."""
        if self.outcome is not None:
            one_of(self.outcome, ("hold", "fix", "unseen"), "held.outcome")

    @property
    def kind(self) -> str:
        """Which tag it is."""
        return self.outcome or "waiting"


@dataclass(frozen=True, slots=True, kw_only=True)
class Released:
    """A unit released for dispatch; `notes` are what to look at again, `combination` the units it goes with.

    Raises
    ------
    BadInput
        The outcome is one that is never released.
    """

    outcome: str
    by: str
    at: datetime
    notes: tuple[Reason, ...] = ()
    combination: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse an outcome that is never released."""
        one_of(self.outcome, ("good", "watch", "unseen"), "released.outcome")

    @property
    def kind(self) -> str:
        """Which tag it is."""
        return "released"


@dataclass(frozen=True, slots=True, kw_only=True)
class DashTag:
    """What the tag of one unit says; `url` is the address of its record, `made_at` when the tag was printed."""

    shop: Shop
    unit: str
    described: str
    state: Held | Released
    made_at: datetime
    url: str


def pdf(tag: DashTag, language: str = "en", paper: str = "a4", *, size: str = "full") -> bytes:
    """Return the tag as a PDF of one page, on the whole sheet ("full") or twice on it ("half").

    Raises
    ------
    BadInput
        There is no such paper, or no such size.
    """
    return typesetting.pdf(sheet(tag, language, size=size), paper)


def sheet(tag: DashTag, language: str, *, size: str = "full") -> Sheet:
    """Put together what the tag says."""
    one_of(size, SIZES, "size")
    state = tag.state
    word = say(f"paper.dash_tag.word.{state.kind}", language)
    data = {
        "words": words_of("paper.dash_tag", language=language),
        "size": size,
        "kind": state.kind,
        "outcome": state.outcome,
        "word": word,
        "order": say(f"paper.dash_tag.order.{_order(state)}", language),
        "means": say(f"paper.dash_tag.means.{_means(state)}", language),
        "unit": breakable(tag.unit),
        "described": breakable(tag.described),
        "facts": _facts(state, language),
        "why": {
            "heading": say(f"paper.dash_tag.why.{_why(state)}", language),
            "reasons": [reason_lines(reason, language) for reason in _reasons(state)],
            "more": say("paper.dash_tag.more", language, count="{count}"),
        },
        "move": _move(state, language),
        "made": say("paper.dash_tag.made", language, moment=moment_of(tag.made_at, language)),
        "shop": shop_lines(tag.shop),
        "code": code_of(tag.url, language),
    }
    return Sheet(
        template="dash_tag.typ",
        language=language,
        title=say("paper.dash_tag.title", language, unit=tag.unit, word=word),
        author=tag.shop.name,
        at=tag.made_at,
        subject=tag.unit,
        footing="",
        data=data,
    )


def _order(state: Held | Released) -> str:
    """Return which order stands under the word: a held unit may be moved only by an order on the same tag."""
    by_order = isinstance(state, Held) and state.outcome == "hold" and state.move is not None
    return "hold_but" if by_order else state.kind


def _means(state: Held | Released) -> str:
    """Return what the tag means; what is released unseen is never said to have been judged."""
    return "released_unseen" if isinstance(state, Released) and state.outcome == "unseen" else state.kind


def _why(state: Held | Released) -> str:
    return "notes" if isinstance(state, Released) else "reasons"


def _reasons(state: Held | Released) -> tuple[Reason, ...]:
    return state.notes if isinstance(state, Released) else state.why


def _facts(state: Held | Released, language: str) -> list[dict[str, Any]]:
    if isinstance(state, Held):
        return [
            fact("paper.dash_tag.fact.since", language, moment_of(state.since, language)),
            fact("paper.dash_tag.fact.ordered_by", language, state.ordered_by),
        ]
    facts = [
        fact("paper.dash_tag.fact.released_by", language, state.by),
        fact("paper.dash_tag.fact.released_at", language, moment_of(state.at, language)),
    ]
    if state.combination:
        facts.append(fact("paper.dash_tag.fact.combination", language, listed(state.combination, language)))
    return facts


def _move(state: Held | Released, language: str) -> dict[str, Any] | None:
    """Return the order to move it in the yard; that there is none, where it may not be moved; else nothing."""
    if isinstance(state, Released) or (state.move is None and state.outcome != "hold"):
        return None
    if state.move is None:
        return {"says": say("paper.dash_tag.move.none", language), "facts": []}
    move = state.move
    way = say("paper.dash_tag.move.way", language, start=move.start, end=move.end)
    facts = [
        fact("paper.dash_tag.move.from_to", language, way),
        fact("paper.dash_tag.move.until", language, moment_of(move.until, language)),
        fact("paper.dash_tag.move.how", language, move.speed),
        fact("paper.dash_tag.move.driver", language, move.driver),
        fact("paper.dash_tag.move.ordered_by", language, by_whom(move.ordered_by, move.ordered_at, language)),
    ]
    return {"says": say("paper.dash_tag.move.only", language), "facts": [one for one in facts if one["values"]]}
