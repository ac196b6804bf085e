"""What can be checked now, and what each of it would be worth.

Reference: Heckerman, Breese, Rommelse, Decision-theoretic troubleshooting, CACM 38(3),
1995 (probability over cost).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Check, Observation, Quantity
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.derive import Findings
from advisor.reasoning.engine import Engine, Fact
from advisor.reasoning.gate import Gate, Stop
from advisor.reasoning.hazards import CURED_STATE, HazardFound
from advisor.reasoning.lookahead import values
from advisor.reasoning.odds import belief
from advisor.reasoning.ranking import Ranked
from advisor.reasoning.turnout import COMPLAINT, ROUTINE, explaining
from advisor.reasoning.weighing import POSSIBLE, View, spoken_for

WORTHLESS: Final = 0.01
"""Bits below which a check is not worth proposing."""
BITS_A_MINUTE: Final = 0.012
"""Bits that a minute of checking must be worth; below, the check costs more than it can tell."""
RAISED: Final = 3.0
"""Decibans by which a cause has become likelier where what was found speaks for it: twice as likely."""
BITS_A_MINUTE_UNEXPLAINED: Final = 0.004
"""The same while nothing that was found explains what the call is about: nobody leaves a cold house for the minutes."""
OUT_OF_SCOPE: Final = 0.3
"""What it is worth to learn of a cause that the call is not about, against one that it is about."""
UNHINTED: Final = 0.05
"""The same on a yearly service, of a cause that nothing hints at: the customer lives with the unit and has noticed
nothing (our own estimate).
"""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A check worth making: its value in bits, its minutes with set-up, why now, and what it tells apart."""

    check: str
    value: float
    minutes: float
    reason: str
    tells_apart: tuple[str, ...]


Chosen = tuple[Proposal, str] | None
"""A check, and the remedy that is quicker, where one is."""


@dataclass(frozen=True, eq=False)
class Choice:
    """What can be checked now, and what each of it is worth: what the steps of `nextcheck.py` choose from."""

    base: Base
    gate: Gate
    findings: Findings
    ranked: Sequence[Ranked]
    hazards: Sequence[HazardFound]
    rechecks: Sequence[str]
    latest: Mapping[str, Entry]
    complaint: str | None
    checks: Sequence[Check]
    """With an answer that is open, the instruments at hand, a state of the burner that can be had, and allowed."""
    worth_of: Mapping[str, Mapping[str, float]]
    """What the answer to each open name tells of each cause, in bits."""
    minutes: Mapping[str, float]
    """Of every check that is possible, whether it has been made or not."""
    stops: Mapping[str, tuple[Stop, ...]]
    done: frozenset[str]
    before: Mapping[str, tuple[str, str] | None]
    """For each check with an open answer what has to be made before it and why; empty where nothing, None where it
    cannot be made.
    """
    harmed: frozenset[str]
    """The instruments that what was read would harm."""
    in_the_way: tuple[Stop, ...]
    """What stands in the way of checks that would be worth making."""

    @cached_property
    def spared(self) -> frozenset[str]:
        """The checks with an instrument that what was read would harm: left for the end."""
        return frozenset(check.name for check in self.checks
                         if check.basic and self.harmed.intersection(check.instruments))

    @cached_property
    def roots(self) -> frozenset[str]:
        """The causes that may lie behind the confirmed ones."""
        behind = (self.base.causes[one].behind for one in self.confirmed)
        return frozenset(root for roots in behind for root in roots) - self.confirmed

    @cached_property
    def bits(self) -> Mapping[str, Mapping[str, float]]:
        """What each check tells of each cause."""
        matters = causes_in_scope(self)
        beside = UNHINTED if self.complaint == ROUTINE else OUT_OF_SCOPE
        return {check.name: _bits(check, self.worth_of, matters, beside) for check in self.checks}

    @cached_property
    def proposals(self) -> Sequence[Proposal]:
        """Of each check, the one that is worth most a minute first."""
        return sorted((one for name, one in self.by_name.items() if name not in self.spared),
                      key=lambda one: (-ratio(one), one.check))

    @cached_property
    def by_name(self) -> Mapping[str, Proposal]:
        """What each check would be worth."""
        return {name: Proposal(name, sum(told.values()), self.minutes[name], "", tells_apart(told))
                for name, told in self.bits.items()}

    @cached_property
    def confirmed(self) -> frozenset[str]:
        """The causes that are a fact."""
        return frozenset(one.name for one in self.ranked if one.confirmed)

    @cached_property
    def alarming(self) -> frozenset[Fact]:
        """The findings that show a hazard."""
        return frozenset(fact for found in self.hazards for firing in found.firings for fact in firing.facts)

    def seen(self, check: Check) -> bool:
        """Whether something of what a check gives was entered already."""
        return any(name in self.latest for name in check.gives)

    def known(self, check: Check) -> bool:
        """The same, or computed from entries."""
        return any(name in self.latest or name in self.findings.numbers for name in check.gives)

    def propose(self, check: str, reason: str) -> Chosen:
        """One of the checks, for a reason; None where it is not among them."""
        return (replace(self.by_name[check], reason=reason), "") if check in self.by_name else None


