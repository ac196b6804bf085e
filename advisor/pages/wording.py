"""Small words and shapes that all pages share: values, symbols, weights, sources, wrapped lines."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

from advisor.library.base import Base
from advisor.library.items import NONE, Limit, Origin, Rule
from advisor.physics import accuracy, units
from advisor.reasoning.assess import Assessment
from advisor.reasoning.derive import Number, limit_value
from advisor.reasoning.gate import Gate
from advisor.reasoning.turnout import ROUTINE

WIDTH: Final = 80
"""Columns of a page, where nobody measured the screen."""
NARROWEST: Final = 40
WIDEST: Final = 100
"""Longer lines are read badly, however wide the screen is."""
_columns: ContextVar[int] = ContextVar("columns", default=WIDTH)

CAUTIONS: Final = (
    "The manufacturer's instructions and local codes come first; work that takes a license is for those who hold one.",
    "Carbon monoxide, fire and burns are real risks: keep the room vented, the switch in reach, a CO meter running.",
)

IN_SHORT: Final = "Manufacturer's instructions, codes and licensed trades first; CO meter on."
"""The same on one line, where there is little room."""


def columns() -> int:
    """The columns that a line may have now."""
    return _columns.get()


@contextmanager
def at_width(wide: int) -> Iterator[None]:
    """Pages within are for a screen of so many columns.

    >>> with at_width(44):
    ...     columns()
    44
    """
    before = _columns.set(max(NARROWEST, min(wide, WIDEST)))
    try:
        yield
    finally:
        _columns.reset(before)


def wrapped(
    text: str, indent: int = 0, hang: int | None = None, first: str = "", width: int = 0
) -> list[str]:
    """A text in lines of at most so many columns: the first begins with `first`, the others are indented by `hang`.

    `width` 0 is that of the screen; on a narrow one the indents are halved.

    >>> wrapped("soot narrows the way", 2, first="- ")
    ['  - soot narrows the way']
    """
    width = width or columns()
    if width < 60:
        indent, hang = indent // 2, None if hang is None else hang // 2
    lead = " " * indent + first
    return textwrap.wrap(
        text, width, initial_indent=lead, subsequent_indent=" " * (len(lead) if hang is None else hang),
        break_long_words=True, break_on_hyphens=False,
    ) or [lead.rstrip()]


def weight_word(decibans: float) -> str:
    """The size of a piece of evidence in a word.

    >>> weight_word(11.0), weight_word(-4.0), weight_word(0.6)
    ('strong', 'moderate', 'slight')
    """
    size = abs(decibans)
    return "very strong" if size >= 15 else "strong" if size >= 7.5 else "moderate" if size >= 3.5 else "slight"


def bar(probability: float, width: int = 10) -> str:
    """A probability as a bar.

    >>> bar(0.72)
    '#######...'
    """
    full = round(probability * width)
    return "#" * full + "." * (width - full)


def plain(symbol: str) -> str:
    """A symbol as words.

    >>> plain("very-high")
    'very high'
    """
    return "nothing found" if symbol == NONE else symbol.replace("-", " ")


def turnout_text(complaint: str, share: float) -> str:
    """How many calls about a complaint turn out to be one thing, in words; on how many tune-ups it is found.

    >>> turnout_text("no-heat", 0.08), turnout_text("routine", 0.0002)
    ('about 8 of 100 no-heat calls turn out to be this', 'found on about 2 of 10,000 tune-ups')
    """
    whole = next((whole for whole in (100, 1000) if share * whole >= 0.95), 10_000)
    if complaint == ROUTINE:
        return f"found on about {share * whole:.2g} of {whole:,} tune-ups"
    return f"about {share * whole:.2g} of {whole:,} {complaint} calls turn out to be this"


def number_text(base: Base, number: Number) -> str:
    """A number with its unit: what was entered as it is, what was computed with its error."""
    kind = base.quantities[number.name].kind
    if number.formula:
        return accuracy.format_with_error(number.value, number.error, kind)
    return units.format_value(number.value, kind)


def error_text(error: float, kind: str) -> str:
    """How far a number may be off, in words; that of a percentage in points.

    >>> error_text(0.284, "percent"), error_text(5.4, "temperature")
    ('0.3 points', '5 degF')
    """
    return accuracy.rounded(0.0, error, kind)[1].replace("%", "points")


def value_text(base: Base, assessment: Assessment, name: str) -> str:
    """What is known of a name, with its unit; what was computed with its error."""
    number = assessment.findings.numbers.get(name)
    if number is not None:
        return number_text(base, number)
    symbol = assessment.known.get(name, "not known")
    return base.fuels[symbol].title if name == "fuel" and symbol in base.fuels else plain(symbol)


def level_text(assessment: Assessment, name: str) -> str:
    """The band of a number in words, with its neighbor where the number lies nearer to their limit than its error."""
    band = assessment.findings.bands.get(name)
    if band is None:
        return ""
    return f"{plain(band.symbol)} or {plain(band.neighbor)}" if band.neighbor else plain(band.symbol)


def fact_text(base: Base, assessment: Assessment, name: str) -> str:
    """A finding in words: its title, its value, and the band that it falls in."""
    value = value_text(base, assessment, name)
    band = assessment.findings.bands.get(name)
    if band is None:
        return f"{base.title(name)}: {value}"
    shown = "borderline " if band.share < 1 else ""
    return f"{base.title(name)} {value} ({shown}{plain(band.symbol)})"


def origin_text(base: Base, origin: Origin) -> str:
    """A source in words.

    >>> from advisor.library.base import load
    >>> origin_text(load(), Origin(None))
    'common practice'
    """
    if origin.source is None:
        return "common practice"
    title = base.sources[origin.source].title if origin.source in base.sources else origin.source
    where = f", {origin.where}" if origin.where else ""
    return f"{title}{where}{' (from memory)' if origin.from_memory else ''}"


def limit_text(base: Base, limit: Limit, answers: Mapping[str, str], manufacturer: Mapping[str, float]) -> str:
    """A limit in words, with the manufacturer's figure and what it replaces."""
    kind = base.quantities[limit.of].kind
    value, is_manufacturers = limit_value(limit, answers, manufacturer)
    shown = units.format_value(value, kind)
    if is_manufacturers:
        ours, _ = limit_value(limit, answers, {})
        return f"{shown} (the manufacturer's figure; it replaces ours of {units.format_value(ours, kind)})"
    return shown


