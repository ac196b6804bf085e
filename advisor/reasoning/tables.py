"""The tables behind the weighing: for each cause, likelihood ratios over joint answers, scaled to be coherent.

All rules that test the same names for a cause form one table; each cell is the product of the rules that fire there,
a more specific rule in place of the general one. With the usual shares of the answers it gives how often each joint
answer is met without the cause, and with it. A condition has a pattern: which joint answers conclude what.
"""

from __future__ import annotations

import gc
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product
from typing import Final, NamedTuple

from advisor.library.base import Base
from advisor.library.items import NONE, Rule
from advisor.library.rulebase import CONFIRMING, by_table
from advisor.reasoning.odds import decibans
from advisor.reasoning.signatures import told_in_figures
from advisor.reasoning.stages import INCIPIENT_SHARE
from advisor.reasoning.turnout import COMPLAINT, Turnout, turnout_of

FALSE_ALARM_RATE: Final = 0.01
"""How often a confirming sign is taken to be seen without its cause: 1 call in 100."""

Known = Mapping[str, str]
Cell = tuple[str, ...]
Part = str | tuple[float, ...] | None
"""What is known of one name of a table: its symbol, weights of its symbols where it is in part known, or nothing."""
Key = tuple[Part, ...]


class Signs(NamedTuple):
    """The rules of a table that hold, less those that a more specific one replaces; those that something known keeps
    from firing; the names that are open.
    """

    fired: tuple[str, ...]
    blocked: tuple[str, ...]
    open: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Group:
    """The table of one cause over the joint answers to `names`.

    `without` is how often a cell is met without the cause, `with_` with it, `early` with it where it has only begun;
    each sums to 1.
    """

    cause: str
    names: tuple[str, ...]
    rules: tuple[Rule, ...]
    spaces: tuple[tuple[str, ...], ...]
    without: Mapping[Cell, float]
    with_: Mapping[Cell, float]
    early: Mapping[Cell, float]
    given: tuple[bool, ...]
    """For each name whether it is given and no finding here: equipment, and readings of which the signatures speak.
    Beside other names it says nothing itself.
    """
    _seen: dict[Key, tuple[float, float, float]] = field(default_factory=dict)
    _decibans: dict[Key, tuple[float, float]] = field(default_factory=dict)
    _signs: dict[Key, Signs] = field(default_factory=dict)

    def shares(self, key: Key) -> tuple[float, float, float]:
        """How often what is known is met without the cause, with it, and where it has only begun."""
        found = self._seen.get(key)
        if found is None:
            parts = []
            for part, space in zip(key, self.spaces, strict=True):
                if isinstance(part, tuple):
                    parts.append(list(zip(space, part, strict=True)))
                else:
                    parts.append([(symbol, 1.0) for symbol in (space if part is None else (part,))])
            without = with_ = early = 0.0
            for chosen in product(*parts):
                cell = tuple(symbol for symbol, _ in chosen)
                weight = math.prod(weight for _, weight in chosen)
                without += weight * self.without[cell]
                with_ += weight * self.with_[cell]
                early += weight * self.early[cell]
            found = self._seen[key] = (without, with_, early)
        return found

    def decibans(self, key: Key) -> tuple[float, float]:
        """The evidence of what is known, for the cause and for one that has only begun: 10 log10 of with over without,
        beside what is given.
        """
        found = self._decibans.get(key)
        if found is None:
            without, with_, early = self.shares(key)
            if not all(self.given):
                given = self.shares(tuple([part if one else None for part, one in zip(key, self.given, strict=True)]))
                without, with_, early = without / given[0], with_ / given[1], early / given[2]
            found = self._decibans[key] = 10.0 * math.log10(with_ / without), 10.0 * math.log10(early / without)
        return found

    def key(self, known: Known, soft: Mapping[str, tuple[float, ...]]) -> Key:
        return tuple([known.get(name) or soft.get(name) for name in self.names])

    def signs(self, known: Known) -> Signs:
        """Which of its rules hold, and which cannot any more."""
        key = tuple([known.get(name) for name in self.names])
        found = self._signs.get(key)
        if found is None:
            found = self._signs[key] = Signs(
                tuple([rule.name for rule in fired_rules(self.rules, known)]),
                tuple([rule.name for rule in self.rules if blocked(rule, known)]),
                tuple([name for name in self.names if name not in known]))
        return found