def choice_of(
    base: Base, engine: Engine, case: Case, findings: Findings, view: View, ranked: Sequence[Ranked],
    none: Ranked, gate: Gate, hazards: Sequence[HazardFound], rechecks: Sequence[str],
) -> Choice:
    """What can be checked now. Left out are checks whose answers are all there (or were skipped, or could not be had),
    whose instrument is not at hand, that can tell nothing yet or here, that need a fire where none burns, or that the
    gate stops, unless it only wants a look first.
    """
    latest = case.latest
    missing, proving = _missing(base, findings), proving_checks(base, hazards)
    at_hand = [check for check in base.checks.values() if not check.lacks(missing) and _at_hand(check, case)
               and (check.can_tell(view.known, latest) or check.name in proving)]  # a proof is never of no use
    stops = {check.name: gate.stops_check(check) for check in at_hand}
    possible = [check for check in at_hand if all(stop.missing for stop in stops[check.name])]
    open_names = {check.name: [name for name in base.asked_by(check, view.known) if name not in latest]
                  for check in possible}
    names = {check.name for check in possible}
    before = {check.name: _made_first(base, check, stops[check.name], latest, names) for check in possible
              if open_names[check.name]}
    checks = [check for check in possible if before.get(check.name) is not None]
    done = frozenset(one for name in latest for check in base.checks_giving.get(name, ()) if check.gives[0] in latest
                     for one in check.takes_once)
    minutes = {check.name: minutes_of(base, check, done) for check in possible}
    unsettled = {one.name: one.alone for one in ranked if not one.confirmed}
    worth_of = values(base, engine, findings, view, unsettled,
                      {name for check in checks for name in check.gives if name not in view.known
                       and (name in open_names[check.name] or name not in base.asked_of)}, (*ranked, none))
    in_the_way = tuple(dict.fromkeys(
        stop for check in at_hand for stop in stops[check.name]
        if (not stop.missing or _passed_over(stop, latest))
        and any(name not in latest for name in base.asked_by(check, view.known))))
    return Choice(base, gate, findings, ranked, hazards, rechecks, latest, view.known.get(COMPLAINT), checks, worth_of,
                  minutes, stops, done, before, _harmed(base, case, view.known, possible), in_the_way)


def _made_first(
    base: Base, check: Check, stops: Iterable[Stop], latest: Mapping[str, Entry], possible: Collection[str]
) -> tuple[str, str] | None:
    """What has to be made before a check, and why: the quickest one that makes a look which is wanted first (before a
    start, one that lights nothing; before a long run, one that may light), the reading for which an instrument is
    spared, the proof of the instrument. Empty where nothing is, None where a look cannot be made.
    """
    first = "", ""
    for stop in stops:
        giving = [one for one in base.checks_giving.get(stop.look, ()) if one.name in possible
                  and not (stop.act == "start" and "start" in base.acts_of_check(one))]
        if not giving or _passed_over(stop, latest):
            return None
        may = "be lit" if stop.act == "start" else "run on"
        reason = f"without it nobody can know whether the burner may {may}: {stop.because}"
        first = first if first[0] else (min(giving, key=lambda one: (one.minutes, one.name)).name, reason)
    if first[0]:
        return first
    for instrument in map(base.instruments.__getitem__, check.instruments):
        harms = [one for name in instrument.spared_until if check.basic and name not in latest
                 for one in base.checks_giving.get(name, ())[:1] if one.name in possible]
        if harms:
            return harms[0].name, f"it comes before the {instrument.title}: {instrument.spared_because}"
        proof = base.checks.get(instrument.proven_by)
        if proof and proof is not check and proof.name in possible and not any(name in latest for name in proof.gives):
            return proof.name, f"the {instrument.title} is proven before its first reading of a call, which counts then"
    return first


