"""A unit seen from above, front at the top so that left is left, drawn from its record with every wheel end's outcome.

One drawing serves screen and paper: attributes and classes only, so that it may stand inside a page that forbids inline
styles, with the hues of paper as attributes that a style sheet may override.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from html import escape

from treadle.assess.verdict import SEVERITY, Assessment, Finding, worst
from treadle.fleet.records import SIDES, Axle, Unit
from treadle.measure import Quantity
from treadle.reports.marks import HUES_ON_PAPER, placed
from treadle.reports.wording import Run, listed, place_of, runs
from treadle.words import say, term

WIDTH = 468
PADS = ("inner", "outer")
"""The parts of a disc brake's lining."""
_CENTRE = WIDTH / 2
_INK, _SOFT, _STEEL, _CARD = "#1b1f23", "#545d64", "#7b8480", "#ffffff"
_HERE = "#ffd94a"
_FACE = 'font-family="Atkinson Hyperlegible Next, sans-serif"'
_AXLE_STEP, _GROUP_STEP = 78, 138
_BELOW_LAST = 54
_NO_BREAK, _SLASH = "\u00a0", "\u2044"
_WHEEL_HEIGHT = 62
_HIT_WIDTH = 176
_BARE_EDGE = 96


@dataclass(frozen=True, slots=True)
class Drawing:
    """A plan view: the SVG, and what it shows in words for those who cannot see it."""

    svg: str
    title: str
    description: str


_LETTERS_BESIDE = 15


@dataclass(frozen=True, slots=True)
class Shown:
    """What stands beside one wheel end: its outcome, what was measured there, and the value as read or as a word."""

    outcome: str | None
    what: str = ""
    value: str = ""
    cause: str | None = None
    """What the outcome rests on, where that is not the value shown."""


Ends = Mapping[tuple[int, str], Shown]
"""What stands beside each wheel end, by axle and side."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How a unit is drawn beyond what its record says; left out, as on paper."""

    links: Mapping[tuple[int, str], str] = field(default_factory=dict)
    """Where a tap on a wheel end leads, by axle and side."""
    here: tuple[int, str] | None = None
    """The wheel end where one is."""
    worked: Collection[tuple[int, str]] = ()
    """The wheel ends that are worked on."""
    single: Collection[int] | None = None
    """The axles with one wheel at each end; None for those that steer."""
    spread: bool = False
    """Whether the axles behind stand far apart."""
    bare: bool = False
    """Whether only the vehicle is drawn and nothing said of its wheel ends."""


AS_ON_PAPER = Manner()


def plan_view(
    unit: Unit,
    assessment: Assessment,
    language: str = "en",
    *,
    name: str = "plan",
    manner: Manner = AS_ON_PAPER,
) -> Drawing:
    """Draw a unit from above.

    Parameters
    ----------
    unit : Unit
        The record: kind, axles and their roles.
    assessment : Assessment
        Outcomes of its wheel ends, and the strokes that decided.
    language : str
        Language of the words in the drawing and of its description.
    name : str
        Beginning of the ids inside, letters and hyphens; two drawings in one page need two names.
    manner : Manner
        As `draw` takes it.
    """
    judged = next(one for one in assessment.units if one.number == unit.number)
    return draw(
        unit,
        ends_shown(unit, assessment),
        outcome=judged.outcome,
        joints=joints_shown(unit, assessment),
        language=language,
        name=name,
        manner=manner,
    )


