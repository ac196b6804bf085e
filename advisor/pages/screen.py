"""An assessment as text of at most 80 columns: hazards first, then what the readings say, causes, next check."""

from __future__ import annotations

from collections.abc import Collection

from advisor.library.base import Base
from advisor.library.items import NONE, Cause, Check
from advisor.pages.instructions import advice_lines, emergency_lines, how_lines, step_lines, stops_text
from advisor.pages.wording import (
    CAUTIONS,
    bar,
    columns,
    fact_text,
    level_text,
    plain,
    turnout_text,
    value_text,
    weight_word,
    when_text,
    wrapped,
)
from advisor.reasoning.assess import Assessment
from advisor.reasoning.choice import Proposal
from advisor.reasoning.families import leading_family
from advisor.reasoning.gate import Gate
from advisor.reasoning.hazards import CURED_STATE, HazardFound
from advisor.reasoning.nextcheck import Advice
from advisor.reasoning.ranking import Ranked, out_of_the_ordinary
from advisor.reasoning.weighing import Evidence

MOST_CAUSES = 6


def whole(base: Base, assessment: Assessment) -> list[str]:
    """Everything that there is to say, as `diagnose` prints it; in an emergency its orders alone."""
    if assessment.gate.emergency:
        return emergency_lines(base, assessment.gate)
    parts = [
        hazards(base, assessment), released(base, assessment), doubts(base, assessment), numbers(base, assessment),
        conclusions(base, assessment), causes(base, assessment), next_check(base, assessment),
        remedy(base, assessment), cautions(),
    ]
    out: list[str] = []
    for part in parts:
        if part:
            out += [*part, ""]
    return out[:-1]


def hazards(base: Base, assessment: Assessment) -> list[str]:
    """The hazards that stand, with what to do now; empty where there is none."""
    if not assessment.hazards:
        return []
    out = ["HAZARD - stop, make safe, then go on"]
    for found in assessment.hazards:
        hazard = base.hazards[found.name]
        if found.state == CURED_STATE:
            out += wrapped(f"{hazard.title}: put right ({'; '.join(found.cures)}), and to be proven", 2, first="! ")
        else:
            unsure = " (a borderline reading: taken as the worse)" if found.borderline else ""
            out += wrapped(f"{hazard.title}{unsure}", 2, first="! ")
            out += wrapped(f"seen: {seen_text(base, assessment, found)}", 4, 10)
            out += wrapped(hazard.because, 4)
            out += step_lines(assessment.gate, hazard.do)
            out += wrapped(f"call: {hazard.call}", 4, 10)
        out += wrapped(f"released when: {hazard.released_when}", 4, 10)
    return out


def released(base: Base, assessment: Assessment) -> list[str]:
    """The hazards that were found, put right and proven gone, a line each."""
    out = []
    for found in assessment.released:
        cures = f"; put right: {'; '.join(found.cures)}" if found.cures else ""
        shown = ", ".join(base.title(name) for name in found.proven)
        out += wrapped(f"{base.title(found.name)}: released{cures}; proven by {shown}", 2, first="- ")
    return ["HAZARDS MADE SAFE", *out] if out else []


def seen_text(base: Base, assessment: Assessment, found: HazardFound) -> str:
    """What showed a hazard, in words: as it stands now, or as it was then."""
    facts = dict.fromkeys(fact for firing in found.firings for fact in firing.facts)
    return "; ".join(fact_text(base, assessment, name) if _holds(assessment, name, symbol)
                     else f"{base.title(name)}: {plain(symbol)} (earlier)" for name, symbol in facts)


def _holds(assessment: Assessment, name: str, symbol: str) -> bool:
    band = assessment.findings.bands.get(name)
    now = {assessment.known.get(name), *((band.symbol, band.neighbor) if band else ())}
    return symbol in now


