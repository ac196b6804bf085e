"""From the evidence to the ranking: what a confirmed cause explains counts less for others, the causes and what nobody
here knows share the call, and a cause comes before those that it brings about.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from advisor.library.base import Base
from advisor.library.items import NONE_OF_THESE
from advisor.reasoning.derive import Findings
from advisor.reasoning.engine import Engine
from advisor.reasoning.odds import belief, decibans
from advisor.reasoning.signatures import UNKNOWN_MOVES, chart_of, read, with_sound
from advisor.reasoning.stages import together
from advisor.reasoning.tables import Scale, scale_of
from advisor.reasoning.turnout import COMPLAINT, Turnout, explaining, share_the_call
from advisor.reasoning.weighing import (
    LIKELY,
    Evidence,
    View,
    applies,
    evidence,
    spoken_for,
    view_of,
    word_for,
)

CLOSE: Final = 3.0
"""Two leading causes nearer than this, in decibans, are called close."""
ROOT_COMES_FIRST: Final = 0.75
"""From this probability on, what may lie behind a confirmed cause comes before it."""
SUREST: Final = 0.999
"""No cause is surer than this."""
NONE_LEADS: Final = 0.5
"""From this probability on, none of the causes known fits well: it is likelier that it is none of them than any."""
CONFIRMED_AT_LEAST: Final = 10.0
"""Decibans of a cause whose confirming sign was seen: nine in ten, since people misread what they see."""


@dataclass(frozen=True, slots=True)
class Ranked:
    """A cause with its probability, the word for it, and the evidence behind it (decibans).

    `alone` are its odds by itself, as if every cause could be there beside all others: what checks are valued by.
    `total` are those that it is named by, where the causes for which something speaks share one call.
    """

    name: str
    belief: float
    word: str
    prior: float
    alone: float
    total: float
    evidence: tuple[Evidence, ...]
    confirmed: bool


def weighed(base: Base, engine: Engine, findings: Findings, view: View) -> dict[str, tuple[Evidence, ...]]:
    """The evidence on each cause that can exist here, and on none of them. A borderline reading speaks by its share for
    either of its bands.
    """
    scale = scale_of(base)
    worlds = [(1.0, view)]
    for name, band in findings.bands.items():
        if band.neighbor and name in findings.symbols:
            symbols = {**findings.symbols, name: band.neighbor}
            other, _ = view_of(base, symbols, findings.grounds, engine.run(symbols.items()))
            worlds.append((1.0 - band.share, other))
    causes = [cause for cause in base.causes if applies(base, cause, view.known)]
    found = [(share, _with_readings(base, scale, causes, world)) for share, world in worlds]
    return {cause: _perhaps_begun(_mixed([(share, there[cause]) for share, there in found]))
            for cause in (*causes, NONE_OF_THESE)}


def _with_readings(
    base: Base, scale: Scale, causes: Sequence[str], view: View
) -> dict[str, tuple[Evidence, ...]]:
    """The evidence on each cause: of the tables, and of what the signatures say of the readings."""
    out = {cause: evidence(scale, cause, view) for cause in causes}
    out[NONE_OF_THESE] = tuple(_odd(base, scale, view))
    if scale.in_figures.isdisjoint(view.known):
        return out
    complaint = view.known.get(COMPLAINT)
    weights = {cause: _weight(scale.turnout, cause, complaint, found) for cause, found in out.items()}
    must = scale.turnout.must(complaint)
    beliefs = (share_the_call(_shares(scale.turnout, complaint, weights), weights, must) if must else
               with_sound({cause: belief(decibans(scale.turnout.share(cause, None)) + together(sums_of_pieces(found)))
                           for cause, found in out.items()}))
    for cause, pieces in read(chart_of(base, view.known), view.known, beliefs, out).items():
        of_readings = [Evidence((one.panel,), one.gone, one.gone, one.begun, (), (), (), of_reading=True,
                                among=one.among) for one in pieces]
        out[cause] = tuple(sorted((*out[cause], *of_readings), key=lambda one: (-abs(one.decibans), one.names)))
    return out


def _odd(base: Base, scale: Scale, view: View) -> Iterator[Evidence]:
    """What findings out of the ordinary, of which no signature tells, say for a cause that nobody here knows."""
    for name, symbol in sorted(view.known.items()):
        if name not in scale.in_figures and out_of_the_ordinary(base, name, symbol):
            usual = base.usual[name]
            anywhere = sum(usual.values()) / (len(usual) * usual[symbol])
            gain = 10.0 * math.log10(1.0 - UNKNOWN_MOVES + UNKNOWN_MOVES * anywhere)
            yield Evidence((name,), gain, gain, gain, (), (), ())


def out_of_the_ordinary(base: Base, name: str, symbol: str) -> bool:
    """Whether a finding is a sign of something: less than half as usual as if all answers were alike, and some rule
    speaks for a cause by it.

    >>> from advisor.library.base import load
    >>> out_of_the_ordinary(load(), "oil_leak", "dripping"), out_of_the_ordinary(load(), "oil_leak", "none")
    (True, False)
    """
    item = base.named[name]
    if name in base.conditions or getattr(item, "part", "") != "reading":
        return False
    usual = base.usual[name]
    return (usual[symbol] * len(usual) < 0.5 * sum(usual.values())
            and bool(spoken_for(base).get((name, symbol))))


def _shares(turnout: Turnout, complaint: str | None, names: Iterable[str]) -> dict[str, float]:
    """The shares of calls before any evidence, of these causes and of all that the complaint may be about."""
    return {name: turnout.share(name, complaint) for name in {*names, *turnout.must(complaint)}}


def _weight(turnout: Turnout, name: str, complaint: str | None, found: Iterable[Evidence]) -> float:
    """The share of a cause, times how much likelier the evidence is with it than on the whole."""
    pieces = [one for one in found if not one.of_calls]
    shift = together(sums_of_pieces(pieces)) + sum(one.among for one in pieces)
    return turnout.share(name, complaint) * math.pow(10.0, shift / 10.0)


def sums_of_pieces(found: Iterable[Evidence]) -> tuple[float, float]:
    """The sums of pieces of evidence, for a fault far gone and for one that has only begun (decibans)."""
    pieces = [one for one in found if not one.begun]
    return sum(one.decibans for one in pieces), sum(one.early for one in pieces)


def rank(
    base: Base, evidence_on: Mapping[str, tuple[Evidence, ...]], findings: Findings, view: View,
    lone: frozenset[str] = frozenset(),
) -> tuple[tuple[Ranked, ...], Ranked]:
    """The causes, the likeliest first, and none of them. A borderline reading proves nothing, nor does an answer that
    stands alone (`lone`).
    """
    scale = scale_of(base)
    unsure = lone.union(name for name, band in findings.bands.items() if band.neighbor)
    alone = []
    for cause, found in evidence_on.items():
        if cause != NONE_OF_THESE:
            prior = scale.priors[cause]
            alone.append(_ranked(base, cause, prior, prior + sum(one.decibans for one in found), found, unsure))
    facts_first = sorted(alone, key=lambda one: (not one.confirmed, *_order(one)))
    ranked = _explained_away(base, scale, facts_first, view, unsure)
    shared, none = _shared(base, scale, ranked, evidence_on[NONE_OF_THESE], view, unsure)
    return _roots_first(base, sorted(shared, key=_order)), none


def _perhaps_begun(found: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
    """The evidence, with what the cause keeps or does not gain because it may have only begun."""
    found = tuple(piece for piece in found if not piece.begun)
    sums = sums_of_pieces(found)
    shift = together(sums) - sums[0]
    if abs(shift) <= 0.005:
        return found
    return (*found, Evidence((), shift, shift, shift, (), (), (), begun=True))


def none_leads(none: Ranked, ranked: Sequence[Ranked]) -> bool:
    """Whether by what was found, and not from the start, it is likelier that it is none of the causes known than that
    it is one of them, and no cause is a fact.
    """
    return none.belief > max(NONE_LEADS, belief(none.prior)) and not any(one.confirmed for one in ranked)


def close_to_the_first(leading: list[Ranked]) -> tuple[str, ...]:
    """The causes that are about as likely as the first one, with it; empty where it stands out."""
    if not leading:
        return ()
    most = max(one.total for one in leading)
    near = [one.name for one in leading if most - one.total < CLOSE]
    return tuple(near) if len(near) > 1 and not all(one.confirmed for one in leading if one.name in near) else ()


def _order(one: Ranked) -> tuple[float, float, str]:
    """The likelier first; of those that are confirmed, the one for which more speaks besides."""
    return (-round(one.total, 6), -round(sum(piece.decibans for piece in one.evidence), 6), one.name)


def _ranked(
    base: Base, cause: str, prior: float, total: float, found: tuple[Evidence, ...], unsure: frozenset[str]
) -> Ranked:
    """A cause with its word. It is confirmed by a sign that was seen, or read clear of every limit (not `unsure`)."""
    confirming = [rule for piece in found if piece.rules for rule in map(base.rules.__getitem__, piece.rules)
                  if cause in rule.confirms and unsure.isdisjoint(rule.when)]
    seen = any(not base.observations.keys().isdisjoint(rule.when) for rule in confirming)
    if seen:
        total = max(total, CONFIRMED_AT_LEAST)
    probability = belief(total)
    # What is only read or computed confirms where the rest does not speak against it: instruments and stamps err.
    confirmed = seen or (bool(confirming) and probability >= LIKELY)
    word = "confirmed" if confirmed else word_for(probability)
    return Ranked(cause, probability, word, prior, total, total, found, confirmed)


def _explained_away(
    base: Base, scale: Scale, ranked: Sequence[Ranked], view: View, unsure: frozenset[str]
) -> list[Ranked]:
    """The causes, where what a confirmed one accounts for does not prop up the others. Among those that nobody has
    seen, sharing the call does it (`_shared`).

    A sign that confirms a cause is never taken from it; what speaks against a cause always counts.
    """
    about = explaining(base, view.known.get(COMPLAINT))
    accounted: dict[str, list[tuple[float, str]]] = {}  # entry -> how far which causes explain it
    out = []
    for one in ranked:
        if not accounted and not one.confirmed:  # those that are a fact come first, so there is none
            out.append(one)
            continue
        pieces = []
        for piece in one.evidence:
            if piece.of_reading:  # weighed against the other causes already
                pieces.append((piece, frozenset[str]()))
                continue
            beside = any(name not in scale.in_figures and name not in scale.equipment for name in piece.names)
            behind = frozenset(entry for name in piece.names if (name in view.known or name in view.soft)
                               and name not in scale.equipment and not (beside and name in scale.in_figures)
                               for entry in view.grounds.get(name) or (name,))
            # A consequence explains nothing away from the cause that brings it about: that explains them both.
            by = {entry: max((pair for pair in accounted.get(entry, ()) if one.name not in base.causes[pair[1]].behind),
                             default=(0.0, "")) for entry in behind}
            strongest = max(by.values(), default=(0.0, ""))
            if piece.decibans > 0 and strongest[0] > 0 and not _confirms(base, one.name, piece):
                left = sum(1.0 - share for share, _ in by.values()) / len(behind)
                piece = replace(piece, decibans=piece.decibans * left, early=piece.early * left,
                                explained_by=strongest[1] if left < 0.5 else "")
            pieces.append((piece, behind))
        found = _perhaps_begun(tuple(piece for piece, _ in pieces))
        total = one.total + sum(piece.decibans for piece in found) - sum(piece.decibans for piece in one.evidence)
        now = _ranked(base, one.name, one.prior, total, found, unsure)
        out.append(now)
        for piece, behind in pieces:
            if piece.decibans > 0 and now.confirmed and not piece.of_calls:
                for entry in behind:
                    share = now.belief * min(1.0, piece.decibans / 5.0)
                    accounted.setdefault(entry, []).append((share, one.name))
        if now.confirmed and one.name in about:
            accounted.setdefault(COMPLAINT, []).append((now.belief, one.name))
    return out


def _confirms(base: Base, cause: str, piece: Evidence) -> bool:
    """Whether a piece of evidence is the sign that confirms a cause, be it seen once and to be seen again."""
    return any(cause in base.rules[rule].confirms for rule in piece.rules)


def _shared(
    base: Base, scale: Scale, ranked: Sequence[Ranked], on_none: tuple[Evidence, ...], view: View,
    unsure: frozenset[str],
) -> tuple[list[Ranked], Ranked]:
    """The causes as they share the call with each other and with what nobody here knows; and that, none of these.

    Each was weighed by itself, so that of many that show the same, every one may seem likely. One of them is enough.
    And somebody called, so that what is ruled out is left to the others - unless a confirmed cause explains the call.
    """
    turnout, complaint = scale.turnout, view.known.get(COMPLAINT)
    facts = [one for one in ranked if one.confirmed]
    if any(one.name in explaining(base, complaint) for one in facts):
        complaint = None
    on_none = tuple(piece for piece in on_none if piece.of_reading or not any(
        _moves(base, one.name, piece.names[0], view.known[piece.names[0]]) for one in facts))
    left = [one for one in ranked if not one.confirmed]
    weights = {NONE_OF_THESE: _weight(turnout, NONE_OF_THESE, complaint, on_none)}
    shares = _shares(turnout, complaint, weights)
    for name in {one.name for one in facts} & shares.keys():
        del shares[name]
    for one in left:
        shares[one.name] = belief(one.prior + sum(piece.decibans for piece in one.evidence if piece.of_calls))
        against_all = sum(piece.decibans * (not piece.of_calls) + piece.among for piece in one.evidence)
        weights[one.name] = shares[one.name] * math.pow(10.0, against_all / 10.0)
    beliefs = share_the_call(shares, weights, turnout.must(complaint))
    prior = decibans(shares[NONE_OF_THESE])
    none = _ranked(base, NONE_OF_THESE, prior, prior + sum(one.decibans for one in on_none), on_none, unsure)
    none = _named(base, none, beliefs[NONE_OF_THESE], unsure)
    return [one if one.confirmed else _named(base, one, beliefs[one.name], unsure) for one in ranked], none


def _moves(base: Base, cause: str, name: str, symbol: str) -> bool:
    """Whether a cause is known to move a reading there."""
    return any(link.moves == name and symbol in link.to for link in base.causes[cause].chain)


def _named(base: Base, one: Ranked, probability: float, unsure: frozenset[str]) -> Ranked:
    """A cause, or none of them, as likely as it is where all share the call."""
    total = decibans(min(max(probability, 1e-9), SUREST))
    shift = total - one.total
    if abs(shift) <= 0.05:
        return one
    piece = Evidence((), shift, shift, shift, (), (), (), shared=shift < 0, eliminated=shift > 0)
    return replace(_ranked(base, one.name, one.prior, total, (*one.evidence, piece), unsure),
                   alone=max(one.alone, total))


def _roots_first(base: Base, ranked: list[Ranked]) -> tuple[Ranked, ...]:
    """The causes with each that is found, or about as likely, ahead of those that it brings about.

    A cause that was seen to be there is a fact; what likely brings it about comes first, for that is what to mend.
    """
    waiting = [one for one in ranked if one.word in ("confirmed", "likely")]
    others = [one for one in ranked if one.word not in ("confirmed", "likely")]
    out: list[Ranked] = []
    while waiting:
        first = next((one for one in waiting if not any(
            root.name in base.causes[one.name].behind
            and (root.confirmed or (root.belief >= ROOT_COMES_FIRST if one.confirmed
                                    else root.alone >= one.alone - 0.8 * CLOSE))
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
    moved = {one.names: (one.decibans, one.early, one.among) for one in first}
    for share, other in worlds[1:]:
        there = {one.names: one for one in other}
        for names in {*stands, *there}:
            now, then = _three(stands.get(names)), _three(there.get(names))
            old = moved.get(names, (0.0, 0.0, 0.0))
            moved[names] = (old[0] + share * (then[0] - now[0]), old[1] + share * (then[1] - now[1]),
                            old[2] + share * (then[2] - now[2]))
            if names not in stands and names in there:
                stands[names] = replace(there[names], decibans=0.0, full=0.0, early=0.0, among=0.0)
    out = [replace(stands[names], decibans=value, early=early, among=among)
           for names, (value, early, among) in moved.items() if abs(value) > 0.005 or abs(among) > 0.005]
    return tuple(sorted(out, key=lambda one: (-abs(one.decibans), one.names)))


def _three(one: Evidence | None) -> tuple[float, float, float]:
    return (one.decibans, one.early, one.among) if one else (0.0, 0.0, 0.0)