@dataclass(frozen=True, eq=False)
class Pattern:
    """How a condition hangs on the names that its rules test: what each joint answer to them concludes.

    Answers that no rule tells apart are one class. `usual` is how often each symbol of the condition is met.
    """

    condition: str
    names: tuple[str, ...]
    classes: tuple[Mapping[str, int], ...]
    shares: tuple[tuple[float, ...], ...]
    cells: tuple[tuple[tuple[int, ...], int], ...]
    usual: tuple[float, ...]
    equipment: tuple[bool, ...]
    _seen: dict[tuple[int | None, ...], tuple[float, ...]] = field(default_factory=dict)

    def weights(self, known: Known) -> tuple[float, ...] | None:
        """How much likelier than usual on equipment like this each symbol of the condition is, given what is known;
        None if nothing is but equipment.
        """
        key = tuple([None if name not in known else self.classes[place].get(known[name])
                     for place, name in enumerate(self.names)])
        given = tuple([part if equipment else None for part, equipment in zip(key, self.equipment, strict=True)])
        if key == given:
            return None
        found = self._seen.get(key)
        if found is None:
            found = self._seen[key] = tuple(chance / usual if usual else 1.0 for chance, usual in zip(
                self._chances(key), self._chances(given), strict=True))
        return found

    def _chances(self, key: tuple[int | None, ...]) -> list[float]:
        """How often each symbol is met where these classes are."""
        chances = [0.0] * len(self.usual)
        for cell, symbol in self.cells:
            parts = list(zip(key, cell, self.shares, strict=True))
            if all(part is None or part == there for part, there, _ in parts):
                chances[symbol] += math.prod(shares[there] for part, there, shares in parts if part is None)
        return chances


@dataclass(frozen=True, eq=False)
class Scale:
    """All tables of a base, and where each name bears."""

    patterns: Mapping[str, Pattern]
    groups: Mapping[str, tuple[Group, ...]]
    priors: Mapping[str, float]
    """The odds of each cause on a yearly service, in decibans."""
    turnout: Turnout
    groups_with: Mapping[str, Mapping[str, tuple[Group, ...]]]
    """For each name: the causes it bears on, each with its tables on that name."""
    equipment: frozenset[str]
    in_figures: frozenset[str]
    """The readings, and conditions that rest on them alone, of which the signatures speak."""
    stories: Mapping[str, frozenset[str]]
    """For each name that tells of what others tell of too: what that is."""
    telling: dict[tuple[str, str], tuple[float, float]] = field(default_factory=dict, repr=False)
    """Worked out once by the look-ahead: what a name alone tells of a cause, by a look at it and by its effects."""
    _told: dict[frozenset[str], tuple[Mapping[str, float], bool]] = field(default_factory=dict, repr=False)
    _alike: dict[tuple[str, str], Mapping[str, int]] = field(default_factory=dict, repr=False)

    def told(self, entries: frozenset[str]) -> tuple[Mapping[str, float], bool]:
        """What entries tell of, each with the share of them that does, and whether every one only tells of such."""
        found = self._told.get(entries)
        if found is None:
            each = [self.stories.get(name, frozenset()) for name in entries]
            shares = {story: sum(story in told for told in each) / len(each) for story in frozenset().union(*each)}
            found = self._told[entries] = (shares, bool(each) and all(each))
        return found

    def alike(self, name: str, cause: str) -> Mapping[str, int]:
        """The answers to a name, numbered so that those between which no table of the cause tells have one number."""
        found = self._alike.get((name, cause))
        if found is None:
            groups = self.groups_with.get(name, {}).get(cause, ())
            answers = groups[0].spaces[groups[0].names.index(name)] if groups else ()
            tests = [rule.when[name] for group in groups for rule in group.rules if name in rule.when]
            told: dict[tuple[bool, ...], int] = {}
            found = self._alike[name, cause] = {
                answer: told.setdefault(tuple([answer in any_of for any_of in tests]), len(told)) for answer in answers}
        return found


