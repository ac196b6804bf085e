"""Which check to make next: the expected fall in the entropy of the causes, over the minutes it takes.

Reference: Heckerman, Breese, Rommelse, Decision-theoretic troubleshooting, CACM 38(3),
1995 (probability over cost).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Check
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.derive import Findings
from advisor.reasoning.engine import Engine, Fact
from advisor.reasoning.gate import Gate, Stop
from advisor.reasoning.hazards import CURED_STATE, HazardFound
from advisor.reasoning.lookahead import values
from advisor.reasoning.ranking import Ranked
from advisor.reasoning.tables import belief
from advisor.reasoning.weighing import POSSIBLE, ROUTINE, View, explaining, nearly_proved, spoken_for

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
_LIT: Final = ("any", "off", "live", "powered", "starting", "running", "stopping")
_POWERED: Final = frozenset(("powered",))
_FIRED: Final = frozenset(("starting", "running", "stopping"))
_NO_PUMP: Final = {("start_behavior", "nothing"), ("motor_start", "not"), ("valves_open", "tank-empty"),
                    ("valves_open", "valve-shut")}
_NO_FIRE: Final = _NO_PUMP | {("start_behavior", "spray-no-flame"), ("ignition_delay", "none")}


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


def next_check(
    base: Base, engine: Engine, case: Case, findings: Findings, view: View, ranked: Sequence[Ranked],
    gate: Gate, hazards: Sequence[HazardFound], rechecks: Sequence[str],
) -> Advice:
    """The check to make next.

    Order: the proof of a hazard that was cured, rechecks of doubted readings, the look round and the air of the room,
    a start, then looks at what may still turn out a hazard, and at the cause of which a hazard is a near-certain sign,
    then the basic readings, then the check that confirms a leading cause, then the greatest value a minute; at the end
    what is left of the safety checks. Left out are checks whose answers are all there (or were skipped, or could not be
    had), whose instrument is not at hand, that can tell nothing yet or here, that need a fire where none burns, or that
    the gate stops. Where the gate wants a look first, the look comes first. `hazards` are those not released;
    `rechecks` are the checks that take a doubted reading again.
    """
    if gate.emergency:
        return Advice(None, (), "emergency")
    totals = {one.name: one.alone for one in ranked}
    confirmed = frozenset(one.name for one in ranked if one.confirmed)
    alarming = frozenset(fact for found in hazards for firing in found.firings for fact in firing.facts)
    latest = case.latest
    known_or_entered = {*latest, *findings.numbers}
    states = _states(findings)
    proving = [name for found in hazards if found.state == CURED_STATE
               for name in base.hazards[found.name].proof_checks]
    at_hand = [check for check in base.checks.values() if check.state in states and _at_hand(check, case)
               and (check.can_tell(view.known, latest) or check.name in proving)]  # a proof is never of no use
    stops = {check.name: gate.stops_check(check) for check in at_hand}
    possible = [check for check in at_hand if all(stop.missing for stop in stops[check.name])]
    open_names = {check.name: [name for name in base.asked_by(check, view.known) if name not in latest]
                  for check in possible}
    open_checks = [check for check in possible if open_names[check.name]]
    done = {one for name in latest for check in base.checks_giving.get(name, ()) if check.gives[0] in latest
            for one in check.takes_once}
    minutes = {check.name: minutes_of(base, check, done) for check in possible}
    looks = {check.name: _looks_first(base, stops[check.name], latest, possible) for check in open_checks}
    open_checks = [check for check in open_checks if looks[check.name] is not None]
    complaint = view.known.get("complaint")
    matters = _matters(base, totals, confirmed, complaint, alarming)
    unsettled = {cause: value for cause, value in totals.items() if cause not in confirmed}
    worth_of = values(base, engine, findings, view, unsettled,
                     {name for check in open_checks for name in check.gives if name not in view.known
                      and (name in open_names[check.name] or name not in base.asked_of)}, ranked)
    proposals = []
    bits_of = {check.name: _bits(check, worth_of, matters) for check in open_checks}
    for check in open_checks:
        bits = bits_of[check.name]
        told = tuple(sorted((cause for cause in bits if bits[cause] > WORTHLESS), key=lambda c: -bits[c])[:3])
        proposals.append(Proposal(check.name, sum(bits.values()), minutes[check.name], "", told))
    proposals.sort(key=lambda one: (-one.value / max(one.minutes, 0.25), one.check))
    by_name = {one.check: one for one in proposals}
    in_the_way = tuple(dict.fromkeys(
        stop for check in at_hand for stop in stops[check.name]
        if (not stop.missing or _passed_over(stop, latest))
        and any(name not in latest for name in base.asked_by(check, view.known))))

    def advice(first: Proposal, behind: Iterable[Proposal], remedy: str = "") -> Advice:
        """The check, or the look that has to be made before it."""
        look = looks.get(first.check)
        if look:
            stop = next(stop for stop in stops[first.check] if stop.missing)
            first = _because(by_name.get(look) or Proposal(look, 0.0, minutes[look], "", ()),
                             f"without it nobody can know whether the burner may be lit: {stop.because}")
            remedy = ""
        ready = [one for one in behind if not looks.get(one.check)]
        return Advice(first, _behind(first, ready), "", remedy, in_the_way)

    for name in proving:
        if name in by_name:
            return advice(_because(by_name[name], "it proves that what was put right is right"), proposals)
    for name in rechecks:
        if name in minutes and not stops[name]:
            told = by_name[name].tells_apart if name in by_name else ()
            return advice(Proposal(name, by_name[name].value if name in by_name else 0.0, minutes[name],
                                   "a reading is in doubt, and a diagnosis is no better than its readings", told),
                          proposals)
    for check in sorted(open_checks, key=_as_it_is_lit):
        if _is_the_start(check) and check.gives[0] not in latest:
            return advice(_because(by_name[check.name], "the others show only once it has been started"), proposals)
        if any(name in latest for name in check.gives):
            continue
        if check.round:  # the list takes all of them at once
            return advice(_because(by_name[check.name], "the look round comes first, on every call"), proposals)
        if check.safety and check.state != "stopping":
            return advice(_because(by_name[check.name], "hazards come first, on every call"), proposals)
    hanging = _hangs_a_hazard(base, findings, latest)
    for check in sorted(open_checks, key=lambda check: (check.minutes, check.name)):
        if any(name in hanging for name in check.gives):
            return advice(_because(by_name[check.name], "with what was seen already, its answer can show a hazard"),
                          proposals)
    dangerous = frozenset().union(*(nearly_proved(base).get(fact, frozenset()) for fact in alarming))
    for one in ranked:
        confirm = by_name.get(base.causes[one.name].confirm_check)
        if confirm and one.name in dangerous and not one.confirmed:
            return advice(_because(confirm, f"what was found is dangerous by its cause: {base.causes[one.name].title}"),
                          proposals)
    for check in open_checks:
        if check.basic and not any(name in known_or_entered for name in check.gives):
            return advice(_because(by_name[check.name],
                                   "the readings come before parts are opened, and tell most together"), proposals)
    price = WORTH_A_MINUTE_OF_SERVICE if complaint == ROUTINE else WORTH_A_MINUTE
    useful = [one for one in proposals if one.value >= max(WORTHLESS, price * one.minutes)]
    settled = bool(confirmed) and complaint != ROUTINE and not _unsettled(base, totals, confirmed, complaint)
    if settled:
        roots = _roots(base, confirmed)
        useful = [one for one in useful if sum(bits for cause, bits in bits_of[one.check].items() if cause in roots)
                  >= max(WORTHLESS, price * one.minutes)]
    leader = next((one.name for one in ranked if not one.confirmed), "")
    if leader and belief(totals[leader]) >= LEADS and (useful or not confirmed):
        confirm = by_name.get(base.causes[leader].confirm_check)
        if confirm:
            return advice(_because(confirm, f"it confirms the leading cause: {base.causes[leader].title}"), useful,
                          _quicker_remedy(base, gate, leader, confirm))
    if useful:
        best = _because(useful[0], "another fault may lie behind what was found" if settled
                        else "it is worth most for its minutes")
        return advice(best, useful, _quicker_remedy(base, gate, leader, best) if leader else "")
    for check in sorted(open_checks, key=_as_it_is_lit):
        if check.safety and not any(name in latest for name in check.gives):
            return advice(_because(by_name[check.name], "no unit is left before this was seen"), ())
    return Advice(None, (), "hazard" if in_the_way and hazards else "settled" if confirmed else "exhausted",
                  stopped=in_the_way)


def _looks_first(
    base: Base, stops: Iterable[Stop], latest: Mapping[str, Entry], possible: Sequence[Check]
) -> str | None:
    """The quickest check that makes a look which is wanted first; empty where none is, None where none can be made."""
    first = ""
    for stop in stops:
        giving = [check for check in base.checks_giving.get(stop.look, ()) if check in possible
                  and "start" not in base.acts_of_check(check)]
        if not giving or _passed_over(stop, latest):
            return None
        first = first or min(giving, key=lambda check: (check.minutes, check.name)).name
    return first


def _passed_over(stop: Stop, latest: Mapping[str, Entry]) -> bool:
    """Whether somebody said that the look was not made, or could not be had."""
    return stop.look in latest and latest[stop.look].value is None


def _is_the_start(check: Check) -> bool:
    return check.basic and check.state == "starting"


def _as_it_is_lit(check: Check) -> tuple[bool, int, bool, float, str]:
    """What makes a start dangerous is looked for before anything is switched on, and the start is watched before what
    needs a burner that runs.
    """
    return not check.round, _LIT.index(check.state), not _is_the_start(check), check.minutes, check.name


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


def _unsettled(
    base: Base, totals: Mapping[str, float], confirmed: frozenset[str], complaint: str | None
) -> bool:
    """Whether the confirmed causes leave something open: a complaint that none of them explains, or another cause that
    is at least possible.
    """
    explains = explaining(base, complaint)
    if explains and not explains & confirmed:
        return True
    return any(belief(odds) >= POSSIBLE for cause, odds in totals.items() if cause not in confirmed)


def _roots(base: Base, confirmed: frozenset[str]) -> frozenset[str]:
    """The causes that may lie behind the confirmed ones."""
    return frozenset(root for one in confirmed for root in base.causes[one].behind) - confirmed


def _matters(
    base: Base, totals: Mapping[str, float], confirmed: frozenset[str], complaint: str | None, alarming: Iterable[Fact]
) -> frozenset[str]:
    """The causes about which the call is: those for which the complaint or what was seen of a hazard speaks, as long
    as none of them is confirmed; and those that are possible or may lie behind a confirmed one. Where there is no
    complaint and no hazard, all.
    """
    told = [explaining(base, complaint), *(spoken_for(base).get(fact, frozenset()) for fact in alarming)]
    about = frozenset().union(*(causes for causes in told if not causes & confirmed))
    if not any(told) and not confirmed:
        return frozenset(totals)
    possible = (cause for cause, odds in totals.items() if belief(odds) >= POSSIBLE)
    return about.union(_roots(base, confirmed), possible)


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


def _behind(first: Proposal, proposals: Iterable[Proposal]) -> tuple[Proposal, ...]:
    """The next best few after the first."""
    return tuple(one for one in proposals if one.check != first.check)[:4]


def _because(proposal: Proposal, reason: str) -> Proposal:
    return Proposal(proposal.check, proposal.value, proposal.minutes, reason, proposal.tells_apart)


def _quicker_remedy(base: Base, gate: Gate, leader: str, best: Proposal) -> str:
    """The remedy of the leading cause, where a technician can do it quicker than the best check and every step of it
    is allowed.
    """
    remedy = base.remedies[base.causes[leader].remedy]
    quicker = remedy.who == "technician" and remedy.minutes < best.minutes
    return remedy.name if quicker and all(gate.allows(step) for step in remedy.steps) else ""


def _states(findings: Findings) -> frozenset[str]:
    """The states of the burner that can be had, by how it started."""
    facts = set(findings.symbols.items())
    without = _POWERED | _FIRED if facts & _NO_PUMP else _FIRED if facts & _NO_FIRE else frozenset[str]()
    return frozenset(_LIT) - without


def _at_hand(check: Check, case: Case) -> bool:
    return case.instruments is None or all(one in case.instruments for one in check.instruments)
