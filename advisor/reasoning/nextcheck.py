"""Which check to make next: the expected fall in the entropy of the causes, over the minutes it takes.

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
from advisor.reasoning.lookahead import entropy, values
from advisor.reasoning.odds import belief
from advisor.reasoning.ranking import Ranked, none_leads
from advisor.reasoning.turnout import COMPLAINT, ROUTINE, explaining
from advisor.reasoning.weighing import POSSIBLE, View, nearly_proved, spoken_for

LEADS: Final = 0.75
"""From this probability on, the check that confirms the leading cause comes before others."""
WORTHLESS: Final = 0.01
"""Bits below which a check is not worth proposing."""
WORTH_A_MINUTE: Final = 0.012
"""Bits that a minute of checking must be worth; below, the check costs more than it can tell."""
WORTH_A_MINUTE_OF_SERVICE: Final = 0.005
"""The same on a routine call, where the whole unit is to be gone over and nobody waits in the cold."""
ASIDE: Final = 0.3
"""What it is worth to learn of a cause that the call is not about, against one that it is about."""
SECOND_LOOK: Final = 2.0
"""Minutes of a second look at what is open, or a second reading with what is set up (our own estimate)."""
_LIT: Final = ("any", "off", "live", "powered", "starting", "running", "stopping")
"""The states of the burner, from the safest to bring about on."""


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
    stopped: tuple[Stop, ...] = ()
    """What stands in the way of checks that would be worth making."""
    spared: tuple[str, ...] = ()
    """The instruments that are not to be used before what harms them is away."""


@dataclass(frozen=True, eq=False)
class _Choice:
    """What can be checked now, and what each of it is worth: what the steps of `next_check` choose from."""

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

    @cached_property
    def bits(self) -> Mapping[str, Mapping[str, float]]:
        """What each check tells of each cause."""
        matters = _matters(self)
        return {check.name: _bits(check, self.worth_of, matters) for check in self.checks}

    @cached_property
    def proposals(self) -> Sequence[Proposal]:
        """Of each check, the one that is worth most a minute first."""
        return sorted((Proposal(name, sum(told.values()), self.minutes[name], "", _tells_apart(told))
                       for name, told in self.bits.items()), key=lambda one: (-_ratio(one), one.check))

    @cached_property
    def by_name(self) -> Mapping[str, Proposal]:
        """The proposals by their checks."""
        return {one.check: one for one in self.proposals}

    @cached_property
    def confirmed(self) -> frozenset[str]:
        """The causes that are a fact."""
        return frozenset(one.name for one in self.ranked if one.confirmed)

    @cached_property
    def alarming(self) -> frozenset[Fact]:
        """The findings that show a hazard."""
        return frozenset(fact for found in self.hazards for firing in found.firings for fact in firing.facts)

    @property
    def price(self) -> float:
        """The bits that a minute must be worth."""
        return WORTH_A_MINUTE_OF_SERVICE if self.complaint == ROUTINE else WORTH_A_MINUTE

    def seen(self, check: Check) -> bool:
        """Whether something of what a check gives was entered already."""
        return any(name in self.latest for name in check.gives)

    def known(self, check: Check) -> bool:
        """The same, or computed from entries."""
        return any(name in self.latest or name in self.findings.numbers for name in check.gives)

    def propose(self, check: str, reason: str) -> _Chosen:
        """One of the checks, for a reason; None where it is not among them."""
        return (replace(self.by_name[check], reason=reason), "") if check in self.by_name else None


def next_check(
    base: Base, engine: Engine, case: Case, findings: Findings, view: View, ranked: Sequence[Ranked],
    none: Ranked, gate: Gate, hazards: Sequence[HazardFound], rechecks: Sequence[str],
) -> Advice:
    """The check to make next: the first that one of `STEPS` chooses, each of which says why.

    Left out are checks whose answers are all there (or were skipped, or could not be had), whose instrument is not at
    hand, that can tell nothing yet or here, that need a fire where none burns, or that the gate stops. Where the gate
    wants a look first, the look comes first. `hazards` are those not released; `rechecks` are the checks that take a
    doubted reading again.
    """
    if gate.emergency:
        return Advice(None, (), "emergency")
    latest = case.latest
    missing = _missing(base, findings)
    proving = _proving(base, hazards)
    at_hand = [check for check in base.checks.values() if not check.lacks(missing) and _at_hand(check, case)
               and (check.can_tell(view.known, latest) or check.name in proving)]  # a proof is never of no use
    stops = {check.name: gate.stops_check(check) for check in at_hand}
    possible = [check for check in at_hand if all(stop.missing for stop in stops[check.name])]
    open_names = {check.name: [name for name in base.asked_by(check, view.known) if name not in latest]
                  for check in possible}
    spared = _spared(base, case, view.known, possible)
    before = {check.name: _made_first(base, check, stops[check.name], latest, possible) for check in possible
              if open_names[check.name] and not (check.basic and spared.intersection(check.instruments))}
    checks = [check for check in possible if before.get(check.name) is not None]
    done = frozenset(one for name in latest for check in base.checks_giving.get(name, ()) if check.gives[0] in latest
                     for one in check.takes_once)
    minutes = {check.name: minutes_of(base, check, done) for check in possible}
    unsettled = {one.name: one.alone for one in ranked if not one.confirmed}
    worth_of = values(base, engine, findings, view, unsettled,
                      {name for check in checks for name in check.gives if name not in view.known
                       and (name in open_names[check.name] or name not in base.asked_of)}, (*ranked, none))
    choice = _Choice(base, gate, findings, ranked, hazards, rechecks, latest, view.known.get(COMPLAINT), checks,
                     worth_of, minutes, stops, done)
    in_the_way = tuple(dict.fromkeys(
        stop for check in at_hand for stop in stops[check.name]
        if (not stop.missing or _passed_over(stop, latest))
        and any(name not in latest for name in base.asked_by(check, view.known))))
    for step in STEPS:
        found = step(choice)
        if found is None:
            continue
        first, remedy = found
        look, reason = before.get(first.check) or ("", "")
        if look:  # it has to be made before
            first = replace(choice.by_name.get(look) or Proposal(look, 0.0, minutes[look], "", ()), reason=reason)
            remedy = ""
        behind = () if step is _closing else tuple(
            one for one in choice.proposals
            if not (before.get(one.check) or ("",))[0] and one.check != first.check)[:4]
        return Advice(first, behind, "", remedy, in_the_way, tuple(sorted(spared)))
    why_none = ("hazard" if in_the_way and hazards else "settled" if choice.confirmed
                else "none-fits" if none_leads(none, ranked) else "exhausted")
    return Advice(None, (), why_none, stopped=in_the_way, spared=tuple(sorted(spared)))


_Chosen = tuple[Proposal, str] | None
"""A check, and the remedy that is quicker, where one is."""


def _proof(choice: _Choice) -> _Chosen:
    """What proves that a hazard which was put right is gone."""
    for name in _proving(choice.base, choice.hazards):
        found = choice.propose(name, "it proves that what was put right is right")
        if found:
            return found
    return None


def _second_look(choice: _Choice) -> _Chosen:
    """A reading in doubt, taken again."""
    for name in choice.rechecks:
        if name in choice.minutes and not choice.stops[name]:
            told = choice.by_name.get(name) or Proposal(name, 0.0, 0.0, "", ())
            return replace(told, minutes=min(SECOND_LOOK, choice.minutes[name]),
                           reason="a reading is in doubt, and a diagnosis is no better than its readings"), ""
    return None


def _before_anything(choice: _Choice) -> _Chosen:
    """People, the air of the room, the look round, what was changed; then a start as it happens, once the looks that it
    needs are clear.

    What makes a start dangerous is looked for before anything is switched on, and the start is watched before what
    needs a burner that runs.
    """
    for check in sorted(choice.checks, key=_as_it_is_lit):
        if _is_the_start(check) and check.gives[0] not in choice.latest:
            reason = "the others show only once it has been started"
        elif choice.seen(check):
            continue
        elif check.round:  # the list takes all of them at once
            reason = "the look round comes first, on every call"
        elif check.safety and not check.closing and check.state != "stopping":
            reason = "hazards come first, on every call"
        elif check.early:
            reason = "what was touched last is the first suspect"
        else:
            continue
        return choice.propose(check.name, reason)
    return None


def _what_may_be_dangerous(choice: _Choice) -> _Chosen:
    """A look on which alone a hazard hangs, and at the cause of which a hazard is a near-certain sign."""
    hanging = _hangs_a_hazard(choice.base, choice.findings, choice.latest)
    for check in sorted(choice.checks, key=lambda check: (check.minutes, check.name)):
        if any(name in hanging for name in check.gives):
            return choice.propose(check.name, "with what was seen already, its answer can show a hazard")
    near = nearly_proved(choice.base)
    dangerous = frozenset().union(*(near.get(fact, frozenset()) for fact in choice.alarming))
    for one in choice.ranked:
        cause = choice.base.causes[one.name]
        if one.name in dangerous and not one.confirmed:
            found = choice.propose(cause.confirm_check, f"what was found is dangerous by its cause: {cause.title}")
            if found:
                return found
    return None


def _service_readings(choice: _Choice) -> _Chosen:
    """On a routine call the readings, which it takes anyway."""
    left = _readings_left(choice) if choice.complaint == ROUTINE else []
    return choice.propose(left[0].name, "a service call takes the readings, and they tell most together") \
        if left else None


def _worth_most(choice: _Choice) -> _Chosen:
    """What is worth most for its minutes: the look that confirms a leading cause, the readings together, or one check.
    """
    useful = [one for one in choice.proposals if one.value >= max(WORTHLESS, choice.price * one.minutes)]
    settled = bool(choice.confirmed) and choice.complaint != ROUTINE and not _unsettled(choice)
    if settled:
        roots = _roots(choice)
        useful = [one for one in useful
                  if sum(bits for cause, bits in choice.bits[one.check].items() if cause in roots)
                  >= max(WORTHLESS, choice.price * one.minutes)]
    open_ones = [one for one in choice.ranked if not one.confirmed]
    leader = open_ones[0] if open_ones else None
    for one in open_ones if useful or not choice.confirmed else ():
        cause = choice.base.causes[one.name]
        found = choice.propose(cause.confirm_check, f"it confirms the leading cause: {cause.title}")
        if found and belief(one.alone) >= LEADS:
            return found[0], _quicker_remedy(choice, one.name, found[0])
    together = _readings_together(choice)
    if together and not settled and together.value >= choice.price * together.minutes and (
            not useful or _ratio(together) >= _ratio(useful[0])):
        return replace(together, minutes=choice.minutes[together.check],
                       reason="the readings of a settled fire tell most together"), ""
    if useful:
        reason = "another fault may lie behind what was found" if settled else "it is worth most for its minutes"
        best = replace(useful[0], reason=reason)
        return best, _quicker_remedy(choice, leader.name, best) if leader else ""
    return None


def _closing(choice: _Choice) -> _Chosen:
    """What no unit is left without: the safety checks and the readings that are left."""
    unseen = [check for check in choice.checks if check.safety and not choice.seen(check)]
    if unseen:
        return choice.propose(min(unseen, key=_as_it_is_lit).name, "no unit is left before this was seen")
    left = _readings_left(choice)
    return choice.propose(left[0].name, "no unit is left without its readings") if left else None


STEPS: Final = (_proof, _second_look, _before_anything, _what_may_be_dangerous, _service_readings, _worth_most,
                _closing)
"""The order of what comes first."""


def _ratio(proposal: Proposal) -> float:
    return proposal.value / max(proposal.minutes, 0.25)


def _tells_apart(bits: Mapping[str, float]) -> tuple[str, ...]:
    """The causes of which something tells most."""
    return tuple(sorted((cause for cause in bits if bits[cause] > WORTHLESS), key=lambda cause: -bits[cause])[:3])


def _proving(base: Base, hazards: Iterable[HazardFound]) -> list[str]:
    """The checks that prove what was put right."""
    return [name for found in hazards if found.state == CURED_STATE for name in base.hazards[found.name].proof_checks]


def _readings_left(choice: _Choice) -> list[Check]:
    """The readings that no visit goes without and that nothing tells yet."""
    return [check for check in choice.checks if check.basic and not _is_the_start(check) and not choice.known(check)]


def _readings_together(choice: _Choice) -> Proposal | None:
    """The readings that are left as one: what they tell together, over the minutes that all of them take."""
    left = _readings_left(choice)
    if len(left) < 2:
        return None
    sums: dict[str, float] = {}
    minutes, done = 0.0, set(choice.done)
    alone = {one.name: one.alone for one in choice.ranked}
    for check in left:
        minutes += minutes_of(choice.base, check, done)
        done.update(check.takes_once)
        for cause, told in choice.bits[check.name].items():
            sums[cause] = min(entropy(belief(alone[cause])), sums.get(cause, 0.0) + told)
    return Proposal(left[0].name, sum(sums.values()), minutes, "", _tells_apart(sums))


def _made_first(
    base: Base, check: Check, stops: Iterable[Stop], latest: Mapping[str, Entry], possible: Sequence[Check]
) -> tuple[str, str] | None:
    """What has to be made before a check, and why: the quickest one that makes a look which is wanted first, the
    reading for which an instrument is spared, the proof of the instrument. Empty where nothing is, None where a look
    cannot be made.
    """
    first = "", ""
    for stop in stops:
        giving = [one for one in base.checks_giving.get(stop.look, ()) if one in possible
                  and "start" not in base.acts_of_check(one)]
        if not giving or _passed_over(stop, latest):
            return None
        reason = f"without it nobody can know whether the burner may be lit: {stop.because}"
        first = first if first[0] else (min(giving, key=lambda one: (one.minutes, one.name)).name, reason)
    if first[0]:
        return first
    for instrument in map(base.instruments.__getitem__, check.instruments):
        harms = [one for name in instrument.spared_until if check.basic and name not in latest
                 for one in base.checks_giving.get(name, ())[:1] if one in possible]
        if harms:
            return harms[0].name, f"it comes before the {instrument.title}: {instrument.spared_because}"
        proof = base.checks.get(instrument.proven_by)
        if proof and proof is not check and proof in possible and not any(name in latest for name in proof.gives):
            return proof.name, f"the {instrument.title} is proven before its first reading of a call, which counts then"
    return first


def _spared(base: Base, case: Case, known: Mapping[str, str], possible: Sequence[Check]) -> frozenset[str]:
    """The instruments at hand that what was read would harm."""
    used = {name for check in possible if check.basic for name in check.instruments}
    return frozenset(name for name in used if any(
        one in case.latest and one in known and known[one] not in any_of
        for one, any_of in base.instruments[name].spared_until.items()))


def _passed_over(stop: Stop, latest: Mapping[str, Entry]) -> bool:
    """Whether somebody said that the look was not made, or could not be had."""
    return stop.look in latest and latest[stop.look].value is None


def _is_the_start(check: Check) -> bool:
    return check.basic and check.state == "starting"


def _as_it_is_lit(check: Check) -> tuple[bool, int, bool, bool, float, str]:
    """What makes a start dangerous is looked for before anything is switched on, and the start is watched before what
    needs a burner that runs.
    """
    return (not check.round, _LIT.index(check.state), not _is_the_start(check), check.early, check.minutes,
            check.name)


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


def _unsettled(choice: _Choice) -> bool:
    """Whether the confirmed causes leave something open: a complaint that none of them explains, by itself or by what
    it brings about, or another cause that is at least possible.
    """
    explains = explaining(choice.base, choice.complaint)
    explains |= {root for one in explains for root in choice.base.causes[one].behind}
    if explains and not explains & choice.confirmed:
        return True
    return any(one.belief >= POSSIBLE for one in choice.ranked if not one.confirmed)


def _roots(choice: _Choice) -> frozenset[str]:
    """The causes that may lie behind the confirmed ones."""
    behind = (choice.base.causes[one].behind for one in choice.confirmed)
    return frozenset(root for roots in behind for root in roots) - choice.confirmed


def _matters(choice: _Choice) -> frozenset[str]:
    """The causes about which the call is: those for which the complaint or what was seen of a hazard speaks, as long
    as none of them is confirmed; and those that are possible or may lie behind a confirmed one. Where there is no
    complaint and no hazard, all.
    """
    base = choice.base
    told = [explaining(base, choice.complaint),
            *(spoken_for(base).get(fact, frozenset()) for fact in choice.alarming)]
    about = frozenset().union(*(causes for causes in told if not causes & choice.confirmed))
    if not any(told) and not choice.confirmed:
        return frozenset(one.name for one in choice.ranked)
    possible = (one.name for one in choice.ranked if belief(one.alone) >= POSSIBLE)
    return about.union(_roots(choice), possible)


def _bits(check: Check, worth_of: Mapping[str, Mapping[str, float]], matters: frozenset[str]) -> dict[str, float]:
    """What a check tells of each cause: the most that one of its answers does."""
    bits: dict[str, float] = {}
    for name in check.gives:
        for cause, value in worth_of.get(name, {}).items():
            bits[cause] = max(bits.get(cause, 0.0), value * (1.0 if cause in matters else ASIDE))
    return bits


def minutes_of(base: Base, check: Check, done: Collection[str]) -> float:
    """The minutes of a check, with what it takes once a visit (instruments set up, parts opened, a fire that has
    settled) and is not `done` yet.
    """
    once = sum(base.instruments[one].setup if one in base.instruments else base.accesses[one].minutes
               for one in check.takes_once if one not in done)
    return check.minutes + once


def _quicker_remedy(choice: _Choice, leader: str, best: Proposal) -> str:
    """The remedy of the leading cause, where a technician can do it quicker than the best check and every step of it
    is allowed.
    """
    remedy = choice.base.remedies[choice.base.causes[leader].remedy]
    quicker = remedy.who == "technician" and remedy.minutes < best.minutes
    return remedy.name if quicker and all(choice.gate.allows(step) for step in remedy.steps) else ""


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
