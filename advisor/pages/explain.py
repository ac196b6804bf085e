"""Why a cause, why not, why a question, how a number was computed: by rule trace."""

from __future__ import annotations

from advisor.library.base import Base
from advisor.library.items import COMMON, Rule
from advisor.pages.screen import evidence_text
from advisor.pages.wording import (
    bar,
    effects_text,
    error_text,
    fact_text,
    limit_text,
    origin_text,
    plain,
    turnout_text,
    value_text,
    weight_word,
    when_text,
    wrapped,
)
from advisor.reasoning.assess import Assessment
from advisor.reasoning.derive import Number
from advisor.reasoning.odds import belief
from advisor.reasoning.ranking import Ranked
from advisor.reasoning.turnout import ROUTINE
from advisor.reasoning.weighing import Evidence

_MOST = 5


def why_cause(base: Base, assessment: Assessment, cause: str) -> list[str]:
    """Why a cause stands where it stands: how common it is, what speaks for it and against it, by which rule.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.casefile import parse_case
    >>> from advisor.reasoning.assess import assess
    >>> case = parse_case("entries: {complaint: soot, breech: -.075, over fire: -.012, smoke: 4}", "a", load())
    >>> why_cause(load(), assess(case, load(), False), "sooted-gas-passages")[1]
    '  before anything is known: found on about 10 of 100 tune-ups'
    """
    ranked = _ranked(assessment, cause)
    if ranked is None:
        return why_not(base, assessment, cause)
    item = base.causes[cause]
    out = wrapped(f"{item.title}: {ranked.word}  {bar(ranked.belief)}", 0, 2)
    share = belief(ranked.prior)
    learned = "" if base.common[cause] == COMMON[item.common] else ", as the shop's own record says"
    out += wrapped(f"before anything is known: {turnout_text(ROUTINE, share)}{learned}", 2, 4)
    for_it = [one for one in ranked.evidence if (one.decibans or one.full) > 0]
    against = [one for one in ranked.evidence if (one.decibans or one.full) < 0]
    out += _evidence(base, assessment, "speaks for it", for_it)
    out += _evidence(base, assessment, "speaks against it", against)
    if not against:
        out += wrapped("nothing known speaks against it", 2)
    if not for_it:
        out += wrapped("nothing known speaks for it yet", 2)
        out += _would_speak(base, assessment, cause)
    confirms = [rule for piece in ranked.evidence for rule in piece.rules if cause in base.rules[rule].confirms]
    if confirms:
        shown = dict.fromkeys(when_text(base, base.rules[rule].when) for rule in confirms)
        out += wrapped(f"confirmed by what was seen: {'; '.join(shown)}", 2, 4)
    else:
        shows = f"{base.title(item.confirm_check)} should show {item.confirm_shows}"
        out += wrapped(f"what would confirm it: {shows}", 2, 4)
    return out


def why_not(base: Base, assessment: Assessment, cause: str) -> list[str]:
    """Why a cause is not on the list, or not higher: not possible here, nothing for it, or what speaks against it.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case
    >>> why_not(load(), assess(Case(), load(), False), "sooted-gas-passages")[0]
    'soot in the flue passages: no more likely than on any call; nothing known speaks'
    """
    item = base.causes[cause]
    known = assessment.known
    barred = {name: any_of for name, any_of in item.only.items() if known.get(name) and known[name] not in any_of}
    if barred:
        here = "; ".join(fact_text(base, assessment, name) for name in barred)
        return wrapped(f"{item.title}: not possible on this equipment. It needs {when_text(base, barred)}; "
                       f"here it is {here}.", 0, 2)
    ranked = _ranked(assessment, cause)
    if ranked is None:  # pragma: no cover - every cause that may be here is ranked
        return wrapped(f"{item.title}: not weighed here", 0, 2)
    if ranked.word in ("likely", "confirmed"):
        return [*wrapped(f"{item.title} is on the list: {ranked.word}. `why {cause}` shows the evidence.", 0, 2)]
    against = [one for one in ranked.evidence if (one.decibans or one.full) < 0]
    for_it = [one for one in ranked.evidence if (one.decibans or one.full) > 0]
    if not for_it and not against:
        out = wrapped(f"{item.title}: no more likely than on any call; nothing known speaks for it yet", 0, 2)
    else:
        out = wrapped(f"{item.title}: {ranked.word}  {bar(ranked.belief)}", 0, 2)
    out += _evidence(base, assessment, "speaks against it", against)
    out += _evidence(base, assessment, "speaks for it", for_it)
    out += _would_speak(base, assessment, cause)
    ahead = [one for one in assessment.causes if one.total > ranked.total and one.word != "unlikely"][:3]
    if ahead and assessment.known:
        out += wrapped("ahead of it: " + ", ".join(f"{base.title(one.name)} ({one.word})" for one in ahead), 2, 4)
    return out


