"""From what is known to how likely each cause is.

Each cause starts at the odds of its share of such calls and gains or loses decibans. All rules that test the same
names for a cause form one table of likelihood ratios over the joint answers, scaled so that it is coherent:
averaged over the usual answers it is 1. So an expected sign that was looked for and not found speaks against
its cause by itself, and while a name of a table is unknown, the table is averaged over its usual answers.

A fault that has only begun does not do elsewhere yet what it will do later, so that many signs not found are one piece
of news: that it is not far gone. Only a look at the fault itself rules it out.

References: I. J. Good, Probability and the Weighing of Evidence, 1950 (decibans, weight of evidence).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from operator import attrgetter
from typing import Final, NamedTuple

from advisor.library.base import Base
from advisor.library.items import NONE, WEIGHTS, fits
from advisor.reasoning.engine import Fact, Firing
from advisor.reasoning.stages import together
from advisor.reasoning.tables import Group, Key, Known, Scale, scale_of
from advisor.reasoning.turnout import COMPLAINT

LIKELY: Final = 0.6
POSSIBLE: Final = 0.1

Grounds = Mapping[str, frozenset[str]]


@dataclass(frozen=True, slots=True)
class View:
    """What is known of a case: symbols and states of conditions; of open conditions the weights of their symbols
    (how much likelier than usual each has become); and the entries behind each name.
    """

    known: Known
    soft: Mapping[str, tuple[float, ...]]
    grounds: Grounds
    _heard: dict[str, list[Standing]] = field(default_factory=dict, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Evidence:
    """What one table says of one cause. `decibans` is what counts, `full` what it would be alone, `early` what counts
    of it for a fault that has only begun.

    `rules` fired; where none did and that speaks against the cause, the signs of `looked_for` were looked for and not
    found; otherwise the names that are still unknown are `open`.
    `of_calls` is the share of such calls that turn out to be this, where the complaint says it. `eliminated` marks what
    a cause gains because the complaint must have one and the others are ruled out, `begun` what it keeps or does not
    gain because it may have only begun.
    `explained_by` is a likelier cause that accounts for the same findings, so that they count less here.
    `shared` marks what it loses because others, as able to do it, share the call with it.
    `of_units` marks what a cause gains where it is known that this is one of the few units that can have it.
    `of_reading` marks what the signature of the cause says of a reading, against those of all others; `among` is what
    has to be added where the cause is compared with those others, which all have the reading in common.
    """

    names: tuple[str, ...]
    decibans: float
    full: float
    early: float
    rules: tuple[str, ...]
    looked_for: tuple[str, ...]
    open: tuple[str, ...]
    explained_by: str = ""
    eliminated: bool = False
    begun: bool = False
    of_reading: bool = False
    shared: bool = False
    of_calls: float = 0.0
    of_units: bool = False
    among: float = 0.0


def word_for(probability: float) -> str:
    """The word for a probability: likely from 60 %, possible from 10 %, unlikely below.

    >>> word_for(0.7), word_for(0.3), word_for(0.05)
    ('likely', 'possible', 'unlikely')
    """
    return "likely" if probability >= LIKELY else "possible" if probability >= POSSIBLE else "unlikely"


def applies(base: Base, cause: str, known: Known) -> bool:
    """Whether a cause can exist on this equipment at all."""
    return fits(base.causes[cause].only, known)


class Standing(NamedTuple):
    """What one table says as things stand, alone, and the entries it rests on."""

    full: float
    early: float
    """The same of a fault that has only begun."""
    group: Group
    behind: frozenset[str]
    stories: Mapping[str, float]
    """What the entries tell of (`tells_of`), each with the share of them that does."""
    repeats: bool
    """Whether every one of them only tells of such, so that it may say again what another has told."""
    order: tuple[float, tuple[str, ...]]
    """The stronger first."""


def heard(scale: Scale, cause: str, view: View) -> list[Standing]:
    """What the tables of a cause say of what is known, each alone. Worked out once for each view."""
    if not view._heard:
        touched: dict[Group, None] = {}
        for name in (*view.known, *view.soft):
            for groups in scale.groups_with.get(name, {}).values():
                touched.update(dict.fromkeys(groups))
        view._heard.update({name: [] for name in scale.groups})
        for group in touched:
            one = standing_at(scale, group, group.key(view.known, view.soft), view)
            if one:
                view._heard[group.cause].append(one)
    return view._heard[cause]


def standing_at(scale: Scale, group: Group, key: Key, view: View) -> Standing | None:
    """What a table says of what is known of its names; None where that is nothing."""
    if key.count(None) == len(key):
        return None
    full, early = group.decibans(key)
    if abs(full) <= 0.005 and abs(early) <= 0.005:
        return None
    behind: set[str] = set()
    alone = all(group.given)
    for name, part, given in zip(group.names, key, group.given, strict=True):
        if part is not None and name not in scale.equipment and (alone or not given):
            behind.update(view.grounds.get(name) or (name,))
    entries = frozenset(behind)
    return Standing(full, early, group, entries, *scale.told(entries), (-abs(full), group.names))


_strength = attrgetter("order")


def counted(found: Iterable[Standing]) -> list[tuple[float, Standing]]:
    """The share of each table's evidence that counts: less where it rests on entries that a stronger one has used.

    Signs that tell of one thing (smoke on the paper, in the flame, in the passages) are one witness heard several
    times: to a cause the second such sign is worth half of what it would be alone, the third a third. A table that
    rests on other entries too is such a witness by their share.
    """
    used: set[str] = set()
    told: dict[tuple[str, bool], float] = {}
    out = []
    for one in sorted(found, key=_strength):
        behind, speaks_for, share = one.behind, one.full > 0, 1.0
        if one.repeats:
            share /= 1 + max(told.get((story, speaks_for), 0.0) for story in one.stories)
        for story, told_of in one.stories.items():
            told[story, speaks_for] = told.get((story, speaks_for), 0.0) + told_of
        if behind and not used.isdisjoint(behind):
            share *= len(behind - used) / len(behind)
        out.append((share, one))
        used |= behind
    return out


def sums_of(found: Iterable[tuple[float, Standing]]) -> tuple[float, float]:
    """The sums of what tables say, for a fault far gone and for one that has only begun (decibans)."""
    gone = begun = 0.0
    for share, one in found:
        gone += one.full * share
        begun += one.early * share
    return gone, begun


def start(scale: Scale, cause: str, view: View) -> float:
    """The odds of a cause in decibans before any evidence: how common it is on such calls, to such units."""
    shift = scale.turnout.shift(cause, view.known.get(COMPLAINT))
    return scale.priors[cause] + shift + scale.turnout.here(cause, view.known)[1]


def total(scale: Scale, cause: str, view: View) -> float:
    """The odds of a cause in decibans: how common it is on such calls to such units, and the evidence of what is known.
    """
    return start(scale, cause, view) + together(sums_of(counted(heard(scale, cause, view))))


def evidence(scale: Scale, cause: str, view: View) -> tuple[Evidence, ...]:
    """The evidence on a cause, the strongest first."""
    out = []
    complaint = view.known.get(COMPLAINT)
    shift = scale.turnout.shift(cause, complaint)
    if shift:
        named = scale.turnout.named.get((cause, complaint or ""), ())
        out.append(Evidence((COMPLAINT,), shift, shift, shift, named, (), (),
                            of_calls=scale.turnout.share(cause, complaint)))
    units, gain = scale.turnout.here(cause, view.known)
    if gain:
        out.append(Evidence(units, gain, gain, gain, (), (), (), of_units=True))
    for share, one in counted(heard(scale, cause, view)):
        signs = one.group.signs(view.known)
        looked_for = signs.blocked if not signs.fired and one.full < 0 else ()
        still_open = signs.open if not signs.fired and not looked_for else ()
        out.append(Evidence(one.group.names, one.full * share, one.full, one.early * share, signs.fired, looked_for,
                            still_open))
    return tuple(sorted(out, key=lambda one: (-abs(one.decibans), one.names)))


@lru_cache(maxsize=8)
def spoken_for(base: Base) -> Mapping[Fact, frozenset[str]]:
    """For each fact the causes for which a rule that rests on it speaks."""
    out: dict[Fact, set[str]] = {}
    for rule in base.rules.values():
        causes = {cause for cause, weight in rule.weighs.items() if weight > 0}
        for name, any_of in rule.when.items():
            for symbol in any_of:
                out.setdefault((name, symbol), set()).update(causes)
    return {fact: frozenset(causes) for fact, causes in out.items()}


@lru_cache(maxsize=8)
def nearly_proved(base: Base) -> Mapping[Fact, frozenset[str]]:
    """For each fact the causes of which it is a near-certain sign by itself."""
    out: dict[Fact, set[str]] = {}
    for rule in base.rules.values():
        causes = {cause for cause, weight in rule.weighs.items() if weight >= WEIGHTS["near-certain"]}
        if causes and len(rule.when) == 1:
            for name, any_of in rule.when.items():
                for symbol in any_of:
                    out.setdefault((name, symbol), set()).update(causes)
    return {fact: frozenset(causes) for fact, causes in out.items()}


def soft_states(scale: Scale, known: Known, only: Iterable[str] | None = None) -> dict[str, tuple[float, ...]]:
    """Of each open condition of which a part is known: how much likelier than usual its symbols have become."""
    out = {}
    for condition in scale.patterns if only is None else only:
        if condition not in known:
            weights = scale.patterns[condition].weights(known)
            if weights is not None:
                out[condition] = weights
    return out


def condition_states(
    base: Base, symbols: Known, concluded: Mapping[str, set[str]], only: Iterable[str] | None = None
) -> dict[str, str]:
    """What is known of each condition: its value, or `NONE` where nothing can conclude it any more.

    A condition of which two values were concluded is left open, and so is one that the equipment alone rules out, for
    nobody has looked for it. `only` names the conditions wanted.
    """
    states: dict[str, str] = {}
    for name, values in concluded.items():
        if len(values) == 1:
            states[name] = next(iter(values))

    def ruled_out(name: str, told: Known, found: Mapping[str, set[str]]) -> bool:
        if name in found:
            return False
        rules = base.rules_concluding[name]
        return all(any(denied(tested, any_of, told, found) for tested, any_of in rule.when.items()) for rule in rules)

    def denied(tested: str, any_of: tuple[str, ...], told: Known, found: Mapping[str, set[str]]) -> bool:
        if tested in base.conditions:
            values = found.get(tested)
            return not values & set(any_of) if values else ruled_out(tested, told, found)
        return tested in told and told[tested] not in any_of

    for name in base.conditions if only is None else only:
        if name not in concluded and ruled_out(name, symbols, concluded):
            given = {one: symbols[one] for one in scale_of(base).equipment if one in symbols}
            if not ruled_out(name, given, {}):
                states[name] = NONE
    return states


def view_of(
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