def when_text(base: Base, when: Mapping[str, Iterable[str]]) -> str:
    """The conditions of a rule in words.

    >>> from advisor.library.base import load
    >>> when_text(load(), {"smoke": ("some", "heavy")})
    'smoke spot number: some or heavy'
    """
    return ", and ".join(
        f"{base.title(name)}: {' or '.join(plain(symbol) for symbol in symbols)}" for name, symbols in when.items()
    )


def effects_text(base: Base, rule: Rule, gate: Gate | None = None) -> list[str]:
    """What a rule says, in words; on a call (`gate`) no advice that is not to be followed now."""
    out = [f"{base.title(name)}: {plain(value)}" for name, value in rule.concludes.items()]
    for cause, decibans in rule.weighs.items():
        out.append(f"{'for' if decibans > 0 else 'against'} {base.title(cause)} ({weight_word(decibans)})")
    out += [f"confirms {base.title(cause)}" for cause in rule.confirms]
    out += [f"rules out {base.title(cause)}" for cause in rule.excludes]
    if rule.hazard:
        out.append(f"HAZARD: {base.title(rule.hazard)}")
    if rule.doubts:
        names = ", ".join(base.title(name) for name in rule.doubts)
        out.append(f"puts in doubt: {names}; recheck: {base.title(rule.recheck or '')}")
    if rule.advises:
        held = gate is not None and not gate.allows(rule.advises)
        out.append("something that is not to be done now" if held else f"do: {rule.advises.text}")
    return out