def draw(
    unit: Unit,
    ends: Ends,
    *,
    outcome: str | None,
    joints: Mapping[int, str],
    language: str,
    name: str = "plan",
    manner: Manner = AS_ON_PAPER,
) -> Drawing:
    """Draw a unit from above with what is known of its wheel ends.

    Parameters
    ----------
    unit : Unit
        The record: kind, axles and their roles.
    ends : mapping
        What stands beside each wheel end, by axle and side; one left out was not asked for.
    outcome : str or None
        The unit's own.
    joints : mapping
        Axle to the outcome of what its two ends are together.
    language : str
        Language of the words in the drawing and of its description.
    name : str
        As `plan_view` takes it.
    manner : Manner
        Links, where one is, and what else a screen asks for.
    """
    ends = {(axle.number, side): Shown(None) for axle in unit.axles for side in SIDES} | dict(ends)
    heights = _heights(unit, spread=manner.spread)
    bottom = heights[-1] + _BELOW_LAST
    title = say("report.plan.title", language, unit=unit.number)
    description = "" if manner.bare else _description(unit, outcome, ends, joints, language)
    if manner.worked:
        places = [place_of(unit.number, axle, side, language) for axle, side in sorted(manner.worked)]
        description += f" {say('paper.plan_worked', language, places=listed(places, language))}"
    edge = _BARE_EDGE if manner.bare else 0
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plan" role="{"group" if manner.links else "img"}" '
        f'width="{WIDTH - 2 * edge}" height="{bottom}" viewBox="{edge} 0 {WIDTH - 2 * edge} {bottom}" '
        f'aria-labelledby="{name}-title{"" if manner.bare else f" {name}-desc"}">',
        f'<title id="{name}-title">{escape(title)}</title>',
        "" if manner.bare else f'<desc id="{name}-desc">{escape(description)}</desc>',
        "" if manner.bare else _text(_CENTRE, 15, say("report.front", language), size=15, hue="soft"),
        _BODIES[unit.kind](unit, heights, bottom),
    ]
    for axle, y in zip(unit.axles, heights, strict=True):
        parts += [_pointed_out(side, y) for side in SIDES if (axle.number, side) in manner.worked]
        parts.append(_axle(axle, y, ends, joint=joints.get(axle.number), manner=manner, language=language))
    return Drawing("".join([*parts, "</svg>"]), title, description)


# -- what is shown -------------------------------------------------------------------------------------------------


def ends_shown(unit: Unit, assessment: Assessment) -> dict[tuple[int, str], Shown]:
    """Return what stands beside each wheel end: its outcome, and the stroke that decided or the thinnest pad."""
    judged = next(one for one in assessment.units if one.number == unit.number)
    outcomes = {(axle.axle, side): outcome for axle in judged.axles for side, outcome in axle.ends}
    shown = {}
    for axle in unit.axles:
        for side in SIDES:
            here = [
                finding
                for finding in assessment.findings
                if (finding.unit, finding.axle, finding.side) == (unit.number, axle.number, side)
            ]
            what, value = _deciding(here, stroke_seen=axle.end(side).rod_can_be_seen)
            cause = _cause(here, what)
            shown[axle.number, side] = Shown(outcomes[axle.number, side], what, value, cause)
    return shown


def joints_shown(unit: Unit, assessment: Assessment) -> dict[int, str]:
    """Return the outcome of what an axle's two ends are together, for the axles about which something was found."""
    joints = {axle.number: _joint_outcome(unit, axle, assessment) for axle in unit.axles}
    return {axle: outcome for axle, outcome in joints.items() if outcome is not None}


def _cause(findings: Sequence[Finding], shown: str) -> str | None:
    """Return the kind of reading the worst finding is about, where it is not the one shown; none where all is good."""
    if not findings or findings[0].outcome == "good":
        return None
    worst_of_all = [one for one in findings if one.outcome == findings[0].outcome]
    kinds = [str(one.verdict.args["kind"]) for one in worst_of_all if "kind" in one.verdict.args]
    return None if not kinds or shown in kinds else kinds[0]


def _deciding(findings: Sequence[Finding], *, stroke_seen: bool) -> tuple[str, str]:
    """Return what was measured at an end and its value as read, or its word; findings come worst first."""
    for finding in _of_kind(findings, "applied_stroke"):
        if finding.verdict.measured is not None:
            return "applied_stroke", str(finding.verdict.measured)
        if word := finding.verdict.args.get("word"):
            return "applied_stroke", str(word)
        if finding.verdict.args.get("condition") == "no_braking_action":
            return "applied_stroke", "no_movement"
    pads = [
        finding.verdict.measured
        for finding in _of_kind(findings, "lining")
        if finding.verdict.measured is not None and finding.verdict.args.get("part") in PADS
    ]
    if pads and not stroke_seen:
        return "lining", str(min(pads, key=_in_mm))
    return "", ""


def _of_kind(findings: Iterable[Finding], kind: str) -> list[Finding]:
    return [finding for finding in findings if finding.verdict.args.get("kind") == kind]


def _in_mm(size: Quantity) -> Fraction:
    return size.in_unit("mm")


def _joint_outcome(unit: Unit, axle: Axle, assessment: Assessment) -> str | None:
    """Return the outcome of the axle's own findings, that its two ends are not alike; None where there are none."""
    return worst(
        finding.outcome
        for finding in assessment.findings
        if (finding.unit, finding.axle, finding.side) == (unit.number, axle.number, None)
    )


