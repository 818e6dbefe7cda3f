"""From comparisons to verdicts: what each layer's word counts for on this occasion, near, basis, doubt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from treadle.assess.comparison import Comparison, is_at_least_as_strict, words_against
from treadle.assess.limits import Group, Limits
from treadle.assess.policy import Policy
from treadle.assess.verdict import Verdict, worst
from treadle.measure import Quantity
from treadle.rules.compare import asks_for_less, excess, is_limit
from treadle.rules.model import LAYERS
from treadle.words import has

_HALF, _WHOLE = 1, 2
_JUDGING_LAYERS = frozenset({"operate", "periodic", "roadside", "practice"})
_NEAR_LAYERS = frozenset({"operate", "periodic", "roadside"})
_SIZES_WITHOUT_A_FIGURE = frozenset({"drum_diameter", "rotor_thickness"})
"""Sizes nobody need take with the wheel on, and whose maker's figure is an optional fact."""
_FACTS_OF_THE_TEST = frozenset({"units_coupled"})
_CHAMBER_FACTS = frozenset({"design", "type", "stroke_class", "rated_stroke"})


@dataclass(slots=True)
class Share:
    """What a wheel end adds to the share of defective brakes of one jurisdiction: at least, and at most."""

    least: int = 0
    most: int = 0
    rules: list[str] = field(default_factory=list)
    unconfirmed: bool = False

    def add(self, rule: str, least: int, most: int) -> None:
        """Add a defect; a wheel end is never more than one whole brake."""
        self.least, self.most = max(self.least, least), max(self.most, least, most)
        self.rules.append(rule)


@dataclass(slots=True)
class Weighed:
    """What one reading, or one place, came to."""

    verdicts: list[Verdict] = field(default_factory=list)
    not_judged: list[tuple[str, str]] = field(default_factory=list)
    shares: dict[str, Share] = field(default_factory=dict)
    outcome: str | None = None
    """The worst of the verdicts; known once it is settled."""

    def settled(self) -> Weighed:
        """Put the verdicts in the order of their rules, say everything once, and find the outcome; return itself."""
        identified = {verdict.code: verdict for verdict in self.verdicts if verdict.code.startswith("identify_")}
        others = [verdict for verdict in self.verdicts if verdict.code not in identified]
        self.verdicts = sorted([*others, *identified.values()], key=lambda verdict: (verdict.rule or "", verdict.code))
        self.not_judged = list(dict.fromkeys(self.not_judged))
        self.outcome = worst(verdict.outcome for verdict in self.verdicts)
        return self

    def take(self, other: Weighed) -> None:
        """Add what another reading of the same place came to."""
        self.verdicts += other.verdicts
        self.not_judged += other.not_judged
        for place, share in other.shares.items():
            mine = self.shares.setdefault(place, Share())
            mine.least, mine.most = max(mine.least, share.least), max(mine.most, share.most)
            mine.rules += share.rules


@dataclass(frozen=True, slots=True)
class Scale:
    """What a weighing needs to know of the occasion: its day and name, the shop's policy, the half-defect setting."""

    on: date
    occasion: str
    policy: Policy
    whole_from: Quantity | None
    """The excess from which a stroke counts as a whole defective brake; None before that was distinguished."""


