"""What other readings would change: each answer to a check, and any entries that are only supposed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Observation, Quantity
from advisor.pages.wording import fact_text, plain, wrapped
from advisor.physics import units
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.derive import limit_value
from advisor.reasoning.ranking import Ranked

_MOVES: Final = 0.05
"""A change of probability from which an answer is said to raise or lower a cause."""


def why_check(base: Base, assessment: Assessment, check: str) -> list[str]:
    """Why a check: what it is worth, what it takes, and what each of its answers would do.

    >>> from advisor.library.base import load
    >>> why_check(load(), assess(Case(), load()), "measure-smoke")[0].split(":")[0]
    'smoke spot test'
    """
    item = base.checks[check]
    advice = assessment.checks
    proposals = [one for one in (advice.first, *advice.others) if one is not None]
    proposal = next((one for one in proposals if one.check == check), None)
    minutes = proposal.minutes if proposal else item.minutes
    out = wrapped(f"{item.title}: {minutes:g} min, burner {item.burner}", 0, 2)
    out += wrapped(item.why, 2)
    if proposal and proposal.reason:
        out += wrapped(f"asked now because {proposal.reason}", 2, 4)
    if item.safety:
        out += wrapped("a safety check, made on every call, whatever it tells about the causes", 2, 4)
    elif item.basic:
        out += wrapped("one of the readings that no visit goes without", 2, 4)
    elif proposal:
        out += wrapped(f"it tells {worth_word(proposal.value)} about the causes for its minutes", 2, 4)
    if proposal and proposal.tells_apart:
        told = ", ".join(base.title(name) for name in proposal.tells_apart)
        out += wrapped(f"it bears on: {told}", 2, 4)
    for name in item.gives:
        lines = list(_answers(base, assessment, name))
        if lines:
            out += [*wrapped(f"{base.title(name)}:", 2), *lines]
    return out


def what_if(base: Base, case: Case, entries: Iterable[Entry]) -> list[str]:
    """What other entries would change: hazards, doubts, conditions and causes, before and after; nothing is kept.

    >>> from advisor.library.base import load
    >>> what_if(load(), Case(), [Entry("co_room", "80", 80.0)])[1]
    '  hazard: carbon monoxide, 70 ppm or more'
    """
    entries = tuple(entries)
    now, then = assess(case, base, look_ahead=False), assess(case.having(*entries), base, look_ahead=False)
    supposed = "; ".join(fact_text(base, then, one.name) if one.value is not None
                         else f"{base.title(one.name)}: {one.status}" for one in entries)
    out = wrapped(f"If {supposed} (nothing is entered):", 0, 2)
    changed: list[str] = []
    for kind, before, after in (
        ("hazard", _hazards(now), _hazards(then)), ("in doubt", _doubts(now), _doubts(then)),
    ):
        changed += [f"{kind}: {base.title(name)}" for name in after if name not in before]
        changed += [f"no longer {kind}: {base.title(name)}" for name in before if name not in after]
    for name in base.conditions:
        before_value, after_value = _concluded(now, name), _concluded(then, name)
        if before_value != after_value:
            changed.append(f"{base.title(name)}: {_or_nothing(before_value)} -> {_or_nothing(after_value)}")
    for line in changed:
        out += wrapped(line, 2, 4)
    names = list(dict.fromkeys(one.name for one in (*then.causes[:3], *now.causes[:3])))
    moved = [name for name in names if _words(now, name) != _words(then, name)]
    if not moved and not changed:
        return [*out, "  nothing would change"]
    for name in names:
        before_word, after_word = _words(now, name), _words(then, name)
        arrow = f"{before_word} -> {after_word}" if before_word != after_word else f"stays {after_word}"
        out += wrapped(f"{base.title(name)}: {arrow}", 2, 4)
    return out


def possible_answers(base: Base, case: Case, name: str) -> list[tuple[str, Entry]]:
    """For each answer of an observation, or each band of a quantity, an entry that stands for it.

    The value for a band lies in its middle, or a little outside of the limit of an end band (in the unit of the
    quantity), clear of what the instrument cannot tell.

    >>> from advisor.library.base import load
    >>> [(symbol, entry.value) for symbol, entry in possible_answers(load(), Case(), "smoke")][0]
    ('zero', 0.0)
    """
    item = base.named[name]
    if isinstance(item, Observation):
        return [(answer, Entry(name, answer, answer)) for answer in item.answers]
    if not isinstance(item, Quantity) or item.derived:
        return []
    answers = {entry.name: entry.value for entry in case.latest.values() if isinstance(entry.value, str)}
    edges = [limit_value(limit, answers, case.manufacturer)[0] for limit in base.limits_of[name]]
    if not edges:
        return []
    clear = 2.0 * item.accuracy
    low, high = item.plausible
    middles = [max(low, edges[0] - clear), *((a + b) / 2 for a, b in pairwise(edges)),
               min(high, edges[-1] + clear)]
    return [(symbol, Entry(name, units.format_value(value, item.kind), value))
            for symbol, value in zip(item.bands, middles, strict=True)]


def worth_word(bits: float) -> str:
    """What a check is worth, in words, for the expected fall of entropy over all causes.

    >>> worth_word(0.4), worth_word(0.005)
    ('much', 'next to nothing')
    """
    if bits >= 0.25:
        return "much"
    return "something" if bits >= 0.08 else "a little" if bits >= 0.01 else "next to nothing"


def _answers(base: Base, assessment: Assessment, name: str) -> Iterator[str]:
    """What each answer to a name would raise and lower most, a line each."""
    before = {one.name: one for one in assessment.causes}
    for symbol, entry in possible_answers(base, assessment.case, name):
        then = assess(assessment.case.having(entry), base, look_ahead=False)
        new = [base.title(one) for one in _hazards(then) if one not in _hazards(assessment)]
        moved = sorted(((one.belief - before[one.name].belief, one) for one in then.causes if one.name in before),
                       key=lambda pair: pair[0])
        parts = [f"HAZARD {', '.join(new)}"] if new else []
        if moved and moved[-1][0] > _MOVES:
            parts.append(f"raises {_titles(base, [one for by, one in reversed(moved) if by > _MOVES][:2])}")
        if moved and moved[0][0] < -_MOVES:
            parts.append(f"lowers {_titles(base, [one for by, one in moved if by < -_MOVES][:2])}")
        yield from wrapped(f"{plain(symbol)}: {'; '.join(parts) or 'changes little'}", 4, 6)


def _titles(base: Base, ranked: list[Ranked]) -> str:
    return ", ".join(f"{base.title(one.name)} to {one.word}" for one in ranked)


def _hazards(assessment: Assessment) -> list[str]:
    return [one.name for one in assessment.hazards]


def _doubts(assessment: Assessment) -> list[str]:
    return list(dict.fromkeys(name for one in assessment.doubts if one.open for name in one.readings))


def _concluded(assessment: Assessment, name: str) -> str:
    return " and ".join(plain(one.value) for one in assessment.conditions if one.name == name)


def _or_nothing(value: str) -> str:
    return value or "nothing concluded"


def _words(assessment: Assessment, cause: str) -> str:
    return next((one.word for one in assessment.causes if one.name == cause), "not possible here")