def why_asked(base: Base, name: str) -> list[str]:
    """Why the intake asks for a name: the causes, limits and rules that depend on it.

    >>> from advisor.library.base import load
    >>> why_asked(load(), "burner_type")[0][:18]
    'burner type: it de'
    """
    causes = [cause.title for cause in base.causes.values() if name in cause.only]
    limits = [limit.title for limit in base.limits.values() if any(name in case.when for case in limit.cases)]
    rules = sum(name in rule.when for rule in base.rules.values())
    parts = []
    if causes:
        parts.append(f"decides whether {_few(causes)} can be the cause at all")
    if limits:
        parts.append(f"moves the limit of {_few(limits)}")
    if rules:
        parts.append(f"counts in {rules} rule{'s' if rules > 1 else ''}")
    needed = [q.title for q in base.quantities.values() if q.derived and base.title(name) in (q.derived + q.computed)]
    if needed:
        parts.append(f"is needed to compute {_few(needed)}")
    said = "; it ".join(parts) if parts else "is needed for the numbers computed from it"
    return wrapped(f"{base.title(name)}: it {said}.", 0, 2)


def why_found(base: Base, assessment: Assessment, name: str) -> list[str]:
    """What shows a condition or a hazard: each rule with its facts, its mechanism and its source."""
    found = [firing for firing in assessment.firings
             if base.rules[firing.rule].hazard == name or name in base.rules[firing.rule].concludes]
    hazard = next((one for one in (*assessment.hazards, *assessment.released) if one.name == name), None)
    if hazard is not None:
        found = list(hazard.firings)
    title = base.title(name)
    if not found:
        out = wrapped(f"{title}: nothing known shows it. What would:", 0, 2)
        for rule in base.rules.values():
            if rule.hazard == name or name in rule.concludes:
                out += wrapped(when_text(base, rule.when), 2, first="- ")
        return out
    value = assessment.known.get(name)
    out = wrapped(f"{title}: {plain(value)}" if value and name in base.conditions else title, 0, 2)
    for firing in found:
        facts = "; ".join(fact_text(base, assessment, fact) for fact, _ in firing.facts)
        out += [*wrapped(f"from {facts}", 2, 4), *_rule(base, firing.rule, 4)]
    return out


def why_rule(base: Base, assessment: Assessment, name: str) -> list[str]:
    """Whether a rule holds here, what it asks for, and what it says."""
    rule = base.rules[name]
    fired = any(firing.rule == name for firing in assessment.firings)
    out = wrapped(f"{rule.title}: {'holds here' if fired else 'does not hold here'}", 0, 2)
    out += wrapped(f"when {when_text(base, rule.when)}", 2, 4)
    for tested in rule.when:
        out += wrapped(f"here: {fact_text(base, assessment, tested)}", 4, 6)
    for effect in effects_text(base, rule, assessment.gate):
        out += wrapped(effect, 2, first="> ")
    return [*out, *_rule(base, name, 2)]


def how_number(base: Base, assessment: Assessment, name: str) -> list[str]:
    """How a number came about: the formula with its inputs, then the limits that give its level, with sources.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> case = Case((Entry("stack_temperature", "610", 610.0), Entry("room_temperature", "68", 68.0)))
    >>> print(chr(10).join(how_number(load(), assess(case, load(), False), "net_stack")[:4]))
    net stack temperature: 542 +/- 5 degF
      = stack temperature - combustion air temperature
        stack temperature: 610 degF, entered as 610
        temperature of the combustion air: 68 degF, entered as 68
    """
    quantity = base.quantities[name]
    findings = assessment.findings
    number = findings.numbers.get(name)
    if number is None:
        needs = f" It is computed: {quantity.derived}." if quantity.derived else f" {quantity.computed}".rstrip()
        return wrapped(f"{quantity.title}: no value yet.{needs}", 0, 2)
    out = wrapped(f"{quantity.title}: {value_text(base, assessment, name)}", 0, 2)
    out += _steps(base, assessment, name, 2)
    if number.error:
        out += _error(base, number)
    troubles = [trouble for trouble in findings.troubles if quantity.title in trouble]
    for trouble in troubles:
        out += wrapped(trouble, 2, 4)
    if number.formula and findings.fuel_assumed and "fuel" in number.formula:
        out += wrapped(f"fuel not entered: {findings.fuel.title} is assumed", 2, 4)
    band = findings.bands.get(name)
    answers = {known: value for known, value in assessment.known.items() if known in base.observations}
    if band is not None:
        level = plain(band.symbol)
        if band.neighbor:
            off = "its error" if number.formula else "the instrument can tell"
            level += f", borderline: {plain(band.neighbor)} is nearer than {off}"
        out += wrapped(f"level: {level}", 2, 4)
        for limit in base.limits_of[name]:
            if band.symbol in (limit.below, limit.above):
                shown = limit_text(base, limit, answers, assessment.case.manufacturer)
                out += wrapped(f"{plain(limit.below)} | {plain(limit.above)} at {shown}", 4, 6)
                if limit.name not in assessment.case.manufacturer:
                    out += wrapped(f"{limit.because} ({origin_text(base, limit.origin)})", 6)
    return out


