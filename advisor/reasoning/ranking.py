"""From the evidence to the ranking: what a confirmed cause explains counts less for others, a complaint has a cause,
causes share a call, and a cause comes before those that it brings about.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from advisor.library.base import Base
from advisor.library.items import NONE
from advisor.reasoning.derive import Findings
from advisor.reasoning.engine import Engine
from advisor.reasoning.signatures import chart_of, read
from advisor.reasoning.stages import together
from advisor.reasoning.tables import Scale, belief, decibans, scale_of
from advisor.reasoning.weighing import (
    LIKELY,
    Evidence,
    View,
    applies,
    evidence,
    explaining,
    spoken_for,
    view_of,
    word_for,
)

CLOSE: Final = 3.0
"""Two leading causes nearer than this, in decibans, are called close."""
UNLISTED: Final = 0.1
"""Share of complaints that none of the causes explains for which the complaint speaks (our own estimate)."""
SURE_ROOT: Final = 0.75
"""From this probability on, what may lie behind a confirmed cause comes before it."""
UNLISTED_READING: Final = 0.75
"""The same of readings out of the ordinary: three of four are the unit's own way, the day, or the instrument."""
MOST_GAIN: Final = 8.0
"""How many times as likely one odd reading can make a cause: where all are ruled out, it was rather misread."""
ODD: Final = 0.22
"""A reading is out of the ordinary where no more than this share of units reads so."""
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
    """The evidence on each cause that can exist here. A borderline reading speaks by its share for either of its bands.
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
    return {cause: _perhaps_begun(_mixed([(share, there[cause]) for share, there in found])) for cause in causes}


def _with_readings(
    base: Base, scale: Scale, causes: Sequence[str], view: View
) -> dict[str, tuple[Evidence, ...]]:
    """The evidence on each cause: of the tables, and of what the signatures say of the readings."""
    out = {cause: evidence(scale, cause, view) for cause in causes}
    if scale.in_figures.isdisjoint(view.known):
        return out
    beliefs = {cause: belief(scale.priors[cause] + together(sums_of_pieces(found))) for cause, found in out.items()}
    for cause, found in read(chart_of(base, view.known), view.known, beliefs, causes).items():
        pieces = [Evidence((one.panel,), one.gone, one.gone, one.begun, (), (), (), of_reading=True) for one in found]
        out[cause] = tuple(sorted((*out[cause], *pieces), key=lambda one: (-abs(one.decibans), one.names)))
    return out


def sums_of_pieces(found: Iterable[Evidence]) -> tuple[float, float]:
    """The sums of pieces of evidence, for a fault far gone and for one that has only begun (decibans)."""
    pieces = [one for one in found if not one.begun]
    return sum(one.decibans for one in pieces), sum(one.early for one in pieces)


def rank(
    base: Base, evidence_on: Mapping[str, tuple[Evidence, ...]], findings: Findings, view: View,
    lone: frozenset[str] = frozenset(),
) -> tuple[Ranked, ...]:
    """The causes, the likeliest first. A borderline reading proves nothing, nor does an answer that stands alone
    (`lone`).
    """
    scale = scale_of(base)
    unsure = lone.union(name for name, band in findings.bands.items() if band.neighbor)
    alone = []
    for cause, found in evidence_on.items():
        prior = scale.priors[cause]
        total = prior + sum(one.decibans for one in found)
        alone.append(_ranked(base, cause, prior, total, found, unsure))
    return _explained_away(base, scale, sorted(alone, key=_order), view, unsure)


def _perhaps_begun(found: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
    """The evidence, with what the cause keeps or does not gain because it may have only begun."""
    found = tuple(piece for piece in found if not piece.begun)
    sums = sums_of_pieces(found)
    shift = together(sums) - sums[0]
    if abs(shift) <= 0.005:
        return found
    return (*found, Evidence((), shift, shift, shift, (), (), (), begun=True))


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
    confirming = [rule for piece in found for rule in map(base.rules.__getitem__, piece.rules)
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
) -> tuple[Ranked, ...]:
    """The causes, where what a confirmed one accounts for does not prop up the others. Among those that nobody has
    seen, sharing the call does it (`_shared`).

    A sign that confirms a cause is never taken from it; what speaks against a cause always counts.
    """
    accounted: dict[str, list[tuple[float, str]]] = {}  # entry -> how far which causes explain it
    out = []
    for one in ranked:
        pieces = []
        for piece in one.evidence:
            if piece.of_reading:  # weighed against the other causes already
                pieces.append((piece, frozenset[str]()))
                continue
            beside = any(name not in scale.in_figures and name not in scale.equipment for name in piece.names)
            behind = frozenset(entry for name in piece.names if (name in view.known or name in view.soft)
                               and name not in scale.equipment and not (beside and name in scale.in_figures)
                               for entry in view.grounds.get(name) or (name,))
            # What a consequence explains, it takes by half alone from the cause that brings it about.
            by = {entry: max(((share * (0.5 if one.name in base.causes[cause].behind else 1.0), cause)
                              for share, cause in accounted.get(entry, ())), default=(0.0, "")) for entry in behind}
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
            if piece.decibans > 0 and now.confirmed:
                for entry in behind:
                    share = now.belief * min(1.0, piece.decibans / 5.0)
                    accounted.setdefault(entry, []).append((share, one.name))
    return _roots_first(base, sorted(_shared(base, _by_elimination(base, view, out, unsure), unsure), key=_order))


def _confirms(base: Base, cause: str, piece: Evidence) -> bool:
    """Whether a piece of evidence is the sign that confirms a cause, be it seen once and to be seen again."""
    return any(cause in base.rules[rule].confirms for rule in piece.rules)


def _shared(base: Base, ranked: list[Ranked], unsure: frozenset[str]) -> list[Ranked]:
    """The causes, where those for which something speaks share the call: hardly ever are two of them there at once.

    Each was weighed by itself, so that of many that show the same, every one may seem likely. One of them is enough.
    """
    able = [one for one in ranked if not one.confirmed and one.alone > one.prior
            and not any(_confirms(base, one.name, piece) for piece in one.evidence)]  # no other does the same
    whole = sum(one.belief for one in able)
    if whole <= 1.0 - UNLISTED:
        return ranked
    names = {one.name for one in able}
    out = []
    for one in ranked:
        if one.name in names:
            share = decibans(one.belief * (1.0 - UNLISTED) / whole)
            piece = Evidence((), share - one.alone, share - one.alone, share - one.alone, (), (), (), shared=True)
            one = replace(_ranked(base, one.name, one.prior, share, (*one.evidence, piece), unsure), alone=one.alone)
        out.append(one)
    return out


def _by_elimination(base: Base, view: View, ranked: list[Ranked], unsure: frozenset[str]) -> list[Ranked]:
    """The causes, given that a complaint, and a reading out of the ordinary, has a cause: what is left gains as the
    others are ruled out.

    Causes are weighed one by one, as if none need be there. But somebody called, so at least one of those that the
    complaint speaks for is there - all but for `UNLISTED`, the share of complaints that none of them explains.
    Conditioning independent causes on "at least one of them" divides each probability by that of the event.
    """
    complaint = view.known.get("complaint")
    events = [("complaint", explaining(base, complaint), UNLISTED, math.inf)] if complaint else []
    events += [(name, causes, UNLISTED_READING, MOST_GAIN) for name, causes in _odd_readings(base, view, unsure)
               if not any(one.confirmed and _moves(base, one.name, name, view.known[name]) for one in ranked)]
    for name, speaking, unlisted, most in events:
        at_least_one = 1.0 - math.prod(1.0 - one.belief for one in ranked if one.name in speaking)
        if not 0.0 < at_least_one < 1.0 - unlisted:
            continue
        gain = min(most, (1.0 - unlisted) / at_least_one + unlisted)
        ranked = [_gained(base, one, name, gain, unsure) if one.name in speaking and not one.confirmed else one
                  for one in ranked]
    return ranked


def _moves(base: Base, cause: str, name: str, symbol: str) -> bool:
    """Whether a cause is known to move a reading there."""
    return any(link.moves == name and symbol in link.to for link in base.causes[cause].chain)


def _gained(base: Base, one: Ranked, name: str, gain: float, unsure: frozenset[str]) -> Ranked:
    """A cause whose probability is so many times as great, since what `name` found must have a cause."""
    shift = decibans(min(0.99, one.belief * gain)) - one.total
    if shift <= 0.05:
        return one
    piece = Evidence((name,), shift, shift, shift, (), (), (), eliminated=True)
    return _ranked(base, one.name, one.prior, one.total + shift, (*one.evidence, piece), unsure)


def _odd_readings(base: Base, view: View, unsure: frozenset[str]) -> list[tuple[str, frozenset[str]]]:
    """The readings out of the ordinary, clear of every limit, each with the causes for which it speaks, also by way
    of the conditions that it helps to conclude.
    """
    out = []
    told = scale_of(base).in_figures
    for name, symbol in sorted(view.known.items()):
        item = base.named[name]
        if (name in base.conditions or name in unsure or name in told or getattr(item, "part", "") != "reading"
                or base.usual[name][symbol] > ODD):
            continue
        facts = [(name, symbol)]
        facts += [(one, view.known[one]) for one in base.conditions
                  if view.known.get(one, NONE) != NONE and name in view.grounds.get(one, ())]
        out.append((name, frozenset().union(*(spoken_for(base).get(fact, frozenset()) for fact in facts))))
    return out


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
            and (root.confirmed or (one.confirmed and belief(root.alone) >= SURE_ROOT)
                 or root.alone >= one.alone - 0.8 * CLOSE)
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
    moved = {one.names: (one.decibans, one.early) for one in first}
    for share, other in worlds[1:]:
        there = {one.names: one for one in other}
        for names in {*stands, *there}:
            now = (stands[names].decibans, stands[names].early) if names in stands else (0.0, 0.0)
            then = (there[names].decibans, there[names].early) if names in there else (0.0, 0.0)
            old = moved.get(names, (0.0, 0.0))
            moved[names] = old[0] + share * (then[0] - now[0]), old[1] + share * (then[1] - now[1])
            if names not in stands and names in there:
                stands[names] = replace(there[names], decibans=0.0, full=0.0, early=0.0)
    out = [replace(stands[names], decibans=value, early=early) for names, (value, early) in moved.items()
           if abs(value) > 0.005]
    return tuple(sorted(out, key=lambda one: (-abs(one.decibans), one.names)))
