"""From what is known to how likely each cause is.

Each cause starts at the odds of how common it is and gains or loses decibans. All rules that test the same
names for a cause form one table of likelihood ratios over the joint answers, scaled so that it is coherent:
averaged over the usual answers it is 1. So an expected sign that was looked for and not found speaks against
its cause by itself, and while a name of a table is unknown, the table is averaged over its usual answers.

References: I. J. Good, Probability and the Weighing of Evidence, 1950 (decibans, weight of evidence).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product
from typing import Final

from advisor.library.base import Base
from advisor.library.items import NONE, Rule
from advisor.library.rulebase import CONFIRMING

MOST_CELLS: Final = 4000
_CONFIRMING_WITHOUT: Final = 0.01
"""How often a confirming sign is taken to be seen without its cause: 1 call in 100."""
LIKELY: Final = 0.6
POSSIBLE: Final = 0.1
CONFIRMED_AT_LEAST: Final = 15.0
"""Decibans of a cause whose confirming sign was seen."""

Known = Mapping[str, str]
Grounds = Mapping[str, frozenset[str]]
Cell = tuple[str, ...]
Part = str | tuple[float, ...] | None
"""What is known of one name of a table: its symbol, weights of its symbols where it is in part known, or nothing."""
Key = tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class View:
    """What is known of a case: symbols and states of conditions; of open conditions the weights of their symbols
    (how much likelier than usual each has become); and the entries behind each name.
    """

    known: Known
    soft: Mapping[str, tuple[float, ...]]
    grounds: Grounds


@dataclass(frozen=True, eq=False)
class Group:
    """The table of one cause over the joint answers to `names`.

    `without` is how often a cell is met without the cause, `with_` with it; both sum to 1.
    """

    cause: str
    names: tuple[str, ...]
    rules: tuple[Rule, ...]
    spaces: tuple[tuple[str, ...], ...]
    without: Mapping[Cell, float]
    with_: Mapping[Cell, float]
    _seen: dict[Key, tuple[float, float]] = field(default_factory=dict)
    _decibans: dict[Key, float] = field(default_factory=dict)

    def shares(self, key: Key) -> tuple[float, float]:
        """How often what is known is met without the cause, and with it."""
        found = self._seen.get(key)
        if found is None:
            parts = []
            for part, space in zip(key, self.spaces, strict=True):
                if isinstance(part, tuple):
                    parts.append(list(zip(space, part, strict=True)))
                else:
                    parts.append([(symbol, 1.0) for symbol in (space if part is None else (part,))])
            without = with_ = 0.0
            for chosen in product(*parts):
                cell = tuple(symbol for symbol, _ in chosen)
                weight = math.prod(weight for _, weight in chosen)
                without += weight * self.without[cell]
                with_ += weight * self.with_[cell]
            found = self._seen[key] = (without, with_)
        return found

    def decibans(self, key: Key) -> float:
        """The evidence of what is known: 10 log10 of with over without."""
        found = self._decibans.get(key)
        if found is None:
            without, with_ = self.shares(key)
            found = self._decibans[key] = 10.0 * math.log10(with_ / without)
        return found

    def key(self, known: Known, soft: Mapping[str, tuple[float, ...]]) -> Key:
        return tuple([known.get(name) or soft.get(name) for name in self.names])

    def key_of(self, known: Known) -> Key:
        """The key where only this is known."""
        return tuple([known.get(name) for name in self.names])


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
    _seen: dict[tuple[int | None, ...], tuple[float, ...]] = field(default_factory=dict)

    def weights(self, known: Known) -> tuple[float, ...] | None:
        """How much likelier than usual each symbol of the condition is, given what is known; None if nothing is."""
        key = tuple([None if name not in known else self.classes[place].get(known[name])
                     for place, name in enumerate(self.names)])
        if key.count(None) == len(key):
            return None
        found = self._seen.get(key)
        if found is None:
            chances = [0.0] * len(self.usual)
            for cell, symbol in self.cells:
                parts = list(zip(key, cell, self.shares, strict=True))
                if all(part is None or part == there for part, there, _ in parts):
                    chances[symbol] += math.prod(shares[there] for part, there, shares in parts if part is None)
            found = self._seen[key] = tuple(chance / usual if usual else 1.0
                                            for chance, usual in zip(chances, self.usual, strict=True))
        return found


@dataclass(frozen=True, slots=True)
class Evidence:
    """What one table says of one cause. `decibans` is what counts, `full` what it would be alone.

    `rules` fired; where none did and that speaks against the cause, the signs of `looked_for` were looked for and not
    found; otherwise the names that are still unknown are `open`.
    `eliminated` marks what a cause gains because the complaint must have one and the others are ruled out.
    `explained_by` is a likelier cause that accounts for the same findings, so that they count less here.
    """

    names: tuple[str, ...]
    decibans: float
    full: float
    rules: tuple[str, ...]
    looked_for: tuple[str, ...]
    open: tuple[str, ...]
    explained_by: str = ""
    eliminated: bool = False


@dataclass(frozen=True, eq=False)
class Scale:
    """All tables of a base, and where each name bears."""

    patterns: Mapping[str, Pattern]
    groups: Mapping[str, tuple[Group, ...]]
    priors: Mapping[str, float]
    groups_with: Mapping[str, Mapping[str, tuple[Group, ...]]]
    """For each name: the causes it bears on, each with its tables on that name."""
    equipment: frozenset[str]


@lru_cache(maxsize=8)
def scale_of(base: Base) -> Scale:
    """The tables of a base, made once."""
    patterns: dict[str, Pattern] = {}
    for condition in base.conditions:
        _pattern(base, condition, patterns)
    usual = dict(base.usual)
    usual |= {name: dict(zip(base.conditions[name].symbols, pattern.usual, strict=True))
              for name, pattern in patterns.items()}
    groups = {cause: tuple(_groups(base, cause, usual)) for cause in base.causes}
    groups_with: dict[str, dict[str, tuple[Group, ...]]] = {}
    for cause, own in groups.items():
        for group in own:
            for name in group.names:
                bearing = groups_with.setdefault(name, {})
                bearing[cause] = (*bearing.get(cause, ()), group)
    priors = {name: decibans(share) for name, share in base.common.items()}
    equipment = frozenset(item.name for item in base.entered if item.part == "equipment")
    return Scale(patterns, groups, priors, groups_with, equipment)


def decibans(probability: float) -> float:
    """A probability as odds in decibans.

    >>> round(decibans(0.5), 3), round(decibans(10 / 11), 3)
    (0.0, 10.0)
    """
    return 10.0 * math.log10(probability / (1.0 - probability))


def belief(odds: float) -> float:
    """Odds in decibans as a probability; the inverse of `decibans`.

    >>> round(belief(10.0), 4)
    0.9091
    """
    return 1.0 / (1.0 + math.pow(10.0, -odds / 10.0))


def word_for(probability: float) -> str:
    """The word for a probability: likely from 60 %, possible from 10 %, unlikely below.

    >>> word_for(0.7), word_for(0.3), word_for(0.05)
    ('likely', 'possible', 'unlikely')
    """
    return "likely" if probability >= LIKELY else "possible" if probability >= POSSIBLE else "unlikely"


def _pattern(base: Base, condition: str, made: dict[str, Pattern]) -> Pattern:
    """The pattern of a condition; patterns of the conditions that it rests on are made first."""
    if condition in made:
        return made[condition]
    rules, item = base.rules_concluding[condition], base.conditions[condition]
    names = tuple(dict.fromkeys(name for rule in rules for name in rule.when))
    classes, shares, alike = [], [], []
    for name in names:
        if name in base.conditions:
            own = dict(zip(base.conditions[name].symbols, _pattern(base, name, made).usual, strict=True))
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
    made[condition] = Pattern(condition, names, tuple(classes), tuple(shares), tuple(cells), tuple(usual))
    return made[condition]


def _groups(base: Base, cause: str, usual: Mapping[str, Mapping[str, float]]) -> Iterator[Group]:
    """The tables of a cause: rules on the same names together, and those on part of the names of others with them."""
    rules = base.rules_about[cause]
    sets = sorted({tuple(sorted(rule.when)) for rule in rules}, key=lambda names: (-len(names), names))
    homes: dict[tuple[str, ...], list[Rule]] = {}
    for names in sets:
        home = next((bigger for bigger in homes if set(names) < set(bigger)), names)
        homes.setdefault(home, []).extend(rule for rule in rules if tuple(sorted(rule.when)) == names)
    for names, own in homes.items():
        yield _table(usual, cause, names, own)


def _table(
    shares_of: Mapping[str, Mapping[str, float]], cause: str, names: tuple[str, ...], rules: Iterable[Rule]
) -> Group:
    symbols = [shares_of[name] for name in names]
    size = math.prod(len(shares) for shares in symbols)
    if size > MOST_CELLS:
        raise ValueError(f"the rules on {', '.join(names)} for {cause} span {size} joint answers; split them")
    usual: dict[Cell, float] = {}
    ratio: dict[Cell, float] = {}
    confirming: set[Cell] = set()
    for cell in product(*symbols):
        answers = dict(zip(names, cell, strict=True))
        kept = _fired(rules, answers)
        usual[cell] = math.prod(shares[symbol] for shares, symbol in zip(symbols, cell, strict=True))
        total = sum(_weight(rule, cause) for rule in kept)
        ratio[cell] = 10.0 ** (max(-CONFIRMING, min(CONFIRMING, total)) / 10.0)
        if any(cause in rule.confirms for rule in kept):
            confirming.add(cell)
    without = _without(usual, confirming)
    whole = sum(without[cell] * ratio[cell] for cell in without)
    return Group(cause, names, tuple(rules), tuple(tuple(shares) for shares in symbols), without,
                 {cell: without[cell] * ratio[cell] / whole for cell in without})


def _fired(rules: Iterable[Rule], known: Known) -> list[Rule]:
    """The rules that hold, less those that a more specific one replaces."""
    holding = [rule for rule in rules if all(known.get(name) in any_of for name, any_of in rule.when.items())]
    return [rule for rule in holding if not any(_more_specific(other, rule) for other in holding)]


def _blocked(rule: Rule, known: Known) -> bool:
    """Whether something known keeps a rule from firing."""
    return any(name in known and known[name] not in any_of for name, any_of in rule.when.items())


def _without(usual: Mapping[Cell, float], confirming: set[Cell]) -> dict[Cell, float]:
    """How often each cell is met where the cause is absent: as usual, but a confirming sign hardly ever."""
    total = sum(usual.values())
    seen = sum(usual[cell] for cell in confirming)
    if not seen or seen / total <= _CONFIRMING_WITHOUT:
        return {cell: share / total for cell, share in usual.items()}
    rest = (1.0 - _CONFIRMING_WITHOUT) / (total - seen) if total > seen else 0.0
    scaled = _CONFIRMING_WITHOUT / seen
    return {cell: share * (scaled if cell in confirming else rest) for cell, share in usual.items()}


def _weight(rule: Rule, cause: str) -> float:
    if cause in rule.confirms:
        return CONFIRMING
    if cause in rule.excludes:
        return -CONFIRMING
    return rule.weighs.get(cause, 0.0)


def _more_specific(rule: Rule, than: Rule) -> bool:
    """Whether a rule asks for all that another asks for, and for more."""
    if rule is than or not set(rule.when) >= set(than.when):
        return False
    narrower = all(set(rule.when[name]) <= set(any_of) for name, any_of in than.when.items())
    return narrower and dict(rule.when) != dict(than.when)


def applies(base: Base, cause: str, known: Known) -> bool:
    """Whether a cause can exist on this equipment at all."""
    return all(known.get(name) is None or known[name] in any_of for name, any_of in base.causes[cause].only.items())


@dataclass(frozen=True, slots=True)
class Standing:
    """What one table says as things stand, alone, and the entries it rests on."""

    full: float
    group: Group
    key: Key
    behind: frozenset[str]


def standing(scale: Scale, group: Group, view: View) -> Standing | None:
    """What a table says of what is known; None where that is nothing."""
    key = group.key(view.known, view.soft)
    if key.count(None) == len(key):
        return None
    full = group.decibans(key)
    if abs(full) <= 0.005:
        return None
    behind: set[str] = set()
    for name, part in zip(group.names, key, strict=True):
        if part is not None and name not in scale.equipment:
            behind |= view.grounds.get(name) or {name}
    return Standing(full, group, key, frozenset(behind))


def counted(found: Iterable[Standing]) -> list[tuple[float, Standing]]:
    """Each table's evidence, less where it rests on entries that a stronger one has used already."""
    used: set[str] = set()
    out = []
    for one in sorted(found, key=lambda one: (-abs(one.full), one.group.names)):
        behind = one.behind
        if not behind or used.isdisjoint(behind):
            out.append((one.full, one))
        else:
            out.append((one.full * len(behind - used) / len(behind), one))
        used |= behind
    return out