def _word(outcome: str | None, language: str) -> str:
    return say("report.nothing_asked" if outcome is None else f"outcome.{outcome}", language)


def _description(unit: Unit, outcome: str | None, ends: Ends, joints: Mapping[int, str], language: str) -> str:
    """Say the drawing in words: the unit, then each axle from the front, left before right."""
    said = [say("report.plan.unit", language, unit=unit.number, outcome=_word(outcome, language))]
    for axle in unit.axles:
        if axle.number in joints:
            said.append(
                say("report.plan.axle", language, axle=axle.number, outcome=_word(joints[axle.number], language))
            )
        said += [_said(axle.number, side, ends[axle.number, side], language) for side in SIDES]
    return " ".join(said)


def _said(axle: int, side: str, end: Shown, language: str) -> str:
    """Say in words what stands beside one wheel end."""
    words = {"axle": axle, "side": side, "outcome": _word(end.outcome, language)}
    if not end.value:
        return say("report.plan.end", language, **words)
    what = term(end.what, language)
    return say("report.plan.end_value", language, what=what, value=term(end.value, language), **words)


# -- the lie of it -------------------------------------------------------------------------------------------------


def _heights(unit: Unit, *, spread: bool) -> list[int]:
    """Return how far down each axle lies: a steering axle stands apart from those behind it."""
    y = {"trailer": 146, "dolly": 138}.get(unit.kind, 96)
    heights = [y]
    for ahead, axle in zip(unit.axles, unit.axles[1:], strict=False):
        together = (ahead.role == "steer") == (axle.role == "steer") and not spread
        y += _AXLE_STEP if together else _GROUP_STEP
        heights.append(y)
    return heights


def _tractor(_: Unit, heights: Sequence[int], bottom: int) -> str:
    behind = heights[1:] or heights
    plate = behind[0] + (_AXLE_STEP / 2 if len(behind) > 1 else -36)
    rails = _shape(f"M218 150V{bottom - 14}M250 150V{bottom - 14}")
    fifth_wheel = f"M{_CENTRE - 19} {plate + 13}a22 22 0 1 1 38 0l-15 0v-10a4 4 0 1 0-8 0v10z"
    return rails + _shape(fifth_wheel, fill=True) + _cab(150)


def _cab(bottom: int) -> str:
    """Return a cab from above: body, bonnet line and windscreen."""
    body = f"M200 26h68q18 0 18 18V{bottom - 8}q0 8-8 8h-88q-8 0-8-8V44q0-18 18-18z"
    return _shape(body, fill=True) + _shape("M194 62q40-18 80 0")


def _truck(_: Unit, __: Sequence[int], bottom: int) -> str:
    box = f"M178 152h112V{bottom - 6}h-112z"
    return _shape(box, fill=True) + _cab(140)


def _bus(_: Unit, __: Sequence[int], bottom: int) -> str:
    body = f"M200 26h68q22 0 22 22V{bottom - 14}q0 8-8 8h-96q-8 0-8-8V48q0-22 22-22z"
    return _shape(body, fill=True) + _shape("M186 52q48-20 96 0")


def _trailer(_: Unit, __: Sequence[int], bottom: int) -> str:
    """Return a trailer's box with its kingpin at the front."""
    box = _shape(f"M178 26h112V{bottom - 6}h-112z", fill=True)
    pin = f'<circle class="pin" cx="{_CENTRE:g}" cy="54" r="7" fill="{_STEEL}"/>'
    return box + pin + _shape("M210 54a24 24 0 0 1 48 0", dash="3 5")


def _dolly(_: Unit, heights: Sequence[int], bottom: int) -> str:
    """Return a dolly's drawbar, its eye at the front, and its turntable over the axles."""
    middle = (heights[0] + heights[-1]) / 2
    bar = _shape(f"M{_CENTRE} 44L194 {heights[0] - 34}V{bottom - 16}H274V{heights[0] - 34}Z", fill=True)
    eye = f'<circle class="body" cx="{_CENTRE:g}" cy="36" r="9" fill="none" stroke="{_STEEL}" stroke-width="4"/>'
    radius = 48 if len(heights) == 1 else 26
    table = (
        f'<circle class="body" cx="{_CENTRE:g}" cy="{middle:g}" r="{radius}" fill="none" stroke="{_STEEL}" '
        f'stroke-width="3"/>'
    )
    return bar + eye + table