def weigh(
    comparisons: Sequence[Comparison],
    scale: Scale,
    *,
    kind: str,
    needed: bool,
    steering: bool = False,
    args: Mapping[str, Any] | None = None,
    missing: tuple[str, ...] = (),
) -> Weighed:
    """Turn what every rule says of one reading into verdicts.

    Parameters
    ----------
    comparisons : sequence of Comparison
        One for each group of limits that may apply.
    scale : Scale
        The occasion and the shop's policy.
    kind : str
        The kind of reading, for its sentence.
    needed : bool
        Whether the occasion needs it: then it may not stay open.
    steering : bool
        Whether it stands on the steering axle of a power unit.
    args : mapping, optional
        Further arguments of the sentences: the shoe, the place.
    missing : tuple of str
        Words of the file contract that name this reading where it stays unseen.
    """
    out = Weighed()
    args = {"kind": kind, **(args or {})}
    ordered = sorted(comparisons, key=lambda one: LAYERS.index(one.group.rule.layer))
    for one in ordered:
        if one.state == "breach":
            _weigh_breach(one, scale, out, args, steering=steering)
        elif one.state == "under_one":
            out.verdicts.append(_verdict("watch", "under_one", one, scale, args))
    _weigh_open(ordered, scale, out, args, needed=needed, missing=missing)
    _weigh_doubt([one for one in ordered if one.state in ("within", "breach")], out, args)
    _weigh_passes(ordered, scale, out, args)
    return out


def _weigh_breach(one: Comparison, scale: Scale, out: Weighed, args: Mapping[str, Any], *, steering: bool) -> None:
    rule = one.candidate.rule
    kind_of_breach = _breach_code(one, str(args["kind"]))
    if rule.counts is not None:
        least, most = _halves(one, scale)
        out.shares.setdefault(rule.jurisdiction, Share()).add(rule.id, least, most)
    if rule.layer == "roadside":
        if rule.alone == "any" or (rule.alone == "steering" and steering):
            out.verdicts.append(_verdict("hold", f"alone_{kind_of_breach}", one, scale, args))
    elif rule.layer == "periodic" and scale.occasion != "periodic":
        out.verdicts.append(_verdict("watch", f"annual_{kind_of_breach}", one, scale, args))
    elif rule.counts is not None:
        out.verdicts.append(_verdict("watch", f"counts_{kind_of_breach}", one, scale, args))
    elif rule.layer in ("operate", "periodic", "practice", "policy"):
        out.verdicts.append(_verdict(rule.then, kind_of_breach, one, scale, args))


def _breach_code(one: Comparison, kind: str) -> str:
    comparator = one.candidate.rule.comparator
    if not is_limit(comparator):
        return f"forbidden_{kind}"
    if one.past_by is None:
        return "past_reading"
    code = "over" if asks_for_less(comparator) else "under"
    return code if one.past_by else f"{code}_at_figure"


def _halves(one: Comparison, scale: Scale) -> tuple[int, int]:
    """Return how many half brakes a breach counts, at least and at most."""
    if one.candidate.rule.counts == "whole" or scale.whole_from is None or one.limit is None:
        return _WHOLE, _WHOLE
    assert one.least is not None  # noqa: S101 - set with every excess
    assert one.most is not None  # noqa: S101 - set with every excess
    whole = scale.whole_from.in_unit(one.limit.unit)
    least = _WHOLE if one.least >= whole else _HALF
    most = _WHOLE if one.most >= whole or one.standing == "below" else _HALF
    return least, most


def _weigh_open(
    comparisons: Sequence[Comparison],
    scale: Scale,
    out: Weighed,
    args: Mapping[str, Any],
    *,
    needed: bool,
    missing: tuple[str, ...],
) -> None:
    """One unseen verdict for a reading that decides nothing where it matters; else it goes to the not judged."""
    left_open = [one for one in comparisons if one.state == "open"]
    figure_may_lack = not needed and args["kind"] in _SIZES_WITHOUT_A_FIGURE
    decided_in = {one.candidate.rule.jurisdiction for one in comparisons if one.state != "open"}
    matters = [
        one for one in left_open if _could_matter(one, scale) and not (figure_may_lack and one.why == "no_figure")
    ]
    if needed:
        undecided = [one for one in left_open if one.candidate.rule.jurisdiction not in decided_in]
        matters += [one for one in undecided if one not in matters and one.candidate.rule.layer != "policy"]
    if matters:
        first = matters[0]
        out.verdicts.append(
            Verdict(
                outcome="unseen",
                code=f"unseen_{first.why}",
                remedy=f"unseen_{first.why}",
                rule=first.candidate.rule.id,
                layer=first.candidate.rule.layer,
                jurisdiction=first.candidate.rule.jurisdiction,
                measured=first.measured,
                citation=first.candidate.value.cited,
                missing=first.missing or missing,
                args={**args, **_window_args(first)},
            )
        )
    else:
        out.not_judged += [(str(args["kind"]), one.why) for one in left_open if one.candidate.rule.layer != "policy"]