def total(scale: Scale, cause: str, view: View) -> float:
    """The odds of a cause in decibans: how common it is, and the evidence of what is known."""
    found = (standing(scale, group, view) for group in scale.groups[cause])
    return scale.priors[cause] + sum(full for full, _ in counted(one for one in found if one))


def evidence(scale: Scale, cause: str, view: View) -> tuple[Evidence, ...]:
    """The evidence on a cause, the strongest first."""
    found = (standing(scale, group, view) for group in scale.groups[cause])
    out = []
    for decibans, one in counted(one for one in found if one):
        rules = tuple(rule.name for rule in _fired(one.group.rules, view.known))
        looked_for: tuple[str, ...] = ()
        still_open: tuple[str, ...] = ()
        if not rules and one.full < 0:
            looked_for = tuple(rule.name for rule in one.group.rules if _blocked(rule, view.known))
        if not rules and not looked_for:
            still_open = tuple(name for name in one.group.names if name not in view.known)
        out.append(Evidence(one.group.names, decibans, one.full, rules, looked_for, still_open))
    return tuple(sorted(out, key=lambda one: (-abs(one.decibans), one.names)))


def soft_states(scale: Scale, known: Known, only: Iterable[str] | None = None) -> dict[str, tuple[float, ...]]:
    """Of each open condition of which a part is known: how much likelier than usual its symbols have become."""
    out = {}
    for condition in scale.patterns if only is None else only:
        if condition not in known:
            weights = scale.patterns[condition].weights(known)
            if weights is not None:
                out[condition] = weights
    return out


def condition_states(
    base: Base, symbols: Known, concluded: Mapping[str, set[str]], only: Iterable[str] | None = None
) -> dict[str, str]:
    """What is known of each condition: its value, or `NONE` where nothing can conclude it any more.

    A condition of which two values were concluded is left open. `only` names the conditions wanted.
    """
    states: dict[str, str] = {}
    for name, values in concluded.items():
        if len(values) == 1:
            states[name] = next(iter(values))

    def ruled_out(name: str) -> bool:
        if name in concluded:
            return False
        rules = base.rules_concluding[name]
        return all(any(blocked(tested, any_of) for tested, any_of in rule.when.items()) for rule in rules)

    def blocked(tested: str, any_of: tuple[str, ...]) -> bool:
        if tested in base.conditions:
            values = concluded.get(tested)
            return not values & set(any_of) if values else ruled_out(tested)
        return tested in symbols and symbols[tested] not in any_of

    for name in base.conditions if only is None else only:
        if name not in concluded and ruled_out(name):
            states[name] = NONE
    return states
