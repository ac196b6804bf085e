"""Which check to make next: the steps that choose, in the order of what comes first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from advisor.library.base import Base
from advisor.library.items import NEEDED_IN, Check
from advisor.reasoning.case import Case
from advisor.reasoning.choice import (
    BITS_A_MINUTE,
    BITS_A_MINUTE_UNEXPLAINED,
    WORTHLESS,
    Choice,
    Chosen,
    Proposal,
    choice_of,
    minutes_of,
    proving_checks,
    ratio,
    tells_apart,
)
from advisor.reasoning.derive import Findings
from advisor.reasoning.engine import Engine
from advisor.reasoning.gate import Gate, Stop
from advisor.reasoning.hazards import HazardFound
from advisor.reasoning.lookahead import entropy
from advisor.reasoning.odds import belief
from advisor.reasoning.ranking import Ranked, none_leads
from advisor.reasoning.turnout import ROUTINE, explaining
from advisor.reasoning.weighing import POSSIBLE, View, nearly_proved

CONFIRM_FROM: Final = 0.75
"""From this probability on, the check that confirms the leading cause comes before others."""
SECOND_LOOK: Final = 2.0
"""Minutes of a second look at what is open, or a second reading with what is set up (our own estimate)."""
_LIT: Final = ("any", "off", "live", "powered", "starting", "running", "stopping")
"""The states of the burner, from the safest to bring about on."""


BY_THE_MINUTE: Final = "it is worth most for its minutes"
"""The reason of a check for which no other speaks."""


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


def next_check(
    base: Base, engine: Engine, case: Case, findings: Findings, view: View, ranked: Sequence[Ranked],
    none: Ranked, gate: Gate, hazards: Sequence[HazardFound], rechecks: Sequence[str],
) -> Advice:
    """The check to make next: the first that one of `STEPS` chooses, each of which says why.

    `hazards` are those not released; `rechecks` are the checks that take a doubted reading again.
    """
    if gate.emergency:
        return Advice(None, (), "emergency")
    choice = choice_of(base, engine, case, findings, view, ranked, none, gate, hazards, rechecks)
    spared = tuple(sorted(choice.harmed))
    for step in STEPS:
        found = step(choice)
        if found is None:
            continue
        first, remedy = found
        made_first, reason = choice.before.get(first.check) or ("", "")
        if made_first:
            told = choice.by_name.get(made_first) or Proposal(made_first, 0.0, choice.minutes[made_first], "", ())
            first, remedy = replace(told, reason=reason), ""
        behind = () if step is _closing else tuple(
            one for one in choice.proposals
            if not (choice.before.get(one.check) or ("",))[0] and one.check != first.check)[:4]
        return Advice(first, behind, "", remedy, choice.in_the_way, spared)
    why_none = ("hazard" if choice.in_the_way and hazards else "settled" if choice.confirmed
                else "none-fits" if none_leads(none, ranked) else "exhausted")
    return Advice(None, (), why_none, stopped=choice.in_the_way, spared=spared)


def _proof(choice: Choice) -> Chosen:
    """What proves that a hazard which was put right is gone."""
    for name in proving_checks(choice.base, choice.hazards):
        found = choice.propose(name, "it proves that what was put right is right")
        if found:
            return found
    return None


def _second_look(choice: Choice) -> Chosen:
    """A reading in doubt, taken again."""
    for name in choice.rechecks:
        if name in choice.minutes and not choice.stops[name]:
            told = choice.by_name.get(name) or Proposal(name, 0.0, 0.0, "", ())
            return replace(told, minutes=min(SECOND_LOOK, choice.minutes[name]),
                           reason="a reading is in doubt, and a diagnosis is no better than its readings"), ""
    return None


def _before_anything(choice: Choice) -> Chosen:
    """People, the air of the room, the look round, what was changed; then a start as it happens, once the looks that it
    needs are clear.

    What makes a start dangerous is looked for before anything is switched on, and the start is watched before what
    needs a burner that runs. Where a question or a look at rest is worth more than what a start opens the way to, it
    comes before the start.
    """
    for check in sorted(choice.checks, key=_as_it_is_lit):
        if _is_the_start(check) and check.gives[0] not in choice.latest:
            at_rest = _at_rest(choice, check)
            if at_rest:
                return at_rest
            reason = "the others show only once it has been started"
        elif choice.seen(check):
            continue
        elif check.round:  # the list takes all of them at once
            reason = "the look around comes first, on every call"
        elif check.safety and not check.closing and check.state != "stopping":
            reason = "hazards come first, on every call"
        elif check.early:
            reason = "what was touched last is the first suspect"
        else:
            continue
        return choice.propose(check.name, reason)
    return None


def _at_rest(choice: Choice, start: Check) -> Chosen:
    """What may show a hazard or is worth most a minute, where it lights nothing, somebody called for a reason, and it
    takes no longer than a start or settles which cause it is.
    """
    if choice.complaint in (None, ROUTINE):
        return None
    lit = {check.name for check in choice.checks if "fire" in NEEDED_IN[check.state]}
    found = _what_may_be_dangerous(choice) or _worth_most(choice)
    if found is None or found[0].check in lit:
        return None
    leader = next((one for one in choice.ranked if not one.confirmed), None)
    settles = leader and belief(leader.alone) >= CONFIRM_FROM and (
        choice.base.causes[leader.name].confirm_check == found[0].check)
    return found if settles or found[0].minutes <= choice.minutes[start.name] else None


def _what_may_be_dangerous(choice: Choice) -> Chosen:
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


def _service_readings(choice: Choice) -> Chosen:
    """On a routine call the readings, which it takes anyway."""
    left = _readings_left(choice) if choice.complaint == ROUTINE else []
    return choice.propose(left[0].name, "a service call takes the readings, and they tell most together") \
        if left else None


def _service_work(choice: Choice) -> Chosen:
    """On a routine call what a yearly service opens and tries anyway, what tells most for its minutes first; a cause
    that the readings make likely is confirmed before.
    """
    if choice.complaint != ROUTINE or any(belief(one.alone) >= CONFIRM_FROM
                                          for one in choice.ranked if not one.confirmed):
        return None
    due = [choice.by_name[check.name] for check in choice.checks if check.tune_up and not choice.seen(check)]
    return (replace(max(due, key=lambda one: (ratio(one), one.check)), reason="a yearly service does it anyway"), "") \
        if due else None


def _worth_most(choice: Choice) -> Chosen:
    """What is worth most for its minutes: the look that confirms a leading cause, the readings together, or one check.
    """
    settled = bool(choice.confirmed) and choice.complaint != ROUTINE and not _unsettled(choice)
    explained = settled or choice.complaint in (None, ROUTINE)
    price = BITS_A_MINUTE if explained else BITS_A_MINUTE_UNEXPLAINED
    useful = [one for one in choice.proposals if one.value >= max(WORTHLESS, price * one.minutes)]
    if settled:
        roots = choice.roots
        useful = [one for one in useful
                  if sum(bits for cause, bits in choice.bits[one.check].items() if cause in roots)
                  >= max(WORTHLESS, price * one.minutes)]
    open_ones = [one for one in choice.ranked if not one.confirmed]
    leader = open_ones[0] if open_ones else None
    for one in open_ones if useful or not choice.confirmed else ():
        cause = choice.base.causes[one.name]
        found = choice.propose(cause.confirm_check, f"it confirms the leading cause: {cause.title}")
        if found and belief(one.alone) >= CONFIRM_FROM and cause.confirm_check not in choice.spared:
            return found[0], _quicker_remedy(choice, one.name, found[0])
    together = _readings_together(choice)
    if together and not settled and together.value >= price * together.minutes and (
            not useful or ratio(together) >= ratio(useful[0])):
        return replace(together, minutes=choice.minutes[together.check],
                       reason="the readings of a settled fire tell most together"), ""
    if useful:
        reason = "another fault may lie behind what was found" if settled else BY_THE_MINUTE
        best = replace(useful[0], reason=reason)
        return best, _quicker_remedy(choice, leader.name, best) if leader else ""
    return None


def _closing(choice: Choice) -> Chosen:
    """What no unit is left without: safety checks, on a yearly service function tests, and readings that are left."""
    yearly = choice.complaint == ROUTINE
    unseen = [check for check in choice.checks
              if (check.safety or (check.tune_up and yearly)) and not choice.seen(check)]
    if unseen:
        return choice.propose(min(unseen, key=_as_it_is_lit).name, "no unit is left before this was seen")
    left = _readings_left(choice)
    if left:
        return choice.propose(left[0].name, "no unit is left without its readings")
    dangerous = {name for rule in choice.base.rules.values() if rule.hazard for name in rule.when}
    for check in choice.checks:
        if check.name in choice.spared and not choice.known(check) and dangerous.intersection(check.gives):
            harm = "; ".join(dict.fromkeys(choice.base.instruments[one].spared_because for one in check.instruments))
            return choice.propose(check.name, "no unit is left without it. What smokes is put right first; where that "
                                              f"cannot be, it is read last and for no longer than it takes: {harm}")
    return None


STEPS: Final = (_proof, _second_look, _before_anything, _what_may_be_dangerous, _service_readings, _service_work,
                _worth_most, _closing)
"""The order of what comes first."""


def _readings_left(choice: Choice) -> list[Check]:
    """The readings that no visit goes without and that nothing tells yet."""
    return [check for check in choice.checks if check.basic and not _is_the_start(check) and not choice.known(check)
            and check.name not in choice.spared]


def _readings_together(choice: Choice) -> Proposal | None:
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
    return Proposal(left[0].name, sum(sums.values()), minutes, "", tells_apart(sums))


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


def _unsettled(choice: Choice) -> bool:
    """Whether the confirmed causes leave something open: a complaint that none of them explains, by itself or by what
    it brings about, or another cause that is at least possible.
    """
    explains = explaining(choice.base, choice.complaint)
    explains |= {root for one in explains for root in choice.base.causes[one].behind}
    if explains and not explains & choice.confirmed:
        return True
    return any(one.belief >= POSSIBLE for one in choice.ranked if not one.confirmed)


def _quicker_remedy(choice: Choice, leader: str, best: Proposal) -> str:
    """The remedy of the leading cause, where a technician can do it quicker than the best check and every step of it
    is allowed.
    """
    remedy = choice.base.remedies[choice.base.causes[leader].remedy]
    quicker = remedy.who == "technician" and remedy.minutes < best.minutes
    return remedy.name if quicker and all(choice.gate.allows(step) for step in remedy.steps) else ""
