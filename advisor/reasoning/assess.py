"""The heart: from a case to everything that can be said about it. A pure function of case and base."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Rule
from advisor.reasoning.case import RECHECKED, Case
from advisor.reasoning.derive import Findings, derive
from advisor.reasoning.engine import Engine, EngineRule, Firing, compile_rules
from advisor.reasoning.families import FamilyFound, families_of
from advisor.reasoning.gate import Gate, gate_of
from advisor.reasoning.hazards import RELEASED, HazardFound, hazards_of
from advisor.reasoning.nextcheck import Advice, next_check
from advisor.reasoning.odds import belief
from advisor.reasoning.ranking import CONFIRMED_AT_LEAST, Ranked, close_to_the_first, none_leads, rank, weighed
from advisor.reasoning.weighing import Evidence, view_of

MISREADING_RATE: Final = 0.02
"""Share of looks that end in a wrong answer (our own estimate for careful people)."""
PLAIN_MISREADING_RATE: Final = 0.002
"""The same of what is plain to see: a switch that is off, a button that has popped (our own estimate)."""
SIGN_STANDS: Final = belief(CONFIRMED_AT_LEAST)
"""From this probability on that a confirming sign was not misread, it needs no second look."""
LONE: Final = (
    "A single look shows a rare thing that little else bears out. People misread one sign in fifty or so, so a second "
    "look costs less than a wrong repair."
)

DISAGREE: Final = (
    "Two looks at the same thing say different things, so one of them was wrong. What two of three looks say stands."
)


@dataclass(frozen=True, slots=True)
class DoubtFound:
    """Readings that cannot be trusted, by which rule; `open` until the person stands by them.

    An open one is set aside, unless it `counts`: a confirming sign that stands alone, or of which two looks disagree,
    speaks for its cause as any sign does, but proves nothing until it is seen again.
    """

    firing: Firing
    readings: tuple[str, ...]
    recheck: str
    open: bool
    because: str
    counts: bool = False


@dataclass(frozen=True, slots=True)
class ConditionFound:
    """A condition concluded, and the firings that conclude it."""

    name: str
    value: str
    firings: tuple[Firing, ...]


@dataclass(frozen=True, slots=True)
class Assessment:
    """All that is said about a case."""

    case: Case
    findings: Findings
    hazards: tuple[HazardFound, ...]
    """Those that stand: open, or cured and to be proven."""
    released: tuple[HazardFound, ...]
    gate: Gate
    doubts: tuple[DoubtFound, ...]
    conditions: tuple[ConditionFound, ...]
    conflicts: tuple[str, ...]
    advice: tuple[Firing, ...]
    causes: tuple[Ranked, ...]
    none: Ranked
    """That it is none of the causes known."""
    families: tuple[FamilyFound, ...]
    close: tuple[str, ...]
    borderline: tuple[str, ...]
    firings: tuple[Firing, ...]
    known: Mapping[str, str]
    grounds: Mapping[str, frozenset[str]]
    checks: Advice


    @property
    def none_fits(self) -> bool:
        """Whether none of the causes known fits well."""
        return none_leads(self.none, self.causes)


@lru_cache(maxsize=8)
def engine_of(base: Base) -> Engine:
    """The rules of a base, compiled once."""
    return _compiled(base.rules.values())


@lru_cache(maxsize=8)
def lean_engine_of(base: Base, evaluator: str = "") -> Engine:
    """Only the rules that conclude a condition or show a hazard: trying further facts needs no others. For a certain
    evaluator, or the one that is used here.
    """
    return _compiled((rule for rule in base.rules.values() if rule.concludes or rule.hazard), evaluator)


def _compiled(rules: Iterable[Rule], evaluator: str = "") -> Engine:
    return compile_rules((EngineRule(rule.name, tuple(rule.when.items()), tuple(rule.concludes.items()))
                          for rule in rules), evaluator)


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
    >>> case = Case((Entry("co_room", "50", 50.0), Entry("smoke", "4", 4.0)))
    >>> [found.name for found in assess(case, load()).hazards][0]
    'carbon-monoxide-in-the-room'
    """
    engine, lean = engine_of(base), lean_engine_of(base)
    all_findings = derive(case, base)
    firings = engine.run(all_findings.symbols.items())
    found = hazards_of(base, lean, case)
    hazards = tuple(one for one in found if one.state != RELEASED)
    doubts, aside = _doubts(base, case, all_findings, firings)

    findings = derive(case, base, aside) if aside else all_findings
    fired = engine.run(findings.symbols.items()) if aside else firings
    view, concluded = view_of(base, findings.symbols, findings.grounds, fired)
    evidence_on = weighed(base, lean, findings, view)
    ranked, none = rank(base, evidence_on, findings, view)
    lone = (*_lone_signs(base, case, fired, ranked), *_looks_that_disagree(base, case))
    if lone:
        doubts = (*doubts, *lone)
        readings = frozenset(name for doubt in lone for name in doubt.readings)
        ranked, none = rank(base, evidence_on, findings, view, readings)
    conditions = tuple(
        ConditionFound(name, value, _concluding(base, fired, name, value))
        for name, values in sorted(concluded.items()) for value in sorted(values)
    )
    leading = [one for one in ranked if one.word != "unlikely"]
    close = close_to_the_first(leading)
    gate = gate_of(base, case, found, {**all_findings.symbols, **view.known})
    if look_ahead:
        checks = next_check(base, lean, case, findings, view, ranked, none, gate, hazards,
                            tuple(doubt.recheck for doubt in doubts if doubt.open))
    else:
        checks = Advice(None, (), "")
    return Assessment(
        case, all_findings if not aside else _with_doubted(findings, all_findings), hazards,
        tuple(one for one in found if one.state == RELEASED), gate, doubts, conditions,
        tuple(name for name, values in sorted(concluded.items()) if len(values) > 1),
        tuple(firing for firing in fired if base.rules[firing.rule].advises), ranked, none,
        families_of(base, ranked), close,
        tuple(sorted(name for name, band in findings.bands.items() if band.share < 1)), fired,
        view.known, view.grounds, checks,
    )


