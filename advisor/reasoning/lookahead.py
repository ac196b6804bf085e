"""What an answer would be worth before it is given: how each answer would move each cause, and by how many bits the
entropy of the causes would fall on average.

Reference: J. de Kleer and B. Williams, Diagnosing multiple faults, Artificial Intelligence 32, 1987 (the next
measurement by expected entropy).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from advisor.library.base import Base
from advisor.reasoning.derive import Findings
from advisor.reasoning.engine import Engine, Session
from advisor.reasoning.odds import belief
from advisor.reasoning.ranking import Ranked, sums_of_pieces
from advisor.reasoning.signatures import chart_of, predicted, telling_panel, with_sound
from advisor.reasoning.stages import far_gone, together
from advisor.reasoning.tables import Group, Scale, scale_of
from advisor.reasoning.turnout import COMPLAINT
from advisor.reasoning.weighing import (
    Standing,
    View,
    condition_states,
    counted,
    heard,
    soft_states,
    standing_at,
    sums_of,
)

if TYPE_CHECKING:
    from advisor.reasoning.signatures import Table

NEGLIGIBLE: Final = 0.03
"""Below this probability a cause is valued by what an answer tells of it alone; what else is known is left aside."""


@dataclass(frozen=True, slots=True)
class Part:
    """Tables of a cause that share entries or stories with each other and with no table outside, and their sums."""

    behind: frozenset[str]
    stories: frozenset[str]
    standings: tuple[Standing, ...]
    sums: tuple[float, float]

    def touches(self, behind: Iterable[str], stories: Iterable[str]) -> bool:
        return not (self.behind.isdisjoint(behind) and self.stories.isdisjoint(stories))


@dataclass(frozen=True, slots=True)
class Stands:
    """How the tables of a cause stand, in parts whose evidence adds up, and what they come to together (decibans)."""

    parts: tuple[Part, ...]
    sums: tuple[float, float]
    sum: float

    def moved(self, to: Mapping[Group, Standing | None]) -> float:
        """What they come to where these tables stand as given. Only the parts that they touch are weighed again."""
        found = [one for one in to.values() if one is not None]
        behind = frozenset().union(*[one.behind for one in found])
        stories = frozenset().union(*[one.stories for one in found])
        gone, begun = self.sums
        for part in self.parts:
            if part.touches(behind, stories) or any(one.group in to for one in part.standings):
                gone, begun = gone - part.sums[0], begun - part.sums[1]
                found += [one for one in part.standings if one.group not in to]
        more = _sums(found)
        return together((gone + more[0], begun + more[1]))


def values(
    base: Base, engine: Engine, findings: Findings, view: View, totals: Mapping[str, float], names: Iterable[str],
    ranked: Sequence[Ranked],
) -> dict[str, dict[str, float]]:
    """For each open name: what its answer is worth for each cause, in bits. `ranked` are all causes as things stand,
    with none of them.
    """
    scale = scale_of(base)
    names = set(names)
    read_at = {name: telling_panel(base)[name] for name in names & telling_panel(base).keys() if base.signatures}
    # What the last service left tells a change, and so nothing before the reading of today is there.
    names -= {name for name, item in base.quantities.items() if item.last_of and item.last_of not in view.known}
    of_readings = _values_of_readings(base, view, totals, set(read_at.values()), ranked)
    touched = conditions_touched(base)
    stands_of = {cause: stands(scale, cause, view) for cause, odds in totals.items() if belief(odds) > NEGLIGIBLE}
    slim = {cause: entropy(belief(odds)) for cause, odds in totals.items() if cause not in stands_of}
    # each table in full, though they share entries: near enough for a cause this unlikely
    gone = {cause: far_gone(sums_of((1.0, one) for one in heard(scale, cause, view))) for cause in slim}
    out: dict[str, dict[str, float]] = {}
    with engine.session(findings.symbols.items()) as session:
        for name in sorted(names):
            if name not in base.named:
                continue
            if name in read_at:
                out[name] = dict(of_readings.get(read_at[name], {}))
                continue
            out[name] = {cause: slim[cause] * alone(scale, name, cause, gone[cause])
                         for cause in scale.groups_with.get(name, {}) if cause in slim}
            reached = {cause: stands_of[cause] for cause in _reached(scale, touched, name) if cause in stands_of}
            if reached:
                predicted = predict(base, scale, session, findings.symbols, view, name, reached)
                out[name] |= {cause: expected_fall(belief(totals[cause]), shares.values())
                              for cause, shares in predicted.items()}
    return out


def _values_of_readings(
    base: Base, view: View, totals: Mapping[str, float], panels: Iterable[str], ranked: Sequence[Ranked]
) -> dict[str, dict[str, float]]:
    """For each open panel: what reading it is worth for each cause, in bits."""
    open_ones = [panel for panel in panels if panel not in view.known]
    if not open_ones:
        return {}
    chart = chart_of(base, view.known)
    beliefs = {one.name: one.belief for one in ranked}
    if not scale_of(base).turnout.must(view.known.get(COMPLAINT)):
        beliefs = with_sound(beliefs)
    gone = {one.name: far_gone(sums_of_pieces(one.evidence)) for one in ranked}
    out = {}
    for panel in open_ones:
        names, without, with_ = predicted(chart, panel, view.known, beliefs, gone)
        falls = expected_falls([belief(totals[name]) if name in totals else 0.0 for name in names], without, with_)
        out[panel] = {name: fall for name, fall in zip(names, falls, strict=True) if name in totals}
    return out


def alone(scale: Scale, name: str, cause: str, gone: float = 1.0) -> float:
    """Which share of the entropy of an unlikely cause the answer to a name takes away, as long as nothing is known.

    What is no look at the cause itself tells of it only as far as it may be far gone (`gone`, a probability).
    """
    found = scale.telling.get((name, cause))
    if found is None:
        nothing = View({}, {}, {})
        best = {True: 0.0, False: 0.0}
        for group in scale.groups_with[name].get(cause, ()):
            answers = _by_one_table(group, nothing, name, group.spaces[group.names.index(name)])
            itself = group.early is group.with_
            best[itself] = max(best[itself], expected_fall(NEGLIGIBLE, answers.values()))
        found = scale.telling[name, cause] = best[True] / entropy(NEGLIGIBLE), best[False] / entropy(NEGLIGIBLE)
    return max(found[0], found[1] * gone)


@lru_cache(maxsize=8)
def conditions_touched(base: Base) -> dict[str, tuple[str, ...]]:
    """For each name: the conditions that it helps to conclude, directly or by way of others."""
    direct: dict[str, set[str]] = {}
    for condition, rules in base.rules_concluding.items():
        for rule in rules:
            for name in rule.when:
                direct.setdefault(name, set()).add(condition)
    for _ in base.conditions:
        for name, conditions in direct.items():
            direct[name] = conditions.union(*(direct.get(condition, set()) for condition in conditions))
    return {name: tuple(sorted(conditions)) for name, conditions in direct.items()}


def _reached(scale: Scale, touched: Mapping[str, tuple[str, ...]], name: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(
        cause for one in (name, *touched.get(name, ())) for cause in scale.groups_with.get(one, {})
    ))


def predict(
    base: Base, scale: Scale, session: Session, symbols: Mapping[str, str], view: View, name: str,
    stands_of: Mapping[str, Stands],
) -> dict[str, dict[str, tuple[float, float]]]:
    """For each cause and each answer to a name: how often it is given without the cause, and with it.

    Both sum to 1 over the answers. `stands_of` says for each cause how its tables stand now. The conditions that
    an answer brings about come from the engine, by looking ahead.
    """
    answers = base.usual[name]
    conditions = conditions_touched(base).get(name, ())
    worlds = {answer: _with_answer(base, scale, session, symbols, view, name, answer) for answer in answers}
    conditions_then = {answer: tuple([(one, new.known.get(one), new.soft.get(one)) for one in changed[1:]])
                       for answer, (changed, new) in worlds.items()}
    told = scale.stories.get(name, frozenset())
    out = {}
    for cause, stands in stands_of.items():
        own = scale.groups_with.get(name, {}).get(cause, ())
        if len(own) == 1 and not conditions and _by_itself(own[0], stands, told):
            out[cause] = _added(own[0], stands, view, name, answers)
            continue
        without = _without(own, view, name, answers)
        with_: dict[str, float] = {}
        alike = scale.alike(name, cause)
        seen: dict[tuple[int | None, object], float] = {}  # answers that say the same are summed up once
        for answer, (changed, new) in worlds.items():
            says = alike.get(answer), conditions_then[answer]
            total = seen.get(says)
            if total is None:
                groups = dict.fromkeys(
                    group for one in changed for group in scale.groups_with.get(one, {}).get(cause, ()))
                total = seen[says] = stands.moved({
                    group: standing_at(scale, group, group.key(new.known, new.soft), new) for group in groups})
            with_[answer] = without[answer] * 10.0 ** ((total - stands.sum) / 10.0)
        whole = sum(with_.values())
        out[cause] = {answer: (without[answer], with_[answer] / whole) for answer in answers}
    return out


def _by_itself(group: Group, stands: Stands, told: frozenset[str]) -> bool:
    """Whether a table shares nothing with others, nor would with a name that tells of this, so that it simply adds."""
    for part in stands.parts:
        inside = any(one.group is group for one in part.standings)
        if len(part.standings) > 1 if inside else not part.stories.isdisjoint(told):
            return False
    return True


def _added(
    group: Group, stands: Stands, view: View, name: str, answers: Iterable[str]
) -> dict[str, tuple[float, float]]:
    """For each answer how often it is given without the cause and with it, where a table simply adds to the others."""
    place, key = group.names.index(name), group.key(view.known, view.soft)
    gone, begun = stands.sums
    for part in stands.parts:
        if part.standings[0].group is group:
            gone, begun = gone - part.sums[0], begun - part.sums[1]
    alone, with_ = _by_one_table(group, view, name, answers), {}
    for answer, (without, _) in alone.items():
        full, early = group.decibans((*key[:place], answer, *key[place + 1:]))
        with_[answer] = without * 10.0 ** ((together((gone + full, begun + early)) - stands.sum) / 10.0)
    whole = sum(with_.values())
    return {answer: (without, with_[answer] / whole) for answer, (without, _) in alone.items()}


def _by_one_table(
    group: Group, view: View, name: str, answers: Iterable[str]
) -> dict[str, tuple[float, float]]:
    """For each answer how often it is given without the cause and with it, by one table alone."""
    place = group.names.index(name)
    key = group.key(view.known, view.soft)
    shares = {answer: group.shares((*key[:place], answer, *key[place + 1:])) for answer in answers}
    without, with_ = (sum(share[side] for share in shares.values()) for side in (0, 1))
    return {answer: (share[0] / without, share[1] / with_) for answer, share in shares.items()}


def stands(scale: Scale, cause: str, view: View) -> Stands:
    """How each table of a cause stands."""
    parts: list[Part] = []
    for one in heard(scale, cause, view):
        touched = [part for part in parts if part.touches(one.behind, one.stories)]
        tied = (one, *(other for part in touched for other in part.standings))
        parts = [part for part in parts if not part.touches(one.behind, one.stories)]
        parts.append(Part(one.behind.union(*(part.behind for part in touched)),
                          frozenset(one.stories).union(*(part.stories for part in touched)), tied, _sums(tied)))
    sums = sum(part.sums[0] for part in parts), sum(part.sums[1] for part in parts)
    return Stands(tuple(parts), sums, together(sums))


def _sums(found: Sequence[Standing]) -> tuple[float, float]:
    return (found[0].full, found[0].early) if len(found) == 1 else sums_of(counted(found))


def _with_answer(
    base: Base, scale: Scale, session: Session, symbols: Mapping[str, str], view: View, name: str, answer: str
) -> tuple[tuple[str, ...], View]:
    """What would be known with one more answer, and the names of which more would be known."""
    new = {**view.known, name: answer}
    conditions = conditions_touched(base).get(name, ())
    if not conditions:
        return (name,), View(new, view.soft, view.grounds)
    concluded: dict[str, set[str]] = {}
    for firing in (*session.firings, *session.ahead([(name, answer)])):
        for condition, value in base.rules[firing.rule].concludes.items():
            concluded.setdefault(condition, set()).add(value)
    states = condition_states(base, {**symbols, name: answer}, concluded, conditions)
    for condition in conditions:
        new.pop(condition, None)
    new |= states
    soft = {**view.soft, **soft_states(scale, new, conditions)}
    behind = dict(view.grounds)
    changed = [name]
    for condition in conditions:
        if new.get(condition) != view.known.get(condition) or soft.get(condition) != view.soft.get(condition):
            changed.append(condition)
            behind[condition] = view.grounds.get(condition, frozenset()) | {name}
    return tuple(changed), View(new, soft, behind)


def expected_fall(probability: float, answers: Iterable[tuple[float, float]]) -> float:
    """By how many bits the entropy of a cause falls on average when a question is answered.

    Parameters
    ----------
    probability : float
        Of the cause before the answer, 0 to 1.
    answers : iterable of (float, float)
        For each answer its probability without the cause, and with it; both sum to 1.

    Examples
    --------
    A question that settles everything is worth the whole entropy, one that is blind to the cause nothing:

    >>> expected_fall(0.5, [(1.0, 0.0), (0.0, 1.0)])
    1.0
    >>> expected_fall(0.5, [(0.7, 0.7), (0.3, 0.3)])
    0.0
    """
    after = 0.0
    for without, with_ in answers:
        whole = probability * with_ + (1.0 - probability) * without
        if whole > 0:
            after += whole * entropy(probability * with_ / whole)
    return max(0.0, entropy(probability) - after)


def expected_falls(probabilities: Sequence[float], without: Table, with_: Table) -> list[float]:
    """The same for many causes at once: a column each, a row for each answer.

    >>> import numpy as np
    >>> falls = expected_falls([0.5, 0.5], np.array([[1.0, 0.7], [0.0, 0.3]]), np.array([[0.0, 0.7], [1.0, 0.3]]))
    >>> [round(fall, 9) for fall in falls]
    [1.0, 0.0]
    """
    import numpy as np

    before = np.array(probabilities)
    there = before * with_
    whole = there + (1.0 - before) * without
    after = (whole * _entropies(np.divide(there, whole, out=np.zeros_like(whole), where=whole > 0))).sum(axis=0)
    falls: list[float] = np.maximum(0.0, _entropies(before) - after).tolist()
    return falls


def _entropies(probabilities: Table) -> Table:
    """Entropies of a yes or no, in bits; zero where it is certain."""
    import numpy as np

    inside = np.clip(probabilities, 1e-300, 1.0 - 1e-16)
    found: Table = -(inside * np.log2(inside) + (1.0 - inside) * np.log2(1.0 - inside))
    return np.maximum(found, 0.0)


def entropy(probability: float) -> float:
    """Entropy of a yes or no, in bits.

    >>> entropy(0.5), entropy(1.0)
    (1.0, 0.0)
    """
    if probability <= 0.0 or probability >= 1.0:
        return 0.0
    return -probability * math.log2(probability) - (1.0 - probability) * math.log2(1.0 - probability)


def _without(groups: tuple[Group, ...], view: View, name: str, answers: Mapping[str, float]) -> dict[str, float]:
    """How often each answer is given where the cause is absent, as its (first) table on that name has it."""
    if groups:
        return {answer: without for answer, (without, _) in _by_one_table(groups[0], view, name, answers).items()}
    whole = sum(answers.values())
    return {answer: share / whole for answer, share in answers.items()}