_BODIES = {"tractor": _tractor, "truck": _truck, "bus": _bus, "trailer": _trailer, "dolly": _dolly}


# -- one axle ------------------------------------------------------------------------------------------------------


def _axle(axle: Axle, y: int, ends: Ends, *, joint: str | None, manner: Manner, language: str) -> str:
    """Return an axle: its beam, its wheels, its number, and what stands beside its ends."""
    raised = axle.lift_raised is True
    beam = _shape(f"M140 {y}H328", dash="7 6" if raised else "")
    lines = [say("report.plan.axle_label", language, axle=axle.number)]
    if raised:
        lines.append(say("report.plan.raised", language))
    single = axle.role == "steer" if manner.single is None else axle.number in manner.single
    wheels, words = [], []
    for side in SIDES:
        end, place = ends[axle.number, side], (axle.number, side)
        drawn = _wheels(side, y, single=single, outcome=end.outcome, here=manner.here == place)
        said = "" if manner.bare else _beside(side, y, end, language)
        if place in manner.links:
            label = _said(axle.number, side, end, language)
            wheels.append(_linked(drawn + said, manner.links[place], side=side, y=y, label=label))
        else:
            wheels.append(drawn)
            words.append(said)
    own = joint if joint is not None and SEVERITY[joint] < SEVERITY["good"] and not manner.bare else None
    below = "" if own is None else _joint(own, y + 8 * (len(lines) - 1), language)
    return "".join([beam, *wheels, "" if manner.bare else _label(lines, y), below, *words])


def _linked(drawn: str, address: str, *, side: str, y: int, label: str) -> str:
    """Return what is drawn of a wheel end as a link, wide and tall enough for a thumb."""
    half = _AXLE_STEP / 2 - 1
    left = 1 if side == "left" else WIDTH - _HIT_WIDTH - 1
    hit = (
        f'<rect class="hit" x="{left}" y="{y - half:g}" width="{_HIT_WIDTH}" height="{2 * half:g}" rx="10" fill="none" '
        f'pointer-events="all"/>'
    )
    return f'<a class="end" href="{escape(address)}" aria-label="{escape(label)}">{hit}{drawn}</a>'


def _wheels(side: str, y: int, *, single: bool, outcome: str | None, here: bool = False) -> str:
    """Return one wheel of a steering axle, else two; what nobody saw has a dotted outline, a defect a heavy one."""
    places = ((116, 36),) if single else ((110, 28), (141, 28))
    width = 4.5 if outcome in ("fix", "hold") else 2
    dots = ' stroke-dasharray="0.01 5" stroke-linecap="round"' if outcome == "unseen" else ""
    hue = HUES_ON_PAPER[outcome] if outcome in ("fix", "hold", "unseen") else _INK
    line = width if not dots else 3
    kind = f"wheel wheel-{outcome or 'none'}" + (" is-here" if here else "")
    return "".join(
        f'<rect class="{kind}" x="{left if side == "left" else WIDTH - left - wide}" '
        f'y="{y - _WHEEL_HEIGHT // 2}" width="{wide}" height="{_WHEEL_HEIGHT}" rx="7" fill="{_CARD}" '
        f'stroke="{hue}" stroke-width="{line:g}"{dots}/>'
        for left, wide in places
    )


def _pointed_out(side: str, y: int) -> str:
    """Return the field of marker yellow with an ink outline that means only "here", behind the wheels of an end."""
    wide, tall = 74, _WHEEL_HEIGHT + 18
    left = 103 if side == "left" else WIDTH - 103 - wide
    return (
        f'<rect class="here" x="{left}" y="{y - tall // 2}" width="{wide}" height="{tall}" rx="10" '
        f'fill="{_HERE}" stroke="{_INK}" stroke-width="3"/>'
    )


def _label(lines: Sequence[str], y: int) -> str:
    """Return the axle's number, and whether it is raised, on a plate over its beam."""
    half, tall = 5 + 4.0 * max(map(len, lines)), 6 + 16 * len(lines)
    plate = (
        f'<rect class="plate" x="{_CENTRE - half:g}" y="{y - tall / 2:g}" width="{2 * half:g}" height="{tall}" '
        f'rx="5" fill="{_CARD}"/>'
    )
    first = y + 13 - 8 * len(lines)
    return plate + "".join(_text(_CENTRE, first + 16 * n, line, size=15, hue="soft") for n, line in enumerate(lines))


