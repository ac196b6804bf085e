"""What an author of rules wants to know beyond the strict reading: do the examples hold, does each rule matter?"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations, product
from typing import Final

from advisor.library.base import Base
from advisor.library.items import WEIGHTS, Cause, Example, Rule
from advisor.library.yamlfiles import Problem
from advisor.reasoning.assess import lean_engine_of
from advisor.reasoning.case import Case
from advisor.reasoning.derive import derive
from advisor.reasoning.engine import PLAIN, Fact, conclusions
from advisor.reasoning.entries import EntryError, read_entry
from advisor.reasoning.tables import more_specific, scale_of

BRINGS_ABOUT: Final = 0.25
"""From this share on, a fault that is far gone brings a state about."""
DROWNED: Final = 2.0
"""Decibans by which a supporting rule may count against its cause before its author is told."""


def example_case(base: Base, example: Example) -> Case:
    """The case that the entries of an example make; errors: `EntryError`."""
    return Case(tuple(read_entry(base, name, typed) for name, typed in example.entries.items()))


def example_problem(base: Base, rule: Rule, example: Example) -> str:
    """What is wrong with an example of a rule; empty where it holds."""
    try:
        case = example_case(base, example)
    except EntryError as error:
        return str(error)
    symbols = derive(case, base).symbols
    # Only the rules that conclude something can give it more to fire on; and the plain evaluator's time for an example
    # does not grow with those that have nothing to do with it.
    concluding = lean_engine_of(base, PLAIN)
    held = {*symbols.items(), *conclusions(concluding.rules, concluding.run(symbols.items()))}
    fired = all(any((name, symbol) in held for symbol in any_of) for name, any_of in rule.when.items())
    if fired is example.fires:
        return ""
    seen = ", ".join(f"{name} {symbol}" for name, symbol in sorted(symbols.items()))
    return f"{'does not fire' if example.fires else 'fires'} on its example; the rules see {seen or 'nothing'}"


def examples(base: Base) -> Iterator[Problem]:
    """Every example that does not hold."""
    for rule in base.rules.values():
        for example in rule.examples:
            wrong = example_problem(base, rule, example)
            if wrong:
                yield Problem(example.place.file, example.place.line, f"rule {rule.name}: {wrong}")


def contradictions(base: Base) -> Iterator[Problem]:
    """Pairs of rules with one `when` and opposite effects on one cause or condition."""
    seen: dict[object, list[Rule]] = {}
    for rule in base.rules.values():
        key = tuple(sorted((name, tuple(sorted(symbols))) for name, symbols in rule.when.items()))
        for other in seen.get(key, ()):
            for cause in set(rule.causes) & set(other.causes):
                if _sign(rule, cause) != _sign(other, cause):
                    what = f"rule {rule.name} and {other.name} have one `when` and opposite effects on {cause}"
                    yield Problem(rule.place.file, rule.place.line, what)
            for name in set(rule.concludes) & set(other.concludes):
                if rule.concludes[name] != other.concludes[name]:
                    what = f"rule {rule.name} and {other.name} have one `when` and conclude different {name}"
                    yield Problem(rule.place.file, rule.place.line, what)
        seen.setdefault(key, []).append(rule)


def _sign(rule: Rule, cause: str) -> bool:
    return cause in rule.confirms or rule.weighs.get(cause, 0.0) > 0


def repeats(base: Base) -> Iterator[Problem]:
    """Rules that say the same of a cause as another one does, one from part of the other's symbols."""
    alike: dict[tuple[tuple[str, ...], str, float], list[Rule]] = {}
    for rule in base.rules.values():
        for cause, weight in rule.weighs.items():
            alike.setdefault((tuple(sorted(rule.when)), cause, weight), []).append(rule)
    numbers: dict[Fact, int] = {}
    tests = {rule.name: sum({1 << numbers.setdefault((name, symbol), len(numbers))
                             for name, any_of in rule.when.items() for symbol in any_of})
             for rule in base.rules.values()}  # as bits: thousands of rules on the same names are millions of pairs
    for (_, cause, _), same in alike.items():
        for at, other in enumerate(same):
            own = tests[other.name]
            one = next((one for one in same[:at] if own & tests[one.name] in (own, tests[one.name])), None)
            if one:
                what = f"rule {other.name} says of {cause} what {one.name} says already; keep one"
                yield Problem(other.place.file, other.place.line, what)


def unconfirmable(base: Base) -> Iterator[Problem]:
    """Causes that no rule can confirm, or whose confirming check does not give what the rule tests."""
    for cause in base.causes.values():
        confirming = [rule for rule in base.rules_about[cause.name] if cause.name in rule.confirms]
        gives = set(base.checks[cause.confirm_check].gives)
        if not confirming:
            yield Problem(cause.place.file, cause.place.line, f"cause {cause.name}: no rule confirms it")
        elif not any(gives & set(rule.when) for rule in confirming):
            what = f"cause {cause.name}: its check {cause.confirm_check} gives nothing that a confirming rule tests"
            yield Problem(cause.place.file, cause.place.line, what)


