"""Days, places, lists, quantities and limits written as people say them, in either language; nothing is judged here."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from treadle.assess.verdict import Finding, Verdict
from treadle.fleet.records import BuildDate
from treadle.measure import UNITS, Quantity
from treadle.rules.load import shipped
from treadle.words import say, term

_NO_BREAK, _MAY_BREAK = "\u00a0", "\u200b"
_LONG_WORD = re.compile(r"[^\s\u00a0\u200b-]{24}(?=[^\s\u00a0\u200b-])")
_INCHES = re.compile(r"(?<![\w/.,-])(-?)(?:(\d+) )?(\d+)/(\d+) in\b")
_UNIT_AFTER_NUMBER = re.compile(rf"(?<=\d) (?=(?:{'|'.join(map(re.escape, UNITS))})\b|%)")
_THOUSANDS = re.compile(r"(?<=\d)(?=(?:\d{3})+(?!\d))")


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of a line: plain text, or (with `under`) a quantity in fractions of an inch.

    A quantity is `whole` and the fraction `over` by `under`, with its unit in `text`; no printed face has every
    fraction as one character, so page and paper build each from small figures.
    """

    text: str
    whole: str = ""
    over: str = ""
    under: str = ""


Line = tuple[Run, ...]


def runs(text: str) -> Line:
    """Split a text so that its fractions of an inch can be set as fractions; a number stays beside its unit.

    >>> runs("only 1 1/8 in away")
    (Run(text='only ', whole='', over='', under=''), Run(text='in', whole='1', over='1', under='8'), \
Run(text=' away', whole='', over='', under=''))
    """
    out, done = [], 0
    for found in _INCHES.finditer(text):
        out.append(Run(_kept_together(text[done : found.start()])))
        sign, whole, over, under = found.groups(default="")
        out.append(Run("in", sign + whole, over, under))
        done = found.end()
    out.append(Run(_kept_together(text[done:])))
    return tuple(run for run in out if run.text)


def _kept_together(text: str) -> str:
    return breakable(_UNIT_AFTER_NUMBER.sub(_NO_BREAK, text))


def breakable(text: str) -> str:
    """Return a text whose overlong words may be broken, so that no entry of anyone's runs out of its column.

    >>> len(breakable("a" * 30)), breakable("a word-and-another-word-of-its-own")
    (31, 'a word-and-another-word-of-its-own')
    """
    return _LONG_WORD.sub(rf"\g<0>{_MAY_BREAK}", text)


def day_of(day: date, language: str) -> str:
    """Return a day: "2 October 2026"."""
    month = say(f"report.month.{day.month}", language)
    return say("report.when.day", language, day=day.day, month=month, year=day.year)


def moment_of(at: datetime, language: str) -> str:
    """Return a moment by the clock of the place: "2 October 2026, 07:40"."""
    return say("report.when.moment", language, day=day_of(at.date(), language), time=f"{at:%H:%M}")


def span_of(times: Iterable[datetime], language: str) -> str:
    """Return when a walk took place, by the clock it began under: "2 October 2026, 07:40 to 08:52 (UTC-06:00)"."""
    ordered = sorted(times)
    start, end = ordered[0], ordered[-1].astimezone(ordered[0].tzinfo)
    clock = {"start": f"{start:%H:%M}", "end": f"{end:%H:%M}"}
    if clock["start"] == clock["end"] and start.date() == end.date():
        moment = moment_of(start, language)
    elif start.date() == end.date():
        moment = say("report.when.same_day", language, day=day_of(start.date(), language), **clock)
    else:
        both = {"start": moment_of(start, language), "end": moment_of(end, language)}
        moment = say("report.when.span", language, **both)
    return say("report.when.zone", language, moment=moment, offset=start.isoformat()[-6:])


def built_of(built: BuildDate, language: str) -> str:
    """Return a build date no finer than it is known: "March 2019"."""
    if built.earliest == built.latest:
        return day_of(built.earliest, language)
    if (built.earliest.year, built.earliest.month) == (built.latest.year, built.latest.month):
        month = say(f"report.month.{built.earliest.month}", language)
        return say("report.when.month", language, month=month, year=built.earliest.year)
    return built.text


def listed(parts: Sequence[str], language: str) -> str:
    """Return a list as a sentence has it: "left, right and rear".

    >>> listed(["K-12", "T-7"], "es")
    'K-12 y T-7'
    """
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {term('and', language)} {parts[-1]}"


