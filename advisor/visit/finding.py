"""Finding a unit by part of a name or an address, with near spelling."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from advisor.visit.kept import Unit

NEAR: Final = 75.0
"""From this likeness of two words on (of 100) one may be the other, misspelled: one letter in four."""
_LEAST: Final = 3
"""Letters of a word that may be misspelled; of a shorter one anything is near."""


def words_of(text: str) -> tuple[str, ...]:
    """The words of a text in small letters, without what stands between them.

    >>> words_of("O'Hara, 1 Mill-Lane")
    ('ohara', '1', 'mill', 'lane')
    """
    return tuple(re.findall(r"\w+", text.casefold().replace("'", "").replace("’", "")))


def likeness(unit: Unit, words: str) -> float:
    """How well words fit a unit, 0 to 100: the likeness of the worst of them to the part of a word of its label,
    customer or address that comes nearest. Below `NEAR` it is 0; numbers and short words have to be there as they are.

    >>> mill = Unit("Mill Lane boiler", "A. Tester", "12 Mill Lane")
    >>> likeness(mill, "mill lan"), likeness(mill, "13 mill"), likeness(mill, "Tesster") > 80
    (100.0, 0.0, True)
    """
    there = words_of(f"{unit.label} {unit.customer} {unit.address}")
    said = words_of(words)
    worst = min((_nearest(word, there) for word in said), default=0.0)
    return worst if worst >= NEAR else 0.0


def _nearest(word: str, there: Iterable[str]) -> float:
    if any(word == one if word.isdigit() else word in one for one in there):
        return 100.0
    if word.isdigit() or len(word) < _LEAST:
        return 0.0
    from rapidfuzz import fuzz

    return max((fuzz.ratio(word, one[:len(word) + 1]) for one in there), default=0.0)


def found(units: Iterable[Unit], words: str) -> tuple[Unit, ...]:
    """The units that words may mean, the likeliest first; where some hold the words as they are, those alone.

    >>> units = [Unit("Mill Lane boiler"), Unit("Hill Road furnace"), Unit("Miller Street boiler")]
    >>> [unit.label for unit in found(units, "mil")], [unit.label for unit in found(units, "furnase hil")]
    (['Mill Lane boiler', 'Miller Street boiler'], ['Hill Road furnace'])
    """
    fit = sorted(((likeness(unit, words), unit) for unit in units), key=lambda pair: (-pair[0], pair[1].label))
    whole = tuple(unit for like, unit in fit if like == 100.0)
    return whole or tuple(unit for like, unit in fit if like > 0)