def _could_matter(one: Comparison, scale: Scale) -> bool:
    """Whether a layer left open could have given more than a watch on this occasion."""
    rule = one.candidate.rule
    if rule.layer in ("periodic", "roadside"):
        return scale.occasion == rule.layer
    return rule.layer == "operate" or rule.then != "watch"


def _window_args(one: Comparison) -> dict[str, Any]:
    window = one.candidate.rule.window.reservoir
    return {} if window is None else {"low": window[0], "high": window[1]}


def _weigh_doubt(comparisons: Sequence[Comparison], out: Weighed, args: Mapping[str, Any]) -> None:
    """A missing fact that did not change the outcome is still to be identified, once."""
    for one in comparisons:
        unknown = one.group.unknown - _FACTS_OF_THE_TEST
        if not one.group.in_doubt or not unknown:
            continue
        code = "identify_chamber" if unknown & _CHAMBER_FACTS else f"identify_{min(unknown)}"
        if any(verdict.code == code for verdict in out.verdicts):
            continue
        out.verdicts.append(
            Verdict(
                outcome="watch",
                code=code,
                remedy=code,
                rule=one.candidate.rule.id,
                layer=one.candidate.rule.layer,
                jurisdiction=one.candidate.rule.jurisdiction,
                citation=one.candidate.value.cited,
                missing=tuple(sorted(unknown)),
                args=args,
            )
        )


def _weigh_passes(comparisons: Sequence[Comparison], scale: Scale, out: Weighed, args: Mapping[str, Any]) -> None:
    passes = [one for one in comparisons if one.state == "within" and one.candidate.rule.layer in _JUDGING_LAYERS]
    measured = [one for one in passes if one.limit is not None]
    shown_for = {one.candidate.rule.jurisdiction for one in comparisons if one.state in ("breach", "under_one")}
    for size in dict.fromkeys(one.measured for one in measured):
        one = _near([one for one in measured if one.measured == size], scale, args)
        if one is not None:
            code = "near" if one.past_by else "near_at_limit"
            out.verdicts.append(_verdict("watch", code, one, scale, args))
            shown_for.add(one.candidate.rule.jurisdiction)
    one = _unconfirmed(measured, scale)
    if one is not None:
        code = "not_confirmed_part" if one.candidate.rule.figure_from else "not_confirmed"
        out.verdicts.append(_verdict("watch", code, one, scale, args))
        shown_for.add(one.candidate.rule.jurisdiction)
    for place in dict.fromkeys(one.candidate.rule.jurisdiction for one in passes):
        ours = [one for one in passes if one.candidate.rule.jurisdiction == place]
        if place not in shown_for:
            out.verdicts.append(_verdict("good", "within", _strictest(ours), scale, args))


def _strictest(passes: Sequence[Comparison]) -> Comparison:
    """Return the limit that passed with the least to spare, which of one kind is the strictest.

    Of equals one whose own figure passes by less, then one not from memory, then the one of the first layer.
    """
    measured = [one for one in passes if one.limit is not None and one.measured is not None]
    if not measured:
        return passes[0]

    def key(one: Comparison) -> tuple[Fraction, bool, bool]:
        assert one.limit is not None  # noqa: S101 - filtered above
        assert one.measured is not None  # noqa: S101 - filtered above
        limit, comparator = one.limit.in_unit(one.measured.unit), one.candidate.rule.comparator
        past_by = excess(comparator, one.measured.value, limit)
        return past_by, comparator.endswith("or_equal"), one.basis != "memory"

    return max(measured, key=key)