def place_of(unit: str | None, axle: int | None, side: str | None, language: str) -> str:
    """Return where something is: "K-12 axle 2 left".

    >>> place_of("K-12", 2, "left", "en"), place_of(None, None, None, "en")
    ('K-12 axle 2 left', 'combination')
    """
    if unit is None:
        return term("combination", language)
    parts = [unit]
    if axle is not None:
        parts.append(f"{term('axle', language)} {axle}")
    if side is not None:
        parts.append(term(side, language))
    return " ".join(parts)


def distance_of(reading: Quantity, language: str) -> str:
    """Return a meter's reading with its thousands apart: "412,350 mi"."""
    whole, point, rest = reading.shown.partition(".")
    apart = _THOUSANDS.sub(say("report.when.thousands", language), whole)
    return apart + point + rest


def range_of(quantities: Sequence[Quantity], language: str) -> str:
    """Return the least and greatest of some quantities: "91 psi to 98 psi"; one alone where they are alike."""
    least = min(quantities, key=lambda one: one.in_unit(quantities[0].unit))
    most = max(quantities, key=lambda one: one.in_unit(quantities[0].unit))
    if least.in_unit(quantities[0].unit) == most.in_unit(quantities[0].unit):
        return str(least)
    return say("report.state.from_to", language, low=least, high=most)


def capital(text: str) -> str:
    """Return a text that begins with a capital."""
    return text[:1].upper() + text[1:]


def subject_of(finding: Finding, language: str) -> str:
    """Return what a finding is about: "lining, upper shoe"."""
    args = finding.verdict.args
    if finding.verdict.code.startswith("count_"):
        return say("report.subject.count", language)
    if finding.verdict.code == "nothing_judged":
        return say("report.subject.unit", language)
    if label := args.get(f"label_{language}"):
        return str(label)
    kind, state = args.get("kind", "condition"), args.get("state")
    words = [f"{kind}_{state}" if state else kind, args.get("part"), *args.get("parts", ())]
    return ", ".join(term(str(word), language) for word in words if word)


def measured_of(finding: Finding, language: str, *, as_read: str = "") -> str:
    """Return what was read: the quantity as read off the tool, or the word for what was seen instead.

    `as_read` stands where nothing was held against a limit and so the finding holds no quantity.
    """
    verdict, args = finding.verdict, finding.verdict.args
    if verdict.measured is not None:
        return str(verdict.measured)
    if verdict.code.startswith("count_"):
        return say("report.measured.count", language, **args)
    if "word" in args:
        return term(str(args["word"]), language)
    if "condition" in args:
        return say("report.measured.seen", language)
    if "left" in args and "right" in args:
        return say("report.measured.differ", language)
    if verdict.code in ("none_seen", "missing", "not_seen"):
        return say(f"report.measured.{verdict.code}", language)
    return as_read or say("report.measured.none", language)


def limit_of(verdict: Verdict, language: str) -> str:
    """Return the limit and which side of it passes: "2 in, not more"; empty where no figure decided."""
    if verdict.limit is None:
        return ""
    side = _PASSES.get(_comparator(verdict) or "")
    return str(verdict.limit) if side is None else say(f"report.limit.{side}", language, limit=verdict.limit)


_PASSES = {
    "breach_if_more_than": "most",
    "breach_if_more_than_or_equal": "under",
    "breach_if_less_than": "least",
    "breach_if_less_than_or_equal": "over",
}


def _comparator(verdict: Verdict) -> str | None:
    """Return how the rule compares; of the shop's own rules, which are not shipped, the breach tells."""
    rule = shipped().rules.get(verdict.rule or "")
    if rule is not None:
        return rule.comparator
    code = verdict.code.removeprefix("annual_").removeprefix("alone_")
    at_figure = "_or_equal" if code.endswith("_at_figure") else ""
    side = {"over": "more", "under": "less"}.get(code.removesuffix("_at_figure"))
    return f"breach_if_{side}_than{at_figure}" if side else None


def rule_of(verdict: Verdict, language: str) -> str:
    """Return the citation and how its figure is known: "49 CFR 393.47(e); read in a secondary copy"."""
    if verdict.citation is None:
        return ""
    if verdict.basis is None:
        return verdict.citation
    return say("report.rule", language, citation=verdict.citation, basis=verdict.basis)


def law_of(verdict: Verdict, language: str) -> str:
    """Return what kind of rule a cited one is, where, and how its figure is known; empty where no rule spoke."""
    if verdict.layer is None:
        return ""
    law = say(f"report.layer.{verdict.layer}", language)
    if verdict.jurisdiction is not None and verdict.layer != "policy":
        law = say("report.law", language, law=law, place=verdict.jurisdiction)
    return law if verdict.basis is None else say("report.rule", language, citation=law, basis=verdict.basis)