def doubts(base: Base, assessment: Assessment) -> list[str]:
    """The readings that cannot be trusted, why, and what to do about it."""
    if not assessment.doubts and not assessment.findings.troubles and not assessment.conflicts:
        return []
    out = ["IN DOUBT - a diagnosis is no better than its readings"]
    for doubt in assessment.doubts:
        names = ", ".join(base.title(name) for name in doubt.readings)
        state = ("kept, since you stand by it" if not doubt.open else
                 "counts, but proves nothing until seen again" if doubt.counts else "set aside until rechecked")
        out += wrapped(f"{names}: {state}", 2, first="? ")
        out += wrapped(doubt.because, 4)
        out += wrapped(f"recheck: {base.title(doubt.recheck)}", 4, 13)
    for trouble in assessment.findings.troubles:
        out += wrapped(trouble, 2, first="? ")
    for name in assessment.conflicts:
        out += wrapped(f"{base.title(name)}: the readings point two ways; it is left open", 2, first="? ")
    return out


def numbers(base: Base, assessment: Assessment) -> list[str]:
    """Every number, measured and computed, with its band; what is computed with its error."""
    if not assessment.findings.numbers:
        return []
    out = ["NUMBERS"]
    aside = {name for doubt in assessment.doubts if doubt.open for name in doubt.readings}
    values = {name: value_text(base, assessment, name) for name in assessment.findings.numbers}
    levels = {name: level_text(assessment, name) for name in values}
    wide = max(len(text) for text in values.values())
    room = min(40, columns() - 5 - wide - max(len(text) for text in levels.values()))
    if room < 16:  # a narrow screen
        return [*out, *(line for name in values for line in
                        wrapped(f"{base.title(name)} {values[name]} {levels[name]}".rstrip(), 2, 4))]
    for name, number in assessment.findings.numbers.items():
        how = "computed" if number.formula else "entered"
        note = f" [{how}{', in doubt' if name in aside else ''}]"
        line = f"  {base.title(name)[:room]:<{room}} {values[name]:>{wide}}  {levels[name]}"
        out.append(f"{line}{note}" if len(line) + len(note) <= columns() else line.rstrip())
    if any(number.formula and number.error for number in assessment.findings.numbers.values()):
        out += wrapped("+/- is what the instruments' accuracy makes of a computed figure, right 95 times in 100.", 2)
    if assessment.findings.fuel_assumed and any(n.formula for n in assessment.findings.numbers.values()):
        out += wrapped(f"Fuel not entered: {assessment.findings.fuel.title} is assumed. Efficiency is on the "
                       "higher heating value.", 2)
    return out


def conclusions(base: Base, assessment: Assessment) -> list[str]:
    """The conditions concluded, each with the findings behind it."""
    if not assessment.conditions and not assessment.advice:
        return []
    out = ["WHAT THE READINGS SAY TOGETHER"]
    for condition in assessment.conditions:
        names = dict.fromkeys(name for firing in condition.firings for name, _ in firing.facts)
        seen = "; ".join(fact_text(base, assessment, name) for name in names)
        out += wrapped(f"{base.title(condition.name)}: {plain(condition.value)}, from {seen}", 2, 4)
    for firing in assessment.advice:
        advice = base.rules[firing.rule].advises
        out += advice_lines(assessment.gate, advice, firing.rule) if advice else []
    return out


def causes(base: Base, assessment: Assessment, most: int = MOST_CAUSES) -> list[str]:
    """The causes worth naming, with the evidence for and against each."""
    if not assessment.known:
        return []
    shown = [one for one in assessment.causes if one.word != "unlikely"][:most]
    out = ["CAUSES"]
    if assessment.none_fits:
        out.append(f"  {bar(assessment.none.belief)}  {assessment.none.word:<10} none of the causes known here")
        out += wrapped(none_text(base, assessment), 14)
    elif not shown:
        out += wrapped("No cause stands out from what is known so far.", 2)
    if not shown:
        shown = [one for one in assessment.causes if one.total - one.prior > 3][:3]
    out += family_lines(base, assessment)
    for one in shown:
        out += wrapped(base.title(one.name), 2, 6, f"{bar(one.belief)}  {one.word:<10} ")
        out += evidence_lines(base, assessment, one, 3)
    if assessment.close:
        out += wrapped("It is close between " + ", ".join(base.title(name) for name in assessment.close)
                       + ": another reading may turn the order.", 2)
    if assessment.borderline:
        names = ", ".join(base.title(name) for name in assessment.borderline)
        out += wrapped(f"Borderline: {names}. It lies nearer to a limit than it may be off, and counts "
                       "by halves.", 2)
    for name in unexplained(base, assessment):
        out += wrapped(f"Not explained by any cause named: {fact_text(base, assessment, name)}", 2, 4)
    return out