def _near(passes: Sequence[Comparison], scale: Scale, args: Mapping[str, Any]) -> Comparison | None:
    band = scale.policy.near_band(str(args["kind"]))
    legal = [one for one in passes if one.candidate.rule.layer in _NEAR_LAYERS]
    if band is None or not legal:
        return None
    one = _strictest(legal)
    assert one.limit is not None  # noqa: S101 - only passes with a limit come here
    assert one.past_by is not None  # noqa: S101 - set with every limit
    return one if -one.past_by <= band.in_unit(one.limit.unit) else None


def _unconfirmed(passes: Sequence[Comparison], scale: Scale) -> Comparison | None:
    """Return the strictest pass that rests on a memory number no confirmed limit as strict stands behind."""
    sure = [one for one in passes if not _rests_on_memory(one, scale)]
    unsure = [
        one
        for one in passes
        if _rests_on_memory(one, scale) and not any(is_at_least_as_strict(other, one) for other in sure)
    ]
    return _strictest(unsure) if unsure else None


def _rests_on_memory(one: Comparison, scale: Scale) -> bool:
    return one.basis == "memory" and one.candidate.rule.id not in scale.policy.confirmed


def _verdict(outcome: str, code: str, one: Comparison, scale: Scale, args: Mapping[str, Any]) -> Verdict:
    rule = one.candidate.rule
    return Verdict(
        outcome=outcome,
        code=code,
        remedy=_remedy(str(args["kind"]), code) if one.state == "breach" else code,
        rule=rule.id,
        layer=rule.layer,
        jurisdiction=rule.jurisdiction,
        measured=one.measured,
        limit=one.limit,
        excess=one.excess,
        citation=one.candidate.value.cited,
        basis=one.basis,
        unconfirmed=_rests_on_memory(one, scale) and (one.limit is not None or outcome != "good"),
        args=args,
    )


def weigh_against(
    limits: Limits,
    against: Callable[[Group], Comparison],
    scale: Scale,
    *,
    kind: str,
    needed: bool,
    missing: tuple[str, ...],
    steering: bool = False,
    args: Mapping[str, Any] | None = None,
) -> Weighed:
    """Weigh a reading against the limits that apply, and say where no rule speaks of it."""
    out = weigh(
        [against(group) for group in limits.groups],
        scale,
        kind=kind,
        needed=needed,
        steering=steering,
        args=args,
        missing=missing,
    )
    if not limits.known_at_all:
        if needed:
            held = {"kind": kind, **(args or {})}
            out.verdicts.append(Verdict(outcome="watch", code="no_limit_held", remedy="no_limit_held", args=held))
        else:
            out.not_judged.append((kind, "no_limit_held"))
        return out
    code = "no_rule_yet" if limits.too_early else "no_rule_here"
    for place in limits.silent:
        if needed:
            held = {"kind": kind, "place": place, "on": scale.on.isoformat()}
            out.verdicts.append(
                Verdict(outcome="unseen", code=code, remedy=code, jurisdiction=place, missing=missing, args=held)
            )
        else:
            out.not_judged.append((kind, code))
    return out


def weigh_fitted(limits: Limits, word: str | None, scale: Scale, *, kind: str) -> Weighed:
    """Weigh what is fitted against what a build date asks for; what is not stated is not judged."""
    if word is None:
        return Weighed(not_judged=[(kind, "not_stated")] if limits.groups else [])
    held = [words_against(group, word) for group in limits.groups]
    wrong = [one for one in held if one.state != "within"]
    return weigh(wrong, scale, kind=kind, needed=True, args={"word": word}, missing=("built",))


def _remedy(kind: str, code: str) -> str:
    """Return the code of what makes a breach right: of this very kind where there is one, else of any."""
    breach = next(word for word in ("past_reading", "forbidden", "over", "under") if word in code)
    own = f"{kind}_{breach}"
    return own if has(f"remedy.{own}") else breach