def _joint(outcome: str, y: int, language: str) -> str:
    """Return the mark and word of a finding on an axle's two ends together, below its number."""
    mark = placed(outcome, x=_CENTRE - 32, y=y + 13, side=20)
    return mark + _text(_CENTRE - 8, y + 29, _word(outcome, language), size=15, anchor="start", bold=True)


def _beside(side: str, y: int, end: Shown, language: str) -> str:
    """Return the mark with its word, and the measured value below them, larger."""
    left = side == "left"
    edge, anchor = (98, "end") if left else (WIDTH - 98, "start")
    word = _word(end.outcome, language)
    if end.outcome is None:
        return _text(edge, y + 5, word, size=14, hue="soft", anchor=anchor)
    mark = placed(end.outcome, x=edge - 24 if left else edge, y=y - 30, side=24)
    beyond = edge - 29 if left else edge + 29
    out = [mark, _text(beyond, y - 12, word, size=17, anchor=anchor, bold=True)]
    if end.value:
        out.append(_value(edge, y + 20, term(end.value, language), anchor))
    below = [say("report.plan.pad", language)] if end.what == "lining" else []
    if end.cause is not None:
        cause = say("report.plan.cause", language, kind=end.cause)
        below += [cause] if len(cause) <= _LETTERS_BESIDE else []  # a longer one stands in the table alone
    out += [_text(edge, y + 36 + 15 * n, line, size=14, hue="soft", anchor=anchor) for n, line in enumerate(below)]
    return "".join(out)


# -- letters -------------------------------------------------------------------------------------------------------


def _shape(path: str, *, fill: bool = False, dash: str = "") -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    inside = _CARD if fill else "none"
    kind = "body plate" if fill else "body"
    return (
        f'<path class="{kind}" d="{path}" fill="{inside}" stroke="{_STEEL}" stroke-width="3" '
        f'stroke-linejoin="round"{dashes}/>'
    )


def _text(
    x: float,
    y: float,
    text: str,
    *,
    size: float,
    hue: str = "ink",
    anchor: str = "middle",
    bold: bool = False,
) -> str:
    fill = _SOFT if hue == "soft" else _INK
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text class="{hue}" x="{x:g}" y="{y:g}" text-anchor="{anchor}" {_FACE} font-size="{size:g}"{weight} '
        f'fill="{fill}">{escape(text)}</text>'
    )


def _value(x: float, y: float, value: str, anchor: str) -> str:
    """Return a value as read, its fraction set as one and its unit smaller; words stand one below the other."""
    if not any(letter.isdigit() for letter in value):
        lines = enumerate([value] if len(value) < 9 else value.split())
        return "".join(_text(x, y - 1 + 15 * n, word, size=15, anchor=anchor, bold=True) for n, word in lines)
    number, _, unit = value.rpartition(" ")
    size = 24 if len(number) < 8 else 18
    spans = "".join(_spans(run, size) for run in runs(value))
    if "tspan" not in spans:
        spans = f"{escape(number)}{_unit(unit, size)}"
    return (
        f'<text class="ink value" x="{x:g}" y="{y:g}" text-anchor="{anchor}" {_FACE} font-size="{size}" '
        f'font-weight="700" fill="{_INK}">{spans}</text>'
    )


def _unit(unit: str, size: float) -> str:
    return f'<tspan font-size="{0.62 * size:.3g}" font-weight="400">{_NO_BREAK}{escape(unit)}</tspan>'


def _spans(run: Run, size: float) -> str:
    if not run.under:
        return escape(run.text)
    small, rise = 0.66 * size, 0.34 * size
    gap = f'<tspan font-size="{0.3 * size:.3g}">{_NO_BREAK}</tspan>' if run.whole else ""
    return (
        f"{run.whole}{gap}"
        f'<tspan dy="-{rise:.3g}" font-size="{small:.3g}">{run.over}</tspan>'
        f'<tspan dx="-{0.05 * size:.3g}" dy="{rise:.3g}">{_SLASH}</tspan>'
        f'<tspan dx="-{0.05 * size:.3g}" font-size="{small:.3g}">{run.under}</tspan>'
        f"{_unit(run.text, size)}"
    )