@lru_cache(maxsize=8)
def scale_of(base: Base) -> Scale:
    """The tables of a base, made once."""
    equipment = base.equipment
    patterns: dict[str, Pattern] = {}
    for condition in base.conditions:
        _pattern(base, condition, patterns, equipment)
    usual = dict(base.usual)
    usual |= {name: dict(zip(base.conditions[name].symbols, pattern.usual, strict=True))
              for name, pattern in patterns.items()}
    told = told_in_figures(base)
    groups = {cause: tuple(_groups(base, cause, usual, equipment, told)) for cause in base.causes}
    turnout = turnout_of(base)
    groups_with: dict[str, dict[str, tuple[Group, ...]]] = {}
    for cause, own in groups.items():
        for group in own:
            for name in group.names:
                bearing = groups_with.setdefault(name, {})
                bearing[cause] = (*bearing.get(cause, ()), group)
    priors = {name: decibans(share) for name, share in turnout.service.items()}
    # What is known stays for good: spare the garbage collector from walking through it again in every turn.
    gc.freeze()
    stories = {item.name: frozenset(item.tells_of) for item in base.entered if item.tells_of}
    return Scale(patterns, groups, priors, turnout, groups_with, equipment, told, stories)


def _pattern(base: Base, condition: str, made: dict[str, Pattern], equipment: frozenset[str]) -> Pattern:
    """The pattern of a condition; patterns of the conditions that it rests on are made first."""
    if condition in made:
        return made[condition]
    rules, item = base.rules_concluding[condition], base.conditions[condition]
    names = tuple(dict.fromkeys(name for rule in rules for name in rule.when))
    classes, shares, alike = [], [], []
    for name in names:
        if name in base.conditions:
            own = dict(zip(base.conditions[name].symbols, _pattern(base, name, made, equipment).usual, strict=True))
        else:
            own = dict(base.usual[name])
        tests = [rule.when[name] for rule in rules if name in rule.when]
        told: dict[tuple[bool, ...], list[str]] = {}
        for symbol in own:
            told.setdefault(tuple(symbol in any_of for any_of in tests), []).append(symbol)
        alike.append([group[0] for group in told.values()])
        classes.append({symbol: number for number, group in enumerate(told.values()) for symbol in group})
        shares.append(tuple(sum(own[symbol] for symbol in group) for group in told.values()))
    cells, usual = [], [0.0] * len(item.symbols)
    for cell in product(*(range(len(own)) for own in shares)):
        answers = {name: alike[place][cell[place]] for place, name in enumerate(names)}
        values = {rule.concludes[condition] for rule in rules
                  if all(answers[name] in any_of for name, any_of in rule.when.items())}
        concluded = item.symbols.index(values.pop() if len(values) == 1 else NONE)
        cells.append((cell, concluded))
        usual[concluded] += math.prod(shares[place][there] for place, there in enumerate(cell))
    # A value that always meets another one, so that neither is concluded, is not impossible: rules may be mended.
    made[condition] = Pattern(condition, names, tuple(classes), tuple(shares), tuple(cells),
                              tuple(max(share, 1e-6) for share in usual),
                              tuple(name in equipment for name in names))
    return made[condition]