def _error(base: Base, number: Number) -> list[str]:
    """How far a number may be off, and which sources have the greatest shares in it."""
    kind = base.quantities[number.name].kind
    said = f"may be off by {error_text(number.error, kind)} (95 times in 100 no more)"
    if not number.formula:
        return wrapped(f"{said}: the accuracy of such a reading", 2, 4)
    parts = sorted(((abs(share), source) for source, share in number.shares.items()), reverse=True)
    words = [f"{base.title(source) if source in number.grounds else f'the formula of {base.title(source)} itself'} "
             f"{error_text(share, kind)}" for share, source in parts if share >= 0.1 * number.error]
    return wrapped(f"{said}: {', '.join(words)}" + ("; root of the sum of squares" if len(words) > 1 else ""), 2, 4)


def _ranked(assessment: Assessment, cause: str) -> Ranked | None:
    return next((one for one in assessment.causes if one.name == cause), None)


def _few(names: list[str], between: str = ", ") -> str:
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return between.join(names[:3]) + more


def _evidence(base: Base, assessment: Assessment, title: str, pieces: list[Evidence]) -> list[str]:
    if not pieces:
        return []
    out = [f"  {title}:"]
    counted = [piece for piece in pieces if piece.rules or abs(piece.decibans) >= 0.05]
    for piece in counted or pieces[:1]:  # no news in what counts elsewhere already
        size = weight_word(piece.decibans) if piece.decibans else "counted already"
        out += wrapped(f"{evidence_text(base, assessment, piece)} ({size})", 4, first="- ")
        if abs(piece.full) - abs(piece.decibans) > 0.5:
            by = f", and {base.title(piece.explained_by)} accounts for it" if piece.explained_by else ""
            out += wrapped(f"it counts less than it would alone ({weight_word(piece.full)}): other evidence rests on "
                           f"the same readings{by}", 6)
        for rule in piece.rules:
            out += _rule(base, rule, 6)
        if piece.looked_for:
            would = dict.fromkeys(when_text(base, base.rules[rule].when) for rule in piece.looked_for)
            out += wrapped(f"it would have shown: {_few(list(would), '; or ')}", 6, 8)
    return out


def _rule(base: Base, name: str, indent: int) -> list[str]:
    rule = base.rules[name]
    return wrapped(f"{rule.because} ({origin_text(base, rule.origin)})", indent)


def _would_speak(base: Base, assessment: Assessment, cause: str) -> list[str]:
    """What would speak for a cause and is not known: the strongest first."""
    fired = {firing.rule for firing in assessment.firings}

    def weight(rule: Rule) -> float:
        return 20.0 if cause in rule.confirms else rule.weighs.get(cause, 0.0)

    rules = [rule for rule in base.rules_about[cause] if rule.name not in fired and weight(rule) > 0]
    if not rules:
        return []
    out = ["  what would speak for it:"]
    for rule in sorted(rules, key=lambda rule: (-weight(rule), rule.name))[:_MOST]:
        word = "confirms" if cause in rule.confirms else weight_word(weight(rule))
        out += wrapped(f"{when_text(base, rule.when)} ({word})", 4, first="- ")
    return out


def _steps(base: Base, assessment: Assessment, name: str, indent: int) -> list[str]:
    """The formula of a number and its inputs; inputs that are computed too are taken apart in turn."""
    number = assessment.findings.numbers[name]
    if not number.formula:
        entry = assessment.case.latest[name]
        note = f"; {entry.note}" if entry.note else ""
        return wrapped(f"entered as {entry.typed}{note}", indent, indent + 2)
    out = wrapped(f"= {number.formula}", indent, indent + 2)
    for need in number.of:
        value = value_text(base, assessment, need)
        inner = assessment.findings.numbers[need]
        if inner.formula:
            out += wrapped(f"{base.title(need)}: {value}, computed", indent + 2, indent + 4)
            out += _steps(base, assessment, need, indent + 4)
        else:
            typed = assessment.case.latest[need].typed
            out += wrapped(f"{base.title(need)}: {value}, entered as {typed}", indent + 2, indent + 4)
    return out