def out_of_reach(base: Base) -> Iterator[Problem]:
    """Causes whose confirming check needs what the cause itself takes away: a fire where none lights, oil that flows
    where the motor stands still.
    """
    for cause in base.causes.values():
        check = base.checks[cause.confirm_check]
        for name, symbol, missing in _taken_away(base, cause):
            lacks = set(check.lacks(missing))
            if lacks:
                what = (f"cause {cause.name}: its check {check.name} is made with the burner {check.burner}, but the "
                        f"cause makes {name} {symbol}, and then there is no {' and no '.join(sorted(lacks))}; name a "
                        "check that can be made then, or correct the state")
                yield Problem(cause.place.file, cause.place.line, what)


def _taken_away(base: Base, cause: Cause) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """What a cause that is far gone brings about, by its signature or where its chain leaves nothing else, of that with
    which something cannot be had; and what that is.
    """
    signature = base.signatures.get(cause.name)
    for item in base.entered:
        shares: dict[str, float] = {}
        for shown in signature.shows if signature else ():
            if shown.of == item.name and not shown.at:
                shares = dict(shown.far_gone)
        for link in cause.chain:
            if not shares and link.moves == item.name and len(link.to) == 1:
                shares[link.to[0]] = 1.0
        for symbol, missing in item.without.items():
            if shares.get(symbol, 0.0) >= BRINGS_ABOUT:
                yield item.name, symbol, missing


def overruled(base: Base) -> Iterator[Problem]:
    """Rules that only support a cause where a wider rule, which they replace, confirms it."""
    for cause in base.causes:
        rules = base.rules_about[cause]
        confirming = [rule for rule in rules if cause in rule.confirms]
        supporting = [rule for rule in rules if rule.weighs.get(cause, 0.0) > 0]
        for wide, narrow in product(confirming, supporting):
            if more_specific(narrow, wide):
                what = (f"rule {narrow.name} only supports {cause}, which rule {wide.name} confirms on less; "
                        "confirm it too")
                yield Problem(narrow.place.file, narrow.place.line, what)


def drowned(base: Base) -> Iterator[Problem]:
    """Rules that support a cause at least moderately, and yet count against it, since its other signs outweigh them.

    Of the answers to one question those with the greater weights take the greater part of what a cause is expected to
    show; what is left for a weaker sign may be less than is usual without the cause.
    """
    for cause, groups in scale_of(base).groups.items():
        for group in groups:
            for rule in group.rules:
                if rule.weighs.get(cause, 0.0) < WEIGHTS["moderate"] or cause in rule.confirms:
                    continue
                spaces = [rule.when.get(name, (None,)) for name in group.names]
                least = min(group.decibans(key)[0] for key in product(*spaces))
                if least < -DROWNED:
                    what = (f"rule {rule.name} supports {cause}, but counts {-least:.1f} decibans against it beside "
                            "its stronger signs in the same question; weigh it stronger, or leave the cause out")
                    yield Problem(rule.place.file, rule.place.line, what)


def one_handed(base: Base) -> Iterator[Problem]:
    """Causes that only their confirming sign speaks for, so that nothing would ever raise the suspicion."""
    for cause in base.causes.values():
        names = {name for rule in base.rules_about[cause.name]
                 if rule.weighs.get(cause.name, 0) > 0 for name in rule.when}
        if len(names - scale_of(base).equipment) < 2:
            what = f"cause {cause.name}: fewer than two readings raise the suspicion before it is confirmed"
            yield Problem(cause.place.file, cause.place.line, what)


def twins(base: Base) -> Iterator[Problem]:
    """Pairs of causes that no check can tell apart: every table of the one is a table of the other."""
    scale = scale_of(base)
    tables = {
        cause: {(group.names, tuple(round(group.with_[cell], 6) for cell in sorted(group.with_))) for group in groups}
        for cause, groups in scale.groups.items()
    }
    for one, other in combinations(base.causes, 2):
        if tables[one] == tables[other]:
            place = base.causes[other].place
            yield Problem(place.file, place.line, f"cause {other}: no check tells it from {one}")


def findings(base: Base) -> list[Problem]:
    """All of the above."""
    parts = (examples, contradictions, repeats, overruled, drowned, unconfirmable, out_of_reach, one_handed, twins)
    return [problem for part in parts for problem in part(base)]


def source_shares(base: Base) -> dict[str, int]:
    """How many rules rest on what: common practice, a publication, a publication from memory."""
    def kind(rule: Rule) -> str:
        if rule.origin.source is None:
            return "common practice"
        return "published, from memory" if rule.origin.from_memory else "published"
    return dict(Counter(kind(rule) for rule in base.rules.values()).most_common())


def coverage(base: Base) -> dict[str, tuple[str, ...]]:
    """For each check, the causes on which its answers bear through a rule or a condition."""
    def bears(name: str) -> set[str]:
        out = set(scale_of(base).groups_with.get(name, {}))
        for condition, rules in base.rules_concluding.items():
            if any(name in rule.when for rule in rules):
                out |= set(scale_of(base).groups_with.get(condition, {}))
        return out
    return {
        check.name: tuple(sorted(set().union(*(bears(name) for name in check.gives))))
        for check in base.checks.values()
    }