def _harmed(base: Base, case: Case, known: Mapping[str, str], possible: Sequence[Check]) -> frozenset[str]:
    """The instruments at hand that what was read would harm."""
    used = {name for check in possible if check.basic for name in check.instruments}
    return frozenset(name for name in used if any(
        one in case.latest and one in known and known[one] not in any_of
        for one, any_of in base.instruments[name].spared_until.items()))


def _passed_over(stop: Stop, latest: Mapping[str, Entry]) -> bool:
    """Whether somebody said that the look was not made, or could not be had."""
    return stop.look in latest and latest[stop.look].value is None


def causes_in_scope(choice: Choice) -> frozenset[str]:
    """The causes about which the call is: those for which the complaint or what was seen of a hazard speaks, as long
    as none of them is confirmed; and those that are possible or may lie behind a confirmed one. On a yearly service
    those for which something speaks that was found: beyond its own work nobody looks for what nothing hints at. Where
    nobody has said what the call is about, all.
    """
    base = choice.base
    told = [explaining(base, choice.complaint),
            *(spoken_for(base).get(fact, frozenset()) for fact in choice.alarming)]
    about = frozenset().union(*(causes for causes in told if not causes & choice.confirmed))
    if choice.complaint is None and not any(told) and not choice.confirmed:
        return frozenset(one.name for one in choice.ranked)
    possible = (one.name for one in choice.ranked
                if belief(one.alone) >= POSSIBLE or (choice.complaint == ROUTINE and _raised(one)))
    return about.union(choice.roots, possible)


def _raised(one: Ranked) -> bool:
    """Whether what was found speaks for a cause."""
    units = sum(piece.decibans for piece in one.evidence if piece.of_units)
    return one.alone - one.prior - units >= RAISED


def _bits(
    check: Check, worth_of: Mapping[str, Mapping[str, float]], matters: frozenset[str], beside: float
) -> dict[str, float]:
    """What a check tells of each cause, the most that one of its answers does; of one that does not matter by the
    share `beside`.
    """
    bits: dict[str, float] = {}
    for name in check.gives:
        for cause, value in worth_of.get(name, {}).items():
            bits[cause] = max(bits.get(cause, 0.0), value * (1.0 if cause in matters else beside))
    return bits


def minutes_of(base: Base, check: Check, done: Collection[str]) -> float:
    """The minutes of a check, with what it takes once a visit (instruments set up, parts opened, a fire that has
    settled) and is not `done` yet.
    """
    once = sum(base.instruments[one].setup if one in base.instruments else base.accesses[one].minutes
               for one in check.takes_once if one not in done)
    return check.minutes + once


def ratio(proposal: Proposal) -> float:
    return proposal.value / max(proposal.minutes, 0.25)


def tells_apart(bits: Mapping[str, float]) -> tuple[str, ...]:
    """The causes of which something tells most."""
    return tuple(sorted((cause for cause in bits if bits[cause] > WORTHLESS), key=lambda cause: -bits[cause])[:3])


def proving_checks(base: Base, hazards: Iterable[HazardFound]) -> list[str]:
    """The checks that prove what was put right."""
    return [name for found in hazards if found.state == CURED_STATE for name in base.hazards[found.name].proof_checks]


@lru_cache(maxsize=8)
def _entered(base: Base) -> Mapping[str, Quantity | Observation]:
    """What tells that something cannot be had, by name."""
    return {item.name: item for item in base.entered if item.without}


def _missing(base: Base, findings: Findings) -> frozenset[str]:
    """What cannot be had, by what was found: oil that flows, a fire."""
    return frozenset(one for name, symbol in findings.symbols.items() if name in _entered(base)
                     for one in _entered(base)[name].without.get(symbol, ()))


def _at_hand(check: Check, case: Case) -> bool:
    return case.instruments is None or all(one in case.instruments for one in check.instruments)
