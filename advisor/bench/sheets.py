"""Class sheets: a work order with readings already taken, and the key to it; the templates lay it out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from advisor.bench.callitems import PracticeCall
from advisor.bench.chain import Chain, chain_of
from advisor.bench.effectstext import MODEL
from advisor.bench.practice import value_text
from advisor.bench.world import World, all_looks, answer, equipment, equipment_entries
from advisor.library.base import Base
from advisor.library.items import Cause, Observation, Rule, fits
from advisor.library.plaintext import plain_text
from advisor.pages.wording import origin_text, plain
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case, Entry

_MORE: Final = 4
"""Checks beyond the usual ones, as the advisor would ask for them, that a sheet may hold."""
_WRONG_TURNS: Final = 4

QUESTIONS: Final = (
    ("What is out of order here, and which of these belong together?", 3),
    ("Which causes come into question, the likeliest first, and by what mechanism?", 4),
    ("Which check comes next, and what would each of its answers tell?", 3),
    ("What must not be done before that, and who has to know?", 2),
)
"""What is asked, each with its blank lines."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One line of the readings: its name and what was found."""

    title: str
    value: str


@dataclass(frozen=True, slots=True)
class WrongTurn:
    """A cause that comes to mind here and is not it: what speaks for it, and what tells it apart."""

    title: str
    name: str
    alike: str
    apart: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet and its key."""

    number: int
    call: PracticeCall
    plates: str
    clear: str
    """Looks of the round that found nothing, in one line."""
    readings: tuple[Reading, ...]
    assessment: Assessment
    chains: tuple[Chain, ...]
    next_check: str
    next_why: str
    rules: tuple[tuple[Rule, str], ...]
    wrong_turns: tuple[WrongTurn, ...]
    hazards: tuple[str, ...]


def sheet(base: Base, call: PracticeCall, number: int = 1) -> Sheet:
    """The sheet of a call: the usual round and readings taken, and what the advisor would look at then, up to the look
    that decides.

    Parameters
    ----------
    number : int
        Of the variant, from 1.

    Examples
    --------
    >>> from advisor.bench.drawcall import draw
    >>> from advisor.library.base import load
    >>> made = sheet(load(), draw(load(), 3, cause="nozzle-plugged"))
    >>> any(one.title == "smoke spot number" for one in made.readings)
    True
    """
    world, known = World(call), equipment(base, call)
    usual = [check for check in base.checks.values() if check.basic or check.round]
    entries = [*equipment_entries(base, call)]
    entries += [answer(base, world, name) for check in usual for name in base.asked_by(check, known)]
    entries = list({one.name: one for one in entries}.values())
    assessment = assess(Case(tuple(entries)), base)
    for _ in range(_MORE):
        first = assessment.checks.first
        if first is None or assessment.gate.emergency:
            break
        more = [answer(base, world, name) for name in base.asked_by(base.checks[first.check], assessment.known)]
        then = assess(Case((*entries, *more)), base)
        if any(one.confirmed for one in then.causes):
            break
        entries, assessment = [*entries, *more], then
    return _made(base, call, number, entries, assessment)


def _made(base: Base, call: PracticeCall, number: int, entries: Iterable[Entry], assessment: Assessment) -> Sheet:
    found = {one.name: one for one in entries if one.value is not None}
    plates = [f"{base.title(one.name)}: {plain(one.value) if isinstance(one.value, str) else value_text(base, one)}"
              for one in found.values() if one.name in base.equipment]
    looks = [one for one in found.values() if one.name not in base.equipment and one.name != "complaint"]
    clear = [one for one in looks if _is_clear(base, one)]
    first = assessment.checks.first
    if assessment.gate.emergency:
        next_check, why = "none: the house is cleared first", base.hazards[assessment.gate.emergency[0]].because
    elif first is None:
        next_check, why = "none", assessment.checks.why_none
    else:
        apart = ", ".join(base.title(name) for name in first.tells_apart)
        next_check, why = base.title(first.check), first.reason or f"it bears on {apart}"
    return Sheet(
        number, call, "; ".join(plates), ", ".join(_line(base, one) for one in clear),
        tuple(Reading(base.title(one.name), value_text(base, one)) for one in looks if one not in clear), assessment,
        tuple(chain_of(base, base.causes[name]) for name in call.hidden), next_check, why,
        _rules(base, call), _wrong_turns(base, call, assessment),
        tuple(f"{base.hazards[one.name].title}: {base.hazards[one.name].because}" for one in assessment.hazards))


def _is_clear(base: Base, entry: Entry) -> bool:
    item = base.named[entry.name]
    return isinstance(item, Observation) and bool(item.clear) and entry.value == item.clear


def _line(base: Base, entry: Entry) -> str:
    return base.observations[entry.name].line


def _rules(base: Base, call: PracticeCall) -> tuple[tuple[Rule, str], ...]:
    """The rules that lead to what it is by all that is really there, with their sources."""
    really = assess(all_looks(base, World(call)), base, look_ahead=False)
    names: dict[str, None] = {}
    for one in really.causes:
        if one.name in call.hidden:
            for piece in sorted(one.evidence, key=lambda piece: -piece.decibans):
                names.update(dict.fromkeys(piece.rules if piece.decibans > 0 else ()))
    return tuple((base.rules[name], origin_text(base, base.rules[name].origin)) for name in list(names)[:6])


def _wrong_turns(base: Base, call: PracticeCall, assessment: Assessment) -> tuple[WrongTurn, ...]:
    """The likeliest causes on the readings of the sheet that are not it."""
    out: list[WrongTurn] = []
    for one in assessment.causes:
        if one.name in call.hidden or len(out) == _WRONG_TURNS or one.word == "unlikely":
            continue
        names = dict.fromkeys(name for piece in one.evidence if piece.decibans > 1.0 for name in piece.names
                              if name in assessment.known)
        alike = ", ".join(base.title(name) for name in list(names)[:4])
        cause = base.causes[one.name]
        out.append(WrongTurn(cause.title, cause.name, alike or "how common it is", _confirmed_by(base, cause)))
    there = {*call.hidden, *(turn.name for turn in out)}
    for family in base.families.values():  # what does the same to the fire comes to mind next
        for name in family.members if set(family.members) & set(call.hidden) else ():
            if name not in there and len(out) < _WRONG_TURNS and fits(base.causes[name].only, assessment.known):
                there.add(name)
                cause = base.causes[name]
                out.append(WrongTurn(cause.title, name, f"being of the same family, {family.title}",
                                     _confirmed_by(base, cause)))
    return tuple(out)


def _confirmed_by(base: Base, cause: Cause) -> str:
    return f"{base.title(cause.confirm_check)}: {cause.confirm_shows}"


def rendered(base: Base, sheets: Iterable[Sheet], kind: str, key: bool) -> str:
    """Sheets, or their keys, as a page that prints on letter paper, or as Markdown.

    Parameters
    ----------
    kind : str
        `html` or `md`.
    key : bool
        The keys in place of the sheets.
    """
    name = f"{'key' if key else 'sheet'}.{kind}.j2"
    text = _environment(kind == "html").get_template(name).render(
        sheets=list(sheets), questions=QUESTIONS, model=MODEL, base=base)
    return plain_text(text)


@lru_cache(maxsize=2)
def _environment(escaped: bool) -> Environment:
    made = Environment(loader=PackageLoader("advisor.bench"), autoescape=escaped, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True)
    made.filters["cell"] = lambda text: str(text).replace("|", "\\|")
    return made