def none_text(base: Base, assessment: Assessment) -> str:
    """That none of the causes known fits, what stays unexplained, and whom to ask."""
    left = "; ".join(fact_text(base, assessment, name) for name in unexplained(base, assessment))
    return ("None of the causes known here fits well." + (f" What stays unexplained: {left}." if left else "")
            + " Look once more at what was ruled out, then ask the manufacturer's technical service, or a second "
              "technician on the spot.")


def family_lines(base: Base, assessment: Assessment) -> list[str]:
    """The family that the readings name, before any member of it leads."""
    found = leading_family(assessment.families, assessment.causes)
    if found is None:
        return []
    members = ", ".join(base.title(name) for name in found.members[:4])
    return [*wrapped(base.families[found.name].title, 2, 6, f"{bar(found.belief)}  {found.word:<10} "),
            *wrapped(f"a family of causes; in it first: {members}", 14, 16)]


def evidence_lines(base: Base, assessment: Assessment, ranked: Ranked, most: int) -> list[str]:
    """The strongest evidence on a cause, a line each."""
    out = []
    plain_enough = [one for one in ranked.evidence if not one.open or abs(one.decibans) > 3.5]
    for one in plain_enough[:most]:
        if abs(one.decibans) < 0.5:
            continue
        sign = "+" if one.decibans > 0 else "-"
        out += wrapped(f"{evidence_text(base, assessment, one)} ({weight_word(one.decibans)})", 14, 16, f"{sign} ")
    return out


def evidence_text(base: Base, assessment: Assessment, one: Evidence) -> str:
    """What a piece of evidence rests on, in words."""
    if one.eliminated:
        return "the complaint has a cause, and others have been ruled out"
    if one.of_calls:
        return turnout_text(assessment.known[one.names[0]], one.of_calls)
    if one.of_units:
        return f"only such units have it: {'; '.join(fact_text(base, assessment, name) for name in one.names)}"
    if one.begun:
        return ("such a fault, where it has only begun, does not show elsewhere yet" if one.decibans > 0
                else "such a fault, where it has only begun, would show less than this")
    if one.shared:
        return "others show the same, and one of them is enough"
    if one.of_reading:
        given = base.panels[one.names[0]].given
        beside = f", with {fact_text(base, assessment, given)}" if given in assessment.known else ""
        return fact_text(base, assessment, one.names[0]) + beside
    known = [fact_text(base, assessment, name) for name in one.names
             if name in assessment.known and (one.looked_for or assessment.known[name] != NONE)]
    if one.open:
        # A condition that is still open may be likelier for the readings taken so far: name those.
        behind = {entry for name in one.open if name in base.conditions for entry in assessment.grounds.get(name, ())}
        known += [fact_text(base, assessment, entry) for entry in sorted(behind)]
        left = [base.title(name) for name in one.open if name not in base.conditions]
        return f"in part: {'; '.join(known)}" + (f"; still open: {', '.join(left)}" if left else "")
    if one.looked_for:
        return f"looked for, not found: {'; '.join(known)}"
    return "; ".join(known) or "; ".join(fact_text(base, assessment, name) for name in one.names)


def unexplained(base: Base, assessment: Assessment) -> list[str]:
    """Findings out of the ordinary for which no cause that is at least possible has evidence."""
    explained: set[str] = set()
    for one in assessment.causes:
        if one.word != "unlikely":
            for piece in one.evidence:
                if piece.decibans > 0:
                    for name in piece.names:
                        explained |= {name, *assessment.grounds.get(name, ())}
    out = []
    for name, symbol in assessment.known.items():
        if name in explained:
            continue
        if explained & assessment.grounds.get(name, frozenset()):
            continue
        if out_of_the_ordinary(base, name, symbol):
            out.append(name)
    return out


