"""From the words typed for one name to an entry: numbers with units, answers, "could not check"."""

from __future__ import annotations

import re
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Observation, Quantity
from advisor.library.yamlfiles import near, shorten
from advisor.physics import units
from advisor.reasoning.case import SKIPPED, UNCHECKED, Entry

_STATUS: Final = {
    "could not check": UNCHECKED, "cannot check": UNCHECKED, "can't check": UNCHECKED, "cant check": UNCHECKED,
    "cannot": UNCHECKED, "unknown": UNCHECKED, "?": UNCHECKED,
    "not checked": SKIPPED, "skip": SKIPPED, "skipped": SKIPPED,
}


class EntryError(ValueError):
    """What was typed cannot be taken; one line that says why, and what would be right."""


def normal(text: str) -> str:
    """Words as they are compared: small, with single spaces for blanks, hyphens and underscores.

    >>> normal("  Oily-Yellow ")
    'oily yellow'
    """
    return " ".join(text.lower().replace("_", " ").replace("-", " ").split())


def read_entry(base: Base, name: str, typed: str) -> Entry:
    """The entry for a name.

    Parameters
    ----------
    name : str
        A quantity or an observation of the base.
    typed : str
        A number with or without its unit, an answer or its beginning, or words such as `could not check`.

    Raises
    ------
    EntryError
        For a name that takes no entry, a number that cannot be or is not plausible, an unknown answer.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> read_entry(load(), "draft_over_fire", ".02").note
    'read as suction: -0.02 in. w.c.'
    >>> read_entry(load(), "spot_look", "oily").value
    'oily-yellow'
    >>> read_entry(load(), "stack_temperature", "5200")
    Traceback (most recent call last):
    advisor.reasoning.entries.EntryError: stack temperature 5,200 degF is not plausible; it lies between 32 degF \
and 1,500 degF: check the digits and the unit
    """
    typed = typed.strip()
    item = base.quantities.get(name) or base.observations.get(name)
    if item is None:
        raise EntryError(unknown_name(base, name))
    if not typed:
        raise EntryError(f"{item.title}: nothing was typed after it; {wanted(base, name)}")
    status = _STATUS.get(" ".join(typed.lower().split()))
    if status and normal(typed) not in {normal(symbol) for symbol in item.symbols}:
        return Entry(name, typed, None, status)
    if isinstance(item, Quantity):
        return _number(item, typed)
    return Entry(name, typed, _answer(item, typed))


_NEGATED: Final = frozenset(("no", "not", "nobody", "none", "never", "without", "nothing", "isnt", "dont", "doesnt",
                            "didnt", "hasnt", "havent", "wasnt", "arent", "neither", "nor", "free", "if"))
_NEAR: Final = 5
"""So many words before what was said a `no` still belongs to it."""


def heard(base: Base, line: str) -> tuple[Entry, ...]:
    """What a line says of an emergency, in people's own words, whatever else is asked; empty where it says none.

    Words with a `no` or an `if` before them say nothing here: they are left to be read as an answer or a question.

    >>> from advisor.library.base import load
    >>> [(one.name, one.value) for one in heard(load(), "the wife has a headache and feels dizzy")]
    [('symptoms', 'yes')]
    >>> heard(load(), "nobody has a headache")
    ()
    """
    words = _words(line)
    found = [(item.name, answer, start, start + len(phrase.split()))
             for item in base.observations.values() for answer, phrases in item.urgent.items() for phrase in phrases
             for start in _said(words, phrase.split())]
    # the longest says most: gallons of oil on the floor are more than oil on the floor
    spans = {(start, end) for _, _, start, end in found}
    best: dict[str, tuple[int, str]] = {}
    for name, answer, start, end in found:
        if any(low <= start and end <= high and (low, high) != (start, end) for low, high in spans):
            continue
        if end - start > best.get(name, (0, ""))[0]:
            best[name] = (end - start, answer)
    said = " ".join(line.split())
    return tuple(Entry(name, answer, answer, said=said) for name, (_, answer) in best.items())


def _words(text: str) -> list[str]:
    return re.sub(r"[^a-z0-9 ]", "", normal(text.replace("'", ""))).split()


def _places(words: list[str], phrase: list[str]) -> list[int]:
    return [at for at in range(len(words) - len(phrase) + 1) if words[at:at + len(phrase)] == phrase]


def _said(words: list[str], phrase: list[str]) -> list[int]:
    """Where a phrase stands with no `no` or `if` before it."""
    return [at for at in _places(words, phrase) if _NEGATED.isdisjoint(words[max(0, at - _NEAR):at])]


def wanted(base: Base, name: str) -> str:
    """What would be right for a name, in words.

    >>> from advisor.library.base import load
    >>> wanted(load(), "co2")
    'it takes a number of %, between 0.2 % and 20.0 %'
    """
    item = base.quantities.get(name)
    if item is None:
        return f"it takes one of {', '.join(base.observations[name].answers)}"
    low, high = (units.format_value(value, item.kind) for value in item.plausible)
    unit = units.symbol(item.kind)
    words = f", or {', '.join(item.words)}" if item.words else ""
    return f"it takes a number{f' of {unit}' if unit else ''}, between {low} and {high}{words}"


def unknown_name(base: Base, name: str) -> str:
    """A line for a name that nobody knows, with the nearest one that is known."""
    return f"{not_a_name(name)}{may_be(base, name)}"


def not_a_name(name: str) -> str:
    return f"{shorten(name)!r} is not the name of a reading or observation"


def may_be(base: Base, name: str) -> str:
    """The nearest name that is known, as the end of a message; empty where none is near."""
    found = near(name, [*base.quantities, *base.observations])
    return f"; did you mean {found[0]}?" if found else ""


def _number(quantity: Quantity, typed: str) -> Entry:
    if quantity.derived:
        raise EntryError(f"{quantity.title} is computed, not entered: {quantity.derived}")
    word = quantity.words.get(typed.lower())
    if word is not None:
        return Entry(quantity.name, typed, word)
    try:
        parsed = units.parse(typed, quantity.kind)
    except units.PhysicsError as error:
        raise EntryError(f"{quantity.title}: {error}") from error
    value, note = parsed.value, ""
    shown = units.format_value(value, quantity.kind)
    if quantity.suction and value > 0 and not typed.startswith("+"):
        value = -value
        note = f"read as suction: {units.format_value(value, quantity.kind)}"
    elif parsed.typed_unit and parsed.typed_unit != parsed.unit:
        note = f"read as {shown}"
    low, high = quantity.plausible
    if not low <= value <= high:
        between = f"{units.format_value(low, quantity.kind)} and {units.format_value(high, quantity.kind)}"
        raise EntryError(
            f"{quantity.title} {shown} is not plausible; it lies between {between}: check the digits and the unit"
        )
    return Entry(quantity.name, typed, value, note=note)


def _answer(observation: Observation, typed: str) -> str:
    said = normal(typed)
    answers = {normal(answer): answer for answer in observation.answers}
    if said in answers:
        return answers[said]
    for fits in (str.startswith, str.__contains__):
        found = [answer for words, answer in answers.items() if fits(words, said)]
        if len(found) == 1:
            return found[0]
        if found:
            raise EntryError(f"{observation.title}: {shorten(typed)!r} may be {' or '.join(found)}; say which")
    close = near(said, answers, 1, 0.75)
    meant = f" (did you mean {answers[close[0]]}?)" if close else ""
    choices = ", ".join(observation.answers)
    raise EntryError(f"{observation.title}: {shorten(typed)!r} is not an answer{meant}; it takes one of {choices}")
