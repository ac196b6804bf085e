"""Which check to make next: the expected fall in the entropy of the causes, over the minutes it takes.

References: J. de Kleer and B. Williams, Diagnosing multiple faults, Artificial Intelligence 32, 1987 (the next
measurement by expected entropy); Heckerman, Breese, Rommelse, Decision-theoretic troubleshooting, CACM 38(3),
1995 (probability over cost).
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Check
from advisor.reasoning.case import Case
from advisor.reasoning.derive import Findings
from advisor.reasoning.engine import Engine, Session
from advisor.reasoning.tables import Group, Scale, belief, scale_of
from advisor.reasoning.weighing import (
    POSSIBLE,
    Standing,
    View,
    condition_states,
    counted,
    soft_states,
    standing,
    standing_at,
)

LEADS: Final = 0.75
"""From this probability on, the check that confirms the leading cause comes before others."""
WORTHLESS: Final = 0.01
"""Bits below which a check is not worth proposing."""
WORTH_A_MINUTE: Final = 0.004
"""Bits that a minute of checking must be worth; below, the check costs more than it can tell."""
ROUTINE: Final = "routine"
"""The answer that there is no complaint."""
ROOT: Final = 0.03
"""From this probability on, a cause that may lie behind a confirmed one is still asked for."""
_NEGLIGIBLE: Final = 0.008
_NO_FIRE: Final = {("start_behavior", "spray-no-flame"), ("start_behavior", "nothing"), ("ignition_delay", "none"),
                   ("motor_start", "not"), ("valves_open", "tank-empty"), ("valves_open", "valve-shut")}


@dataclass(frozen=True, slots=True)
class Stands:
    """How each table of a cause stands, and what they come to together, in decibans."""

    tables: Mapping[Group, Standing | None]
    sum: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """A check worth making: its value in bits, its minutes with set-up, why now, and what it tells apart."""

    check: str
    value: float
    minutes: float
    reason: str
    tells_apart: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Advice:
    """The next check, others behind it, and why there is none where there is none; a remedy that is quicker."""

    first: Proposal | None
    others: tuple[Proposal, ...]
    why_none: str
    remedy_as_test: str = ""


def next_check(
    base: Base, engine: Engine, case: Case, findings: Findings, view: View, totals: Mapping[str, float],
    hazard: bool, ranked: tuple[str, ...],
    rechecks: tuple[str, ...], confirmed: frozenset[str],
) -> Advice:
    """The check to make next.

    Order: rechecks of doubted readings, then safety checks, then the basic readings, then the check that confirms a
    leading cause, then the greatest value a minute. Checks whose answers are all there (or were skipped, or could
    not be had), whose instrument is not at hand, or that need a fire where none burns or a hazard forbids it, are
    left out.
    """
    latest = case.latest
    known_or_entered = {*latest, *findings.numbers}
    fire = not hazard and not any(fact in _NO_FIRE for fact in findings.symbols.items())
    possible = [check for check in base.checks.values() if _possible(base, check, case, fire)]
    open_checks = [check for check in possible
                   if any(name not in latest and not _derived(base, name) for name in check.gives)]
    done = {one for name in latest for check in base.checks_giving.get(name, ()) if check.gives[0] in latest
            for one in (*check.instruments, check.opens)}
    minutes = {check.name: minutes_of(base, check, done) for check in possible}
    unsettled = {cause: value for cause, value in totals.items() if cause not in confirmed}
    values = _values(base, engine, findings, view, unsettled,
                     {name for check in open_checks for name in check.gives if name not in view.known
                      and (name not in latest or _derived(base, name))})
    proposals = []
    for check in open_checks:
        worth: dict[str, float] = {}
        for name in check.gives:
            for cause, value in values.get(name, {}).items():
                worth[cause] = max(worth.get(cause, 0.0), value)
        told = tuple(sorted((cause for cause in worth if worth[cause] > _NEGLIGIBLE), key=lambda c: -worth[c])[:3])
        proposals.append(Proposal(check.name, sum(worth.values()), minutes[check.name], "", told))
    proposals.sort(key=lambda one: (-one.value / max(one.minutes, 0.25), one.check))
    by_name = {one.check: one for one in proposals}
    for name in rechecks:
        if name in minutes:
            told = by_name[name].tells_apart if name in by_name else ()
            first = Proposal(name, by_name[name].value if name in by_name else 0.0, minutes[name],
                             "a reading is in doubt, and a diagnosis is no better than its readings", told)
            return Advice(first, _behind(first, proposals), "")
    for check in sorted(open_checks, key=lambda check: (check.minutes, check.name)):
        if check.safety and not any(name in latest for name in check.gives):
            first = _because(by_name[check.name], "hazards come first, on every call")
            return Advice(first, _behind(first, proposals), "")
    hanging = _hangs_a_hazard(base, findings, latest)
    for check in sorted(open_checks, key=lambda check: (check.minutes, check.name)):
        if any(name in hanging for name in check.gives):
            first = _because(by_name[check.name], "with what was seen already, its answer can show a hazard")
            return Advice(first, _behind(first, proposals), "")
    for check in open_checks:
        if check.basic and not any(name in known_or_entered for name in check.gives):
            first = _because(by_name[check.name], "the readings come before parts are opened, and tell most together")
            return Advice(first, _behind(first, proposals), "")
    useful = [one for one in proposals if one.value >= max(WORTHLESS, WORTH_A_MINUTE * one.minutes)]
    if confirmed and not _unsettled(base, totals, confirmed, view.known.get("complaint")):
        useful = []
    leader = next((name for name in ranked if name not in confirmed), "")
    if leader and belief(totals[leader]) >= LEADS and (useful or not confirmed):
        confirm = by_name.get(base.causes[leader].confirm_check)
        if confirm:
            first = _because(confirm, f"it confirms the leading cause: {base.causes[leader].title}")
            return Advice(first, _behind(first, useful), "",
                          _quicker_remedy(base, leader, confirm))
    if not useful:
        why = "hazard" if hazard and not fire else "settled" if confirmed else "exhausted"
        return Advice(None, (), why)
    best = _because(useful[0], "it is worth most for its minutes")
    return Advice(best, _behind(best, useful), "", _quicker_remedy(base, leader, best) if leader else "")


def _hangs_a_hazard(base: Base, findings: Findings, latest: Mapping[str, object]) -> frozenset[str]:
    """The open names on which alone a hazard hangs: everything else that its rule asks for was seen."""
    known = findings.symbols
    out = set()
    for rule in base.rules.values():
        if rule.hazard is None or len(rule.when) < 2:
            continue
        open_names = [name for name in rule.when if name not in known]
        seen = [name for name in rule.when if name in known]
        if len(open_names) != 1 or open_names[0] in latest or any(known[name] not in rule.when[name] for name in seen):
            continue
        if any(getattr(base.named[name], "part", "") == "reading" for name in seen):
            out.add(open_names[0])
    return frozenset(out)


def explaining(base: Base, complaint: str | None) -> frozenset[str]:
    """The causes for which a complaint speaks; none where there is no complaint."""
    if complaint is None or complaint == ROUTINE:
        return frozenset()
    return frozenset(cause for rule in base.rules.values() if complaint in rule.when.get("complaint", ())
                     for cause, weight in rule.weighs.items() if weight > 0)


def _unsettled(
    base: Base, totals: Mapping[str, float], confirmed: frozenset[str], complaint: str | None
) -> bool:
    """Whether the confirmed causes leave something open: a complaint that none of them explains, another cause that
    is at least possible, or one behind them that is not to be left out.
    """
    explains = explaining(base, complaint)
    if explains and not explains & confirmed:
        return True
    roots = {root for cause in confirmed for root in base.causes[cause].behind}
    return any(belief(odds) >= (ROOT if cause in roots else POSSIBLE)
               for cause, odds in totals.items() if cause not in confirmed)


def minutes_of(base: Base, check: Check, done: Collection[str]) -> float:
    """The minutes of a check, with set-up and opening of what is not `done` (instruments, accesses) on this visit."""
    setup = sum(base.instruments[one].setup for one in check.instruments if one not in done)
    opening = base.accesses[check.opens].minutes if check.opens and check.opens not in done else 0.0
    return check.minutes + setup + opening


def _behind(first: Proposal, proposals: Iterable[Proposal]) -> tuple[Proposal, ...]:
    """The next best few after the first."""
    return tuple(one for one in proposals if one.check != first.check)[:4]


def _because(proposal: Proposal, reason: str) -> Proposal:
    return Proposal(proposal.check, proposal.value, proposal.minutes, reason, proposal.tells_apart)


def _quicker_remedy(base: Base, leader: str, best: Proposal) -> str:
    """The remedy of the leading cause, where a technician can do it quicker than the best check."""
    remedy = base.remedies[base.causes[leader].remedy]
    return remedy.name if remedy.who == "technician" and remedy.minutes < best.minutes else ""


def _derived(base: Base, name: str) -> bool:
    return name in base.quantities and bool(base.quantities[name].derived)


def _possible(base: Base, check: Check, case: Case, fire: bool) -> bool:
    if case.instruments is not None and any(one not in case.instruments for one in check.instruments):
        return False
    return fire or check.state in ("off", "any")


def _values(
    base: Base, engine: Engine, findings: Findings, view: View, totals: Mapping[str, float], names: Iterable[str],
) -> dict[str, dict[str, float]]:
    """For each open name: what its answer is worth for each cause, in bits."""
    scale = scale_of(base)
    touched = conditions_touched(base)
    stands_of = {cause: stands(scale, cause, view) for cause, odds in totals.items()
                 if belief(odds) > _NEGLIGIBLE}
    out: dict[str, dict[str, float]] = {}
    with engine.session(findings.symbols.items()) as session:
        for name in sorted(names):
            reached = {cause: stands_of[cause] for cause in _reached(scale, touched, name) if cause in stands_of}
            if reached and name in base.named:
                predicted = predict(base, scale, session, findings.symbols, view, name, reached)
                out[name] = {cause: expected_fall(belief(totals[cause]), shares.values())
                             for cause, shares in predicted.items()}
    return out


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
    out = {}
    for cause, stands in stands_of.items():
        own = scale.groups_with.get(name, {}).get(cause, ())
        without = _without(own, view, name, answers)
        with_: dict[str, float] = {}
        alone = len(own) == 1 and not conditions and name not in scale.stories
        if alone and own[0].key(view.known, view.soft).count(None) == len(own[0].names):
            # One table of which nothing is known yet: its evidence overlaps with no other, so it simply adds.
            with_ = {answer: own[0].shares(own[0].key_of({name: answer}))[1] for answer in answers}
            whole = sum(with_.values())
            out[cause] = {answer: (without[answer], with_[answer] / whole) for answer in answers}
            continue
        seen: dict[tuple[tuple[Group, float], ...], float] = {}  # answers that say the same are summed up once
        for answer, (changed, new) in worlds.items():
            groups = dict.fromkeys(group for one in changed for group in scale.groups_with.get(one, {}).get(cause, ()))
            keys = [group.key(new.known, new.soft) for group in groups]
            said = tuple([(group, group.decibans(key)) for group, key in zip(groups, keys, strict=True)])
            total = seen.get(said)
            if total is None:
                moved = dict(stands.tables)
                for group, key in zip(groups, keys, strict=True):
                    moved[group] = standing_at(scale, group, key, new)
                total = seen[said] = _sum(moved.values())
            with_[answer] = without[answer] * 10.0 ** ((total - stands.sum) / 10.0)
        whole = sum(with_.values())
        out[cause] = {answer: (without[answer], with_[answer] / whole) for answer in answers}
    return out


def stands(scale: Scale, cause: str, view: View) -> Stands:
    """How each table of a cause stands."""
    tables = {group: standing(scale, group, view) for group in scale.groups[cause]}
    return Stands(tables, _sum(tables.values()))


def _sum(stands: Iterable[Standing | None]) -> float:
    found = [one for one in stands if one is not None]
    behind = set().union(*(one.behind for one in found))
    stories = set().union(*(one.stories for one in found))
    if (len(behind) == sum(len(one.behind) for one in found)
            and len(stories) == sum(len(one.stories) for one in found)):  # none says again what another said
        return sum(one.full for one in found)
    return sum(decibans for decibans, _ in counted(found))


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
        place = groups[0].names.index(name)
        key = groups[0].key(view.known, view.soft)
        answers = {answer: groups[0].shares((*key[:place], answer, *key[place + 1:]))[0] for answer in answers}
    whole = sum(answers.values())
    return {answer: share / whole for answer, share in answers.items()}