def next_check(base: Base, assessment: Assessment) -> list[str]:
    """The check to make next: why, how long, how."""
    advice = assessment.checks
    out = ["NEXT CHECK"]
    if advice.first is None:
        words = {
            "emergency": "None while people must be out.",
            "hazard": "None that the hazard allows; it has to be dealt with first.",
            "settled": "None: no other check would change the advice.",
            "none-fits": none_text(base, assessment),
            "exhausted": "None that is possible here would tell more. What was not checked stays open.",
        }
        if not advice.why_none:
            return []
        return [*out, *wrapped(words[advice.why_none], 2), *_held_back(base, advice)]
    out += check_lines(base, assessment, advice.first)
    if assessment.none_fits:
        out += wrapped("None of the causes known here fits well so far; it looks where nobody has looked yet.", 2)
    if advice.remedy_as_test:
        minutes = base.remedies[advice.remedy_as_test].minutes
        out += wrapped(f"Quicker than the check: {base.title(advice.remedy_as_test)} ({minutes:g} min), then retest.",
                       2)
    others = ", ".join(f"{base.title(one.check)} ({one.minutes:g} min)" for one in advice.others[:3])
    if others:
        out += wrapped(f"after it: {others}", 2, 12)
    return [*out, *_held_back(base, advice)]


def _held_back(base: Base, advice: Advice) -> list[str]:
    """What stands in the way of further checks, a line each."""
    out = wrapped(f"held back: {stops_text(base, advice.stopped)}", 2, 4) if advice.stopped else []
    for name in advice.spared:
        out += wrapped(f"held back: the {spared_text(base, name)}", 2, 4)
    return out


def spared_text(base: Base, name: str) -> str:
    """Until when an instrument is spared, and why.

    >>> from advisor.library.base import load
    >>> spared_text(load(), "combustion-analyzer")[:36]
    'combustion analyzer, which waits for'
    """
    instrument = base.instruments[name]
    waits = when_text(base, instrument.spared_until)
    return f"{instrument.title}, which waits for {waits} ({instrument.spared_because})"


def check_lines(base: Base, assessment: Assessment, proposal: Proposal) -> list[str]:
    """One proposed check in full."""
    check: Check = base.checks[proposal.check]
    out = wrapped(f"{check.title} ({proposal.minutes:g} min, burner {check.burner})", 2)
    out += wrapped(f"why: {check.why} Asked now because {proposal.reason}.", 2, 7)
    if proposal.tells_apart:
        told = ", ".join(base.title(name) for name in proposal.tells_apart)
        out += wrapped(f"bears on: {told}", 2, 12)
    out += how_lines(assessment.gate, check)
    out += wrapped(f"enter: {', '.join(_asked(base, assessment, check))}", 2, 9)
    return out


def _asked(base: Base, assessment: Assessment, check: Check) -> list[str]:
    asked = base.asked_by(check, assessment.known)
    return [name for name in asked if name not in assessment.case.latest] or list(asked)


def remedy(base: Base, assessment: Assessment) -> list[str]:
    """The remedy of the leading cause, where one is likely or confirmed, with the retest that proves it."""
    if not assessment.causes or assessment.causes[0].word not in ("likely", "confirmed"):
        return []
    first = assessment.causes[0]
    cause = base.causes[first.name]
    sure = "confirmed" if first.confirmed else f"not confirmed yet; {base.title(cause.confirm_check)} should show: " \
        f"{cause.confirm_shows}"
    return remedy_in_full(assessment.gate, cause, sure)


def remedy_in_full(gate: Gate, cause: Cause, sure: str, done: Collection[int] = ()) -> list[str]:
    """The remedy of a cause: how sure the cause is, steps with a mark on those done, cautions, the retest."""
    base = gate.base
    item = base.remedies[cause.remedy]
    out = ["REMEDY for " + cause.title, *wrapped(f"({sure})", 2)]
    out += wrapped(f"{item.title}: {item.minutes:g} min, {plain(item.who)}{item.needs}", 2)
    out += step_lines(gate, item.steps, done=done)
    for caution in item.cautions:
        out += wrapped(caution, 4, first="! ")
    checks = ", ".join(base.title(name) for name in item.retest.checks)
    return [*out, *wrapped(f"retest: {checks}. {item.retest.proves}", 2, 10)]


def cautions() -> list[str]:
    """The cautions that go with every answer."""
    return [line for text in CAUTIONS for line in wrapped(text, 0, 2)]
