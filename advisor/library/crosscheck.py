"""Whether everything known fits together: every name that is used exists, nothing hangs in the air."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from itertools import chain, combinations, islice, pairwise
from typing import Final

from advisor.library.base import Base
from advisor.library.items import (
    ACTS_OF_STATE,
    IN_ORDER,
    NEEDED_IN,
    SETTLED_FIRE,
    WHOLE,
    Hazard,
    Item,
    Limit,
    Origin,
    Quantity,
    Rule,
    Step,
)
from advisor.library.rulebase import MOST_CELLS, by_table
from advisor.library.yamlfiles import Problem, near, shorten

Found = Iterator[Problem]

MOST: Final = 300
"""Problems after which nothing more is looked for: to find a near name for each of thousands takes minutes."""
MOST_OF_CALLS: Final = 0.97
"""Of the calls about a complaint the share that all causes may take together."""
DERIVED: Final = frozenset({
    "net_stack", "draft_drop", "draft_share", "excess_air", "o2_co2_gap", "co_air_free", "efficiency",
    "dew_point", "pump_pressure_ratio", "oil_flow", "firing_input", "firing_ratio", "air_opening_ratio",
    "co_over_outdoors", "barometer", "co2_change", "net_stack_change", "smoke_change", "draft_over_fire_change",
    "draft_drop_change",
})
"""The quantities that reasoning/derive.py computes; a quantity marked `derived` must be one of them."""


def cross_check(base: Base) -> list[Problem]:
    """What is wrong between the items of a base, up to `MOST` problems; empty where all is well."""
    parts = (_quantities, _aliases, _said, _limits, _given, _asked, _without, _conditions, _causes, _calls, _signatures,
             _families, _remedies, _checks, _instruments, _rules, _acts, _hazards, _order, _tables, _patterns,
             _complaints)
    return list(islice(chain.from_iterable(part(base) for part in parts), MOST))


def _at(item: Item | Rule, what: str) -> Problem:
    return Problem(item.place.file, item.place.line, what)


def _unknown(kind: str, name: str, known: Iterable[str]) -> str:
    meant = near(name, known)
    return f"unknown {kind} {shorten(name)!r}" + (f"; did you mean {meant[0]!r}?" if meant else "")


def _names(
    item: Item | Rule, where: str, kind: str, names: Iterable[str], known: Mapping[str, object]
) -> Found:
    for name in names:
        if name not in known:
            yield _at(item, f"{where}: {_unknown(kind, name, known)}")


def _symbols(base: Base, item: Item | Rule, where: str, choices: Mapping[str, tuple[str, ...]]) -> Found:
    """The names and symbols of a `when`, an `expect`, an `only` or an `unless`."""
    for name, symbols in choices.items():
        known = base.named.get(name)
        if known is None:
            yield _at(item, f"{where}: {_unknown('name', name, base.named)}")
            continue
        if isinstance(known, Quantity) and not known.bands:
            yield _at(item, f"{where}: {name} has no bands, so nothing can be tested of it")
            continue
        for symbol in symbols:
            if symbol not in known.symbols:
                yield _at(item, f"{where}: {name} has no {symbol!r}; it has {', '.join(known.symbols)}")
        if len(set(symbols)) != len(symbols):
            yield _at(item, f"{where}: {name} names a symbol twice")


def _origin(base: Base, item: Item | Rule, origin: Origin) -> Found:
    if origin.source is not None:
        yield from _names(item, f"{item.name}: source", "source", [origin.source], base.sources)


def _quantities(base: Base) -> Found:
    for quantity in base.quantities.values():
        if quantity.instrument:
            yield from _names(quantity, quantity.name, "instrument", [quantity.instrument], base.instruments)
        if bool(quantity.derived) != (quantity.name in DERIVED):
            wrong = "says that it is derived, but nothing computes it" if quantity.derived else "is computed"
            allowed = f"`derived:` belongs to {', '.join(sorted(DERIVED))}"
            yield _at(quantity, f"quantity {quantity.name} {wrong}; {allowed}")
        if quantity.derived and quantity.accuracy:
            yield _at(quantity, f"quantity {quantity.name} is computed: its error follows from the readings; give no "
                                "`accuracy`, and `formula_error` only for what the formula itself leaves out")
        if quantity.last_of:
            yield from _names(quantity, f"{quantity.name}: last_of", "quantity", [quantity.last_of], base.quantities)
        if quantity.size_of:
            parts = {part: remedy for remedy in base.remedies.values() for part in remedy.parts}
            yield from _names(quantity, f"{quantity.name}: size_of", "part of a remedy", quantity.size_of, parts)
        if len(quantity.bands) == 1:
            yield _at(quantity, f"quantity {quantity.name} has one band; give two or more, or none")
        if quantity.name in base.observations or quantity.name in base.conditions:
            yield _at(quantity, f"{quantity.name} is also an observation or a condition; rename one")
    for observation in base.observations.values():
        if observation.name in base.conditions:
            yield _at(observation, f"{observation.name} is also a condition; rename one")


def _aliases(base: Base) -> Found:
    seen: dict[str, str] = {}
    for item in base.entered:
        for word in dict.fromkeys((item.name.replace("_", " "), item.title, *item.aliases)):
            if seen.setdefault(word, item.name) != item.name:
                yield _at(item, f"{item.name}: the word {word!r} already means {seen[word]}; use another")


def _said(base: Base) -> Found:
    """Phrases that mean two answers by themselves: whoever says one would be misunderstood every second time."""
    seen: dict[str, str] = {}
    for item in base.observations.values():
        for answer, phrases in item.said.items():
            for phrase in phrases:
                if not phrase.startswith(WHOLE):
                    continue
                said = " ".join(phrase.removeprefix(WHOLE).lower().replace("-", " ").split())
                means = f"{item.name} {answer}"
                if seen.setdefault(said, means) != means:
                    yield _at(item, f"{item.name}: the phrase {phrase!r} already means {seen[said]}, so it cannot mean "
                                    f"{answer} by itself; drop one, or its {WHOLE}")


def _limits(base: Base) -> Found:
    for quantity in base.quantities.values():
        bands, limits = list(quantity.bands), base.limits_of[quantity.name]
        pairs = [(limit.below, limit.above) for limit in limits]
        wanted = list(pairwise(bands))
        if pairs != wanted:
            missing = [f"{low}/{high}" for low, high in wanted if (low, high) not in pairs]
            what = f"lacks a limit between {', '.join(missing)}" if missing else "has a limit too many"
            yield _at(quantity, f"quantity {quantity.name} {what}; each two neighboring bands have one limit")
        for lower, upper in pairwise(limits):
            if lower.value >= upper.value:
                yield _at(upper, f"limit {upper.name} must lie above {lower.name}; bands run from low to high")
    for limit in base.limits.values():
        yield from _origin(base, limit, limit.origin)
        yield from _limit_bands(base, limit)
        for case in limit.cases:
            yield from _symbols(base, limit, f"limit {limit.name}", case.when)


def _limit_bands(base: Base, limit: Limit) -> Found:
    quantity = base.quantities.get(limit.of)
    for band in (limit.below, limit.above):
        if quantity and band not in quantity.bands:
            bands = ", ".join(quantity.bands)
            yield _at(limit, f"limit {limit.name}: {limit.of} has no band {band!r}; it has {bands}")


def _given(base: Base) -> Found:
    for item in base.entered:
        derived = isinstance(item, Quantity) and item.derived
        if not derived and item.name not in base.checks_giving:
            yield _at(item, f"{item.name} is given by no check; add it to the `gives` of one")


def _conditions(base: Base) -> Found:
    for condition in base.conditions.values():
        concluded = {rule.concludes[condition.name] for rule in base.rules_concluding[condition.name]}
        for value in condition.values:
            if value not in concluded:
                what = f"no rule concludes {value!r}; add one or drop it"
                yield _at(condition, f"condition {condition.name}: {what}")
    for name in base.conditions:
        if name in _condition_grounds(base, name, set()):
            yield _at(base.conditions[name], f"condition {name} is concluded from itself; break the circle")


def _condition_grounds(base: Base, name: str, seen: set[str]) -> set[str]:
    for rule in base.rules_concluding[name]:
        for tested in rule.when:
            if tested in base.conditions and tested not in seen:
                seen.add(tested)
                _condition_grounds(base, tested, seen)
    return seen


def _asked(base: Base) -> Found:
    for item in base.entered:
        where = f"{type(item).__name__.lower()} {item.name}: only"
        yield from _names(item, where, "observation or banded quantity", item.only,
                          {**base.observations, **{one.name: one for one in base.quantities.values() if one.bands}})
        yield from _symbols(base, item, where, {name: any_of for name, any_of in item.only.items()
                                                if name in base.observations})


def _without(base: Base) -> Found:
    """What cannot be had with a finding."""
    known = {one for needed in NEEDED_IN.values() for one in needed}
    for item in base.entered:
        for symbol, missing in item.without.items():
            yield from _symbols(base, item, f"{item.name}: without", {item.name: (symbol,)})
            for one in missing:
                if one not in known:
                    yield _at(item, f"{item.name}: without: {one!r} must be one of {', '.join(sorted(known))}")


def _causes(base: Base) -> Found:
    for cause in base.causes.values():
        where = f"cause {cause.name}"
        yield from _names(cause, where, "check", [cause.confirm_check], base.checks)
        yield from _names(cause, where, "remedy", [cause.remedy], base.remedies)
        yield from _symbols(base, cause, f"{where}: only", cause.only)
        yield from _names(cause, f"{where}: behind", "cause", cause.behind, base.causes)
        if cause.again_within and not cause.behind:
            yield _at(cause, f"{where}: `again-within` says how soon it comes back by what is `behind` it; name that")
        for link in cause.chain:
            yield from _symbols(base, cause, f"{where}: chain", {link.moves: link.to})
        about = base.rules_about[cause.name]
        if not any(rule.weighs.get(cause.name, 0) > 0 or cause.name in rule.confirms for rule in about):
            yield _at(cause, f"{where}: no rule supports it, so it can never be found; add a rule")


def _calls(base: Base) -> Found:
    """The causes' shares of calls: complaints that there are, and something left for what nobody here knows. On a
    yearly service nobody complains, and more than one thing may be found.
    """
    complaint = base.observations.get("complaint")
    known = dict.fromkeys(complaint.answers if complaint else ())
    for cause in base.causes.values():
        yield from _names(cause, f"cause {cause.name}: calls", "complaint", list(cause.calls), known)
    for answer in known:
        whole = sum(cause.calls.get(answer, 0.0) for cause in base.causes.values())
        if complaint and answer != "routine" and whole > MOST_OF_CALLS:
            yield _at(complaint, f"the causes' shares of the calls about {answer} sum to {whole:.3g}, and may come to "
                                 f"{MOST_OF_CALLS:g}: the rest is none of the causes known; lower some of them")


def _signatures(base: Base) -> Found:
    for panel in base.panels.values():
        yield from _names(panel, f"panel {panel.name}", "quantity or observation", [panel.name],
                          {**base.quantities, **base.observations})
        yield from _names(panel, f"panel {panel.name}: also", "quantity or observation", panel.also,
                          {**base.quantities, **base.observations})
        if panel.given:
            yield from _names(panel, f"panel {panel.name}: given", "panel", [panel.given], base.panels)
    if base.signatures and IN_ORDER not in base.signatures:
        yield _at(next(iter(base.panels.values())), f"no signature {IN_ORDER!r}: say what a sound unit shows")
    if IN_ORDER in base.signatures:
        stated = {(shown.of, shown.at) for shown in base.signatures[IN_ORDER].shows}
        for panel in base.panels.values():
            for at in base.named[panel.given].symbols if panel.given in base.named else ("",):
                if (panel.name, at) not in stated:
                    beside = f" at {panel.given} {at}" if at else ""
                    yield _at(base.signatures[IN_ORDER], f"signature {IN_ORDER} does not state {panel.name}{beside}, "
                                                         "and every other one rests on it")
    for signature in base.signatures.values():
        where = f"signature {signature.name}"
        yield from _names(signature, where, "cause", [signature.name], {**base.causes, IN_ORDER: None})
        yield from _origin(base, signature, signature.origin)
        for unlike in signature.unlike:
            yield from _symbols(base, signature, f"{where}: unlike", unlike.when)
        for shown in (*signature.shows, *(one for unlike in signature.unlike for one in unlike.shows)):
            if shown.of not in base.panels:
                yield _at(signature, f"{where}: {_unknown('panel', shown.of, base.panels)}")
                continue
            given = base.panels[shown.of].given
            if bool(shown.at) != bool(given):
                how = f"for each level of {given}: write `{shown.of} at LEVEL: ...`" if given else \
                    f"alone: write `{shown.of}: ...`"
                yield _at(signature, f"{where}: {shown.of} is stated {how}")
            yield from _symbols(base, signature, where, {
                shown.of: tuple(dict.fromkeys((*shown.far_gone, *shown.begun))),
                **({given: (shown.at,)} if given and shown.at else {})})


def _families(base: Base) -> Found:
    for family in base.families.values():
        yield from _names(family, f"family {family.name}", "cause", family.members, base.causes)
    within = {cause for family in base.families.values() for cause in family.members}
    for cause in base.causes.values():
        if base.families and base.own_rules is None and cause.name not in within:  # one's own cause may stand alone
            yield _at(cause, f"cause {cause.name} belongs to no family; name it among the `members` of one")


def _remedies(base: Base) -> Found:
    used = {cause.remedy for cause in base.causes.values()}
    for remedy in base.remedies.values():
        where = f"remedy {remedy.name}"
        yield from _names(remedy, where, "check", remedy.retest.checks, base.checks)
        yield from _symbols(base, remedy, f"{where}: expect", remedy.retest.expect)
        if remedy.name not in used:
            yield _at(remedy, f"{where} belongs to no cause; name it in a cause's `remedy`, or drop it")


def _checks(base: Base) -> Found:
    known = {**base.quantities, **base.observations}
    for check in base.checks.values():
        where = f"check {check.name}"
        yield from _names(check, f"{where}: gives", "quantity or observation", check.gives, known)
        yield from _names(check, f"{where}: instruments", "instrument", check.instruments, base.instruments)
        if check.opens:
            yield from _names(check, f"{where}: opens", "access", [check.opens], base.accesses)
        if check.settled:
            yield from _names(check, f"{where}: settled", "access", [SETTLED_FIRE], base.accesses)
        yield from _names(check, f"{where}: after", "quantity or observation", check.after, known)
        yield from _symbols(base, check, f"{where}: unless", check.unless)
        for key, judged in (("passes", check.passes), ("not-fitted", check.not_fitted)):
            yield from _symbols(base, check, f"{where}: {key}", judged)
            for name in judged:
                if name not in check.gives:
                    yield _at(check, f"{where}: {key}: {name!r} is not what it gives ({', '.join(check.gives)})")
        for one in check.brings:
            if one not in NEEDED_IN[check.state]:
                yield _at(check, f"{where}: brings {one!r}, which the state {check.state!r} does not need")


def _instruments(base: Base) -> Found:
    for instrument in base.instruments.values():
        where = f"instrument {instrument.name}"
        yield from _symbols(base, instrument, f"{where}: spared", instrument.spared_until)
        if instrument.proven_by:
            yield from _names(instrument, f"{where}: proven-by", "check", [instrument.proven_by], base.checks)


def _rules(base: Base) -> Found:
    entries = {**base.quantities, **base.observations}
    seen: dict[object, str] = {}
    for rule in base.rules.values():
        where = f"rule {rule.name}"
        yield from _symbols(base, rule, where, rule.when)
        yield from _origin(base, rule, rule.origin)
        yield from _names(rule, where, "cause", rule.causes, base.causes)
        yield from _names(rule, f"{where}: doubts", "quantity or observation", rule.doubts, entries)
        if rule.hazard:
            yield from _names(rule, where, "hazard", [rule.hazard], base.hazards)
        if rule.recheck:
            yield from _names(rule, f"{where}: recheck", "check", [rule.recheck], base.checks)
        for name, value in rule.concludes.items():
            if name not in base.conditions:
                yield _at(rule, f"{where}: {_unknown('condition', name, base.conditions)}")
            elif value not in base.conditions[name].values:
                values = ", ".join(base.conditions[name].values)
                yield _at(rule, f"{where}: {name} has no {value!r}; it has {values}")
        for example in rule.examples:
            yield from _names(rule, f"{where}: example", "quantity or observation", example.entries, entries)
        same = tuple(sorted((name, tuple(sorted(symbols))) for name, symbols in rule.when.items()))
        concludes = tuple(sorted(rule.concludes.items()))
        effects = (concludes, rule.causes, rule.hazard, rule.doubts, bool(rule.advises))
        key = (same, effects)
        if key in seen:
            yield _at(rule, f"{where} repeats {seen[key]}: same `when`, same effects; keep one")
        seen.setdefault(key, rule.name)


def _tables(base: Base) -> Found:
    """Rules of a cause that together span more joint answers than can be weighed."""
    for cause, rules in base.rules_about.items():
        for names, own in by_table(rules, base.equipment).items():
            size = math.prod(len(base.named[name].symbols) for name in names if name in base.named)
            if size > MOST_CELLS:
                yield _at(max(own, key=lambda rule: (rule.own, len(rule.when))),
                          f"the rules on {', '.join(names)} for {cause} span {size:,} joint answers, and a table holds "
                          f"{MOST_CELLS:,}; let a rule conclude a condition from some of them, and test that")


def _patterns(base: Base) -> Found:
    """Conditions that hang on too much, and rules that conclude two values of one from the same facts."""
    for condition, rules in base.rules_concluding.items():
        tests: dict[str, set[tuple[str, ...]]] = {}
        for rule in rules:
            for name, any_of in rule.when.items():
                tests.setdefault(name, set()).add(any_of)
        # each answer is told from another by which tests take it
        size = math.prod(len({tuple(symbol in any_of for any_of in tests[name]) for symbol in base.named[name].symbols})
                         for name in tests if name in base.named)
        if size > MOST_CELLS:
            yield _at(max(rules, key=lambda rule: (rule.own, len(rule.when))),
                      f"the rules that conclude {condition} span {size:,} joint answers, and a condition may hang on "
                      f"{MOST_CELLS:,}; let a further condition be concluded from some of {', '.join(tests)}")
        for one, other in combinations(rules, 2):
            if one.concludes[condition] != other.concludes[condition] and (_within(one, other) or _within(other, one)):
                yield _at(other, f"rule {other.name} concludes {condition} {other.concludes[condition]!r}, where rule "
                                 f"{one.name} ({one.place}) concludes {one.concludes[condition]!r} from the same "
                                 "facts; let their `when` exclude each other")


def _within(one: Rule, other: Rule) -> bool:
    """Whether, where one rule fires, another does too for some of its answers, and it asks for no more names."""
    return set(other.when) <= set(one.when) and all(set(one.when[name]) & set(other.when[name]) for name in other.when)


def _complaints(base: Base) -> Found:
    """Complaints for which one cause alone speaks: somebody called, so it would be all but certain by that alone."""
    for item in base.observations.values():
        if item.part != "complaint":
            continue
        for answer in item.answers:
            rules = [rule for rule in base.rules.values() if answer in rule.when.get(item.name, ())]
            causes = {cause for rule in rules for cause, weight in rule.weighs.items() if weight > 0}
            if len(causes) == 1:
                yield _at(rules[0], f"{item.name} {answer!r} speaks for {causes.pop()} alone, so that the complaint by "
                                    "itself would make it all but certain; name the others that can be behind it")


def _acts(base: Base) -> Found:
    for act in base.acts.values():
        where = f"act {act.name}"
        yield from _names(act, where, "act", (*act.includes, *act.after, *act.followed_by), base.acts)
        for look in act.looks:
            yield from _symbols(base, act, f"{where}: looks", {look.name: look.clear, **look.when})
        for bar in act.bars:
            yield from _symbols(base, act, f"{where}: bars", bar.when)
            yield from _symbols(base, act, f"{where}: bars", bar.unless)


def _hazards(base: Base) -> Found:
    asked = [act.name for act in base.acts.values() if act.asked]
    for hazard in base.hazards.values():
        where = f"hazard {hazard.name}"
        yield from _names(hazard, f"{where}: may", "act", hazard.may, base.acts)
        missing = [name for name in asked if name not in hazard.may]
        if missing:
            yield _at(hazard, f"{where}: `may` says nothing of {', '.join(missing)}; answer for each")
        for name, answer in hazard.may.items():
            if answer == "reentry" and name not in ("occupants", "inside"):
                yield _at(hazard, f"{where}: `{name}: reentry` has no meaning; only people enter again")
            included = base.acts[name].includes if name in base.acts else ()
            for other in included:
                if answer == "yes" and hazard.may.get(other) == "no":
                    yield _at(hazard, f"{where}: allows `{name}` and forbids `{other}`, which it includes")
        leave = "reentry" in hazard.may.values()
        if leave != bool(hazard.emergency) or leave != bool(hazard.ends):
            yield _at(hazard, f"{where}: `emergency` and `ends` belong where people must leave (reentry), only there")
        yield from _names(hazard, f"{where}: sources", "cause", hazard.sources, base.causes)
        yield from _names(hazard, f"{where}: proof", "check", hazard.proof_checks, base.checks)
        yield from _symbols(base, hazard, f"{where}: proof", hazard.proof)
        given = {name for check in hazard.proof_checks if check in base.checks for name in base.checks[check].gives}
        for name in hazard.proof:
            if name in base.named and name not in given:
                yield _at(hazard, f"{where}: proof: {name} is given by none of its checks, so nobody is asked for it; "
                                  "add one that gives it")
        if not hazard.proof:
            yield _at(hazard, f"{where}: `proof` expects nothing, so nothing could release it")
        if not any(rule.hazard == hazard.name for rule in base.rules.values()):
            yield _at(hazard, f"{where}: no rule leads to it; add one")
        for step in (*hazard.do, *hazard.emergency):
            for act in step.acts:
                if act in base.acts and base.forbids(hazard, [act]):
                    yield _at(hazard, f"{where}: orders {act!r}, which it forbids: {step.text!r}")


def _order(base: Base) -> Found:
    """The order of steps: what must come before, and what must follow."""
    lists: list[tuple[Item | Rule, tuple[Step, ...]]] = [(check, check.how) for check in base.checks.values()]
    lists += [(remedy, remedy.steps) for remedy in base.remedies.values()]
    lists += [(hazard, hazard.do) for hazard in base.hazards.values()]
    lists += [(rule, (rule.advises,)) for rule in base.rules.values() if rule.advises]
    for item, steps in lists:
        acts = [act for step in steps for act in step.acts]
        yield from _names(item, item.name, "act", acts, base.acts)
        if isinstance(item, Rule | Hazard):
            continue  # one piece of advice, or orders of which some are for others
        for at, name in enumerate(acts):
            act = base.acts.get(name)
            if act and act.after and not set(act.after) & set(acts[:at]):
                yield _at(item, f"{item.name}: {name!r} comes before {' or '.join(act.after)}; add or move that step")
            for behind in act.followed_by if act else ():
                if behind not in acts[at:]:
                    yield _at(item, f"{item.name}: {name!r} is not followed by {behind!r}; add that step")
    for check in base.checks.values():
        fire = frozenset(("reset", "start", "run", "power"))
        more = base.acts_of(act for step in check.how for act in step.acts if act in base.acts) & fire
        more -= base.acts_of(ACTS_OF_STATE[check.state])
        if more:
            yield _at(check, f"check {check.name}: its steps {', '.join(sorted(more))}, which the state "
                             f"{check.state!r} does not take; split it")