def _with_doubted(findings: Findings, everything: Findings) -> Findings:
    """The findings without the doubted readings, but with their numbers to show."""
    return replace(findings, numbers=everything.numbers, bands=everything.bands)


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
        doubts.append(DoubtFound(firing, there, rule.recheck or "", not stood_by, rule.because))
        if not stood_by:
            aside |= doubted
    return tuple(doubts), frozenset(aside)


def _lone_signs(
    base: Base, case: Case, fired: Iterable[Firing], ranked: Iterable[Ranked]
) -> tuple[DoubtFound, ...]:
    """Confirming signs that stand alone: little else speaks for the cause, and nobody has looked a second time."""
    latest = case.latest
    out = []
    for one in ranked:
        signs = {rule for piece in one.evidence for rule in piece.rules if one.name in base.rules[rule].confirms}
        if not one.confirmed:
            continue
        before = belief(one.prior + sum(_bearing_out(piece) for piece in one.evidence if signs.isdisjoint(piece.rules)))
        for firing in fired:
            if firing.rule not in signs:
                continue
            # What is installed is no sign: it was told, not looked at, and no second look would tell more.
            names = tuple(name for name, _ in firing.facts
                          if name in latest and name in base.observations and name not in base.equipment)
            if not names or any(latest[name].how == RECHECKED for name in names):
                continue
            misread = max((PLAIN_MISREADING_RATE if look.plain else MISREADING_RATE) / (len(look.answers) - 1)
                          for look in (base.observations[name] for name in names))
            if before / (before + (1.0 - before) * misread) >= SIGN_STANDS:
                continue
            giving = [check for name in names for check in base.checks_giving.get(name, ())]
            again = min(giving, key=lambda check: check.minutes)  # what was opened is open still
            out.append(DoubtFound(firing, names, again.name, True, LONE, True))
    return tuple(out)


def _bearing_out(piece: Evidence) -> float:
    """What a piece of evidence does to how likely it is that a cause is there at all, be it the reason for the call or
    not: for that it does not share the call, and it is there on no fewer calls than on yearly services.
    """
    if piece.shared or piece.eliminated:
        return 0.0
    return max(0.0, piece.decibans) if piece.of_calls else piece.decibans


def _looks_that_disagree(base: Base, case: Case) -> list[DoubtFound]:
    """Signs seen once and not seen at the second look, or the other way round, until a third look decides."""
    out = []
    for name, entry in case.latest.items():
        if entry.how != RECHECKED or name not in base.observations:
            continue
        looks = [one for one in case.entries if one.name == name and one.value is not None]
        decided = len(looks) < 2 or entry.value in [one.value for one in looks[:-1]]
        if decided or sum(one.how == RECHECKED for one in looks) > 1:
            continue
        seen = {str(looks[-2].value), str(entry.value)}
        signs = [Firing(rule.name, ((name, symbol),)) for rule in base.rules.values() if rule.confirms
                 for symbol in rule.when.get(name, ()) if symbol in seen]
        if signs:
            out.append(DoubtFound(signs[0], (name,), base.checks_giving[name][0].name, True, DISAGREE, True))
    return out


def _concluding(base: Base, firings: Iterable[Firing], name: str, value: str) -> tuple[Firing, ...]:
    return tuple(firing for firing in firings if base.rules[firing.rule].concludes.get(name) == value)