def _groups(
    base: Base, cause: str, usual: Mapping[str, Mapping[str, float]], equipment: frozenset[str], told: frozenset[str]
) -> Iterator[Group]:
    """The tables of a cause. Rules on nothing but readings that signatures tell of (`told`), or on the complaint where
    the cause tells its shares of calls, say in words what those say in figures, so they weigh nothing, unless they
    prove the cause.
    """
    given = equipment | told | ({COMPLAINT} if base.causes[cause].calls else set())
    for names, own in by_table(base.rules_about[cause], given).items():
        if given.issuperset(names) and not equipment.issuperset(names) and not any(cause in rule.confirms
                                                                                   for rule in own):
            continue
        yield _table(usual, cause, names, own, given)


def _table(
    shares_of: Mapping[str, Mapping[str, float]], cause: str, names: tuple[str, ...], rules: Iterable[Rule],
    given: frozenset[str],
) -> Group:
    symbols = [shares_of[name] for name in names]
    usual: dict[Cell, float] = {}
    ratio: dict[Cell, float] = {}
    confirming: set[Cell] = set()
    for cell in product(*symbols):
        answers = dict(zip(names, cell, strict=True))
        kept = fired_rules(rules, answers)
        usual[cell] = math.prod(shares[symbol] for shares, symbol in zip(symbols, cell, strict=True))
        total = sum(_weight(rule, cause) for rule in kept)
        ratio[cell] = 10.0 ** (max(-CONFIRMING, min(CONFIRMING, total)) / 10.0)
        if any(cause in rule.confirms for rule in kept):
            confirming.add(cell)
    without = _without(usual, confirming)
    whole = sum(without[cell] * ratio[cell] for cell in without)
    with_ = {cell: without[cell] * ratio[cell] / whole for cell in without}
    return Group(cause, names, tuple(rules), tuple(tuple(shares) for shares in symbols), without, with_,
                 with_ if any(cause in rule.confirms for rule in rules) else _early(without, with_),
                 tuple(name in given for name in names))


def _early(without: Mapping[Cell, float], with_: Mapping[Cell, float]) -> dict[Cell, float]:
    """How often each cell is met where the cause has only begun and does nothing elsewhere yet: as without it, but for
    what is met so seldom with it that it would be even if nothing but those that have begun met it.
    """
    shares = {cell: min(share, with_[cell] / INCIPIENT_SHARE) for cell, share in without.items()}
    whole = sum(shares.values())
    return {cell: share / whole for cell, share in shares.items()}


def fired_rules(rules: Iterable[Rule], known: Known) -> list[Rule]:
    """The rules that hold, less those that a more specific one replaces."""
    holding = [rule for rule in rules if all(known.get(name) in any_of for name, any_of in rule.when.items())]
    return [rule for rule in holding if not any(more_specific(other, rule) for other in holding)]


def blocked(rule: Rule, known: Known) -> bool:
    """Whether something known keeps a rule from firing."""
    return any(name in known and known[name] not in any_of for name, any_of in rule.when.items())


def _without(usual: Mapping[Cell, float], confirming: set[Cell]) -> dict[Cell, float]:
    """How often each cell is met where the cause is absent: as usual, but a confirming sign hardly ever."""
    total = sum(usual.values())
    seen = sum(usual[cell] for cell in confirming)
    if not seen or seen / total <= FALSE_ALARM_RATE:
        return {cell: share / total for cell, share in usual.items()}
    rest = (1.0 - FALSE_ALARM_RATE) / (total - seen) if total > seen else 0.0
    scaled = FALSE_ALARM_RATE / seen
    return {cell: share * (scaled if cell in confirming else rest) for cell, share in usual.items()}


def _weight(rule: Rule, cause: str) -> float:
    if cause in rule.confirms:
        return CONFIRMING
    if cause in rule.excludes:
        return -CONFIRMING
    return rule.weighs.get(cause, 0.0)


def more_specific(rule: Rule, than: Rule) -> bool:
    """Whether a rule asks for all that another asks for, and for more."""
    if rule is than or not rule.when.keys() >= than.when.keys():
        return False
    narrower = all(set(rule.when[name]) <= set(any_of) for name, any_of in than.when.items())
    return narrower and any(name not in than.when or set(than.when[name]) - set(any_of)
                            for name, any_of in rule.when.items())
