"""The heart: from a case to everything that can be said about it. A pure function of case and base."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from advisor.library.base import Base
from advisor.library.items import NONE, Rule
from advisor.reasoning.case import RECHECKED, Case
from advisor.reasoning.derive import Findings, derive
from advisor.reasoning.engine import Engine, EngineRule, Fact, Firing, compile_rules
from advisor.reasoning.nextcheck import Advice, explaining, next_check
from advisor.reasoning.weighing import (
    CONFIRMED_AT_LEAST,
    Evidence,
    Scale,
    View,
    applies,
    belief,
    condition_states,
    decibans,
    evidence,
    scale_of,
    soft_states,
    word_for,
)

CLOSE = 3.0
"""Two leading causes nearer than this, in decibans, are called close."""
UNLISTED = 0.1
"""Share of complaints that none of the causes explains for which the complaint speaks (our own estimate)."""


@dataclass(frozen=True, slots=True)
class HazardFound:
    """A hazard, the firings that lead to it, and whether only a borderline reading does."""

    name: str
    firings: tuple[Firing, ...]
    borderline: bool


@dataclass(frozen=True, slots=True)
class DoubtFound:
    """Readings that cannot be trusted, by which rule; `set_aside` unless the person stands by them."""

    firing: Firing
    readings: tuple[str, ...]
    recheck: str
    set_aside: bool


@dataclass(frozen=True, slots=True)
class ConditionFound:
    """A condition concluded, and the firings that conclude it."""

    name: str
    value: str
    firings: tuple[Firing, ...]


@dataclass(frozen=True, slots=True)
class Ranked:
    """A cause with its probability, the word for it, and the evidence behind it (decibans)."""

    name: str
    belief: float
    word: str
    prior: float
    total: float
    evidence: tuple[Evidence, ...]
    confirmed: bool


@dataclass(frozen=True, slots=True)
class Assessment:
    """All that is said about a case."""

    case: Case
    findings: Findings
    hazards: tuple[HazardFound, ...]
    doubts: tuple[DoubtFound, ...]
    conditions: tuple[ConditionFound, ...]
    conflicts: tuple[str, ...]
    advice: tuple[Firing, ...]
    causes: tuple[Ranked, ...]
    close: tuple[str, ...]
    borderline: tuple[str, ...]
    firings: tuple[Firing, ...]
    known: Mapping[str, str]
    grounds: Mapping[str, frozenset[str]]
    checks: Advice


@lru_cache(maxsize=8)
def engine_of(base: Base) -> Engine:
    """The rules of a base, compiled once."""
    return compile_rules(
        EngineRule(rule.name, tuple(rule.when.items()), tuple(rule.concludes.items())) for rule in base.rules.values()
    )


def assess(case: Case, base: Base, look_ahead: bool = True) -> Assessment:
    """Everything that can be said about a case.

    Parameters
    ----------
    case : Case
        The entries; their order does not matter, only which is the latest of each name.
    base : Base
        The knowledge and the rules.
    look_ahead : bool
        Whether to work out the next check too (most of the time goes there).

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> case = Case((Entry("co_room", "80", 80.0), Entry("smoke", "4", 4.0)))
    >>> [found.name for found in assess(case, load()).hazards][0]
    'carbon-monoxide-in-the-room'
    """
    engine = engine_of(base)
    all_findings = derive(case, base)
    firings = engine.run(all_findings.symbols.items())
    hazards = _hazards(base, engine, all_findings, firings)
    doubts, aside = _doubts(base, case, all_findings, firings)
    findings = all_findings
    if aside:
        findings = derive(case, base, aside)
        firings = engine.run(findings.symbols.items())
    view, concluded = _view(base, findings.symbols, findings.grounds, firings)
    ranked = _rank(base, engine, findings, view)
    conditions = tuple(
        ConditionFound(name, value, _concluding(base, firings, name, value))
        for name, values in sorted(concluded.items()) for value in sorted(values)
    )
    leading = [one for one in ranked if one.word != "unlikely"]
    close = _close(leading)
    if look_ahead:
        no_fire = any(not base.hazards[found.name].fire for found in hazards)
        checks = next_check(base, engine, case, findings, view, {one.name: one.total for one in ranked}, no_fire,
                            tuple(one.name for one in ranked),
                            tuple(doubt.recheck for doubt in doubts if doubt.set_aside),
                            frozenset(one.name for one in ranked if one.confirmed))
    else:
        checks = Advice(None, (), "")
    return Assessment(
        case, all_findings if not aside else _with_doubted(findings, all_findings), hazards, doubts, conditions,
        tuple(name for name, values in sorted(concluded.items()) if len(values) > 1),
        tuple(firing for firing in firings if base.rules[firing.rule].advises), ranked,
        close, tuple(sorted(name for name, band in findings.bands.items() if band.share < 1)), firings,
        view.known, view.grounds, checks,
    )


def _close(leading: list[Ranked]) -> tuple[str, ...]:
    """The causes that are about as likely as the first one, with it; empty where it stands out."""
    if not leading:
        return ()
    most = max(one.total for one in leading)
    near = [one.name for one in leading if most - one.total < CLOSE]
    return tuple(near) if len(near) > 1 and not all(one.confirmed for one in leading if one.name in near) else ()


def _with_doubted(findings: Findings, everything: Findings) -> Findings:
    """The findings without the doubted readings, but with their numbers to show."""
    return replace(findings, numbers=everything.numbers, bands=everything.bands)


def _hazards(
    base: Base, engine: Engine, findings: Findings, firings: Iterable[Firing]
) -> tuple[HazardFound, ...]:
    """All hazards. A borderline reading counts with both its bands, so that none slips through."""
    both: list[Fact] = list(findings.symbols.items())
    both += [(name, band.neighbor) for name, band in findings.bands.items() if band.neighbor]
    sure: dict[str, list[Firing]] = {}
    for firing in firings:
        hazard = base.rules[firing.rule].hazard
        if hazard:
            sure.setdefault(hazard, []).append(firing)
    perhaps: dict[str, list[Firing]] = {}
    if len(both) > len(findings.symbols):
        for firing in engine.run(both):
            hazard = base.rules[firing.rule].hazard
            if hazard and hazard not in sure:
                perhaps.setdefault(hazard, []).append(firing)
    found = [HazardFound(name, tuple(why), False) for name, why in sure.items()]
    found += [HazardFound(name, tuple(why), True) for name, why in perhaps.items()]
    return tuple(sorted(found, key=lambda one: (base.hazards[one.name].rank, one.name)))


def _doubts(
    base: Base, case: Case, findings: Findings, firings: Iterable[Firing]
) -> tuple[tuple[DoubtFound, ...], frozenset[str]]:
    """The doubts, and the names to set aside for them."""
    doubts, aside = [], set()
    latest = case.latest
    for firing in firings:
        rule = base.rules[firing.rule]
        # A reading that was not taken but computed from another is no worse for how it would have been taken.
        there = tuple(name for name in rule.doubts if (name in latest and latest[name].value is not None)
                      or (name in findings.numbers and base.quantities[name].derived))
        if not there:
            continue
        behind = set().union(*(findings.grounds.get(name, {name}) for name in there)) | set(there)
        stood_by = [name for name in behind if name in latest and latest[name].how == RECHECKED]
        doubted = behind - set(stood_by)
        doubts.append(DoubtFound(firing, there, rule.recheck or "", not stood_by))
        if not stood_by:
            aside |= doubted
    return tuple(doubts), frozenset(aside)


def _view(
    base: Base, symbols: Mapping[str, str], grounds: Mapping[str, frozenset[str]], firings: Iterable[Firing]
) -> tuple[View, dict[str, set[str]]]:
    """What is known with the conditions, and the values concluded of each condition."""
    concluded: dict[str, set[str]] = {}
    why: dict[str, list[Firing]] = {}
    for firing in firings:
        for name, value in base.rules[firing.rule].concludes.items():
            concluded.setdefault(name, set()).add(value)
            why.setdefault(name, []).append(firing)
    known = {**symbols, **condition_states(base, symbols, concluded)}
    soft = soft_states(scale_of(base), known)
    behind = dict(grounds)
    for name in (*known, *soft):
        if name in base.conditions:
            behind[name] = _grounds_of_condition(base, name, symbols, grounds, why)
    return View(known, soft, behind), concluded


def _grounds_of_condition(
    base: Base, name: str, symbols: Mapping[str, str], grounds: Mapping[str, frozenset[str]],
    why: Mapping[str, list[Firing]], above: frozenset[str] = frozenset(),
) -> frozenset[str]:
    """The entries behind a condition: those of the rules that conclude it; if none does, of all that might."""
    names: set[str] = set()
    if name in why:
        names.update(fact[0] for firing in why[name] for fact in firing.facts)
    else:
        names.update(tested for rule in base.rules_concluding[name] for tested in rule.when)
    out: set[str] = set()
    for tested in names - above - {name}:
        if tested in base.conditions:
            out |= _grounds_of_condition(base, tested, symbols, grounds, why, above | {name})
        elif tested in symbols:
            out |= grounds.get(tested, frozenset((tested,)))
    return frozenset(out)


def _rank(
    base: Base, engine: Engine, findings: Findings, view: View
) -> tuple[Ranked, ...]:
    """The causes, the likeliest first. A borderline reading speaks by its share for either of its bands."""
    scale = scale_of(base)
    unsure = frozenset(name for name, band in findings.bands.items() if band.neighbor)
    worlds = [(1.0, view)]
    for name, band in findings.bands.items():
        if band.neighbor and name in findings.symbols:
            symbols = {**findings.symbols, name: band.neighbor}
            other, _ = _view(base, symbols, findings.grounds, engine.run(symbols.items()))
            worlds.append((1.0 - band.share, other))
    alone = []
    for cause in base.causes:
        if not applies(base, cause, view.known):
            continue
        found = _mixed([(share, evidence(scale, cause, world)) for share, world in worlds])
        prior = scale.priors[cause]
        total = prior + sum(one.decibans for one in found)
        alone.append(_ranked(base, cause, prior, total, found, unsure))
    return _explained_away(base, scale, sorted(alone, key=_order), view, unsure)


def _order(one: Ranked) -> tuple[float, float, str]:
    """The likelier first; of those that are confirmed, the one for which more speaks besides."""
    return (-round(one.total, 6), -round(sum(piece.decibans for piece in one.evidence), 6), one.name)


def _ranked(
    base: Base, cause: str, prior: float, total: float, found: tuple[Evidence, ...], unsure: frozenset[str]
) -> Ranked:
    """A cause with its word. It is confirmed by a sign that was seen, or read clear of every limit (not `unsure`)."""
    confirming = [rule for piece in found for rule in map(base.rules.__getitem__, piece.rules)
                  if cause in rule.confirms and unsure.isdisjoint(rule.when)]
    confirmed = bool(confirming)
    if any(set(rule.when) <= set(base.observations) for rule in confirming):
        total = max(total, CONFIRMED_AT_LEAST)
    probability = belief(total)
    word = "confirmed" if confirmed else word_for(probability)
    return Ranked(cause, probability, word, prior, total, found, confirmed)


def _explained_away(
    base: Base, scale: Scale, ranked: Iterable[Ranked], view: View, unsure: frozenset[str]
) -> tuple[Ranked, ...]:
    """The causes, where what a likelier one accounts for props up the others only as far as that one is in doubt.

    A sign that confirms a cause is never taken from it; what speaks against a cause always counts.
    """
    accounted: dict[str, list[tuple[float, str]]] = {}  # entry -> how far which causes explain it
    out = []
    for one in ranked:
        pieces = []
        for piece in one.evidence:
            behind = {entry for name in piece.names if (name in view.known or name in view.soft)
                      and name not in scale.equipment for entry in view.grounds.get(name) or (name,)}
            # What a consequence explains, it does not take from the cause that brings it about.
            by = {entry: max((by for by in accounted.get(entry, ()) if one.name not in base.causes[by[1]].behind),
                             default=(0.0, "")) for entry in behind}
            strongest = max(by.values(), default=(0.0, ""))
            confirming = any(one.name in base.rules[rule].confirms for rule in piece.rules)
            if piece.decibans > 0 and strongest[0] > 0 and not confirming:
                left = sum(1.0 - share for share, _ in by.values()) / len(behind)
                piece = replace(piece, decibans=piece.decibans * left, explained_by=strongest[1] if left < 0.5 else "")
            pieces.append((piece, behind))
        found = tuple(piece for piece, _ in pieces)
        total = one.total + sum(piece.decibans for piece in found) - sum(piece.decibans for piece in one.evidence)
        now = _ranked(base, one.name, one.prior, total, found, unsure)
        out.append(now)
        for piece, behind in pieces:
            if piece.decibans > 0:
                for entry in behind:
                    share = now.belief * min(1.0, piece.decibans / 5.0)
                    accounted.setdefault(entry, []).append((share, one.name))
    return _roots_first(base, sorted(_by_elimination(base, view, out, unsure), key=_order))


def _by_elimination(base: Base, view: View, ranked: list[Ranked], unsure: frozenset[str]) -> list[Ranked]:
    """The causes, given that a complaint has a cause: what is left gains as the others are ruled out.

    Causes are weighed one by one, as if none need be there. But somebody called, so at least one of those that the
    complaint speaks for is there - all but for `UNLISTED`, the share of complaints that none of them explains.
    Conditioning independent causes on "at least one of them" divides each probability by that of the event.
    """
    speaking = explaining(base, view.known.get("complaint"))
    at_least_one = 1.0 - math.prod(1.0 - one.belief for one in ranked if one.name in speaking)
    if not speaking or at_least_one >= 1.0:
        return ranked
    gain = (1.0 - UNLISTED) / at_least_one + UNLISTED
    out = []
    for one in ranked:
        if one.name in speaking and not one.confirmed:
            shift = decibans(min(0.99, one.belief * gain)) - one.total
            if shift > 0.05:
                piece = Evidence(("complaint",), shift, shift, (), (), (), eliminated=True)
                one = _ranked(base, one.name, one.prior, one.total + shift, (*one.evidence, piece), unsure)
        out.append(one)
    return out


def _roots_first(base: Base, ranked: list[Ranked]) -> tuple[Ranked, ...]:
    """The causes with each that is found, or about as likely, ahead of those that it brings about."""
    waiting = [one for one in ranked if one.word in ("confirmed", "likely")]
    others = [one for one in ranked if one.word not in ("confirmed", "likely")]
    out: list[Ranked] = []
    while waiting:
        first = next((one for one in waiting if not any(
            root.name in base.causes[one.name].behind and (root.confirmed or root.total >= one.total - 0.8 * CLOSE)
            for root in waiting)), waiting[0])
        out.append(first)
        waiting = [one for one in waiting if one is not first]
    return (*out, *others)


def _mixed(worlds: list[tuple[float, tuple[Evidence, ...]]]) -> tuple[Evidence, ...]:
    """The evidence as it stands, moved by each borderline reading toward what its other band would say."""
    first = worlds[0][1]
    if len(worlds) == 1:
        return first
    stands = {one.names: one for one in first}
    moved = {one.names: one.decibans for one in first}
    for share, other in worlds[1:]:
        there = {one.names: one for one in other}
        for names in {*stands, *there}:
            now = stands[names].decibans if names in stands else 0.0
            then = there[names].decibans if names in there else 0.0
            moved[names] = moved.get(names, 0.0) + share * (then - now)
            if names not in stands and names in there:
                stands[names] = replace(there[names], decibans=0.0, full=0.0)
    out = [replace(stands[names], decibans=value) for names, value in moved.items() if abs(value) > 0.005]
    return tuple(sorted(out, key=lambda one: (-abs(one.decibans), one.names)))


def _concluding(base: Base, firings: Iterable[Firing], name: str, value: str) -> tuple[Firing, ...]:
    return tuple(firing for firing in firings if base.rules[firing.rule].concludes.get(name) == value)


def rules_of(base: Base, firings: Iterable[Firing]) -> tuple[Rule, ...]:
    """The rules behind firings."""
    return tuple(base.rules[firing.rule] for firing in firings)


__all__ = ["NONE", "Assessment", "assess", "engine_of", "rules_of"]
