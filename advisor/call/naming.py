"""What a text means that names something known: a cause, a check, a limit, the instruments at hand."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

from advisor.library.base import Base
from advisor.library.yamlfiles import shorten
from advisor.pages.finding import UnknownNameError, find
from advisor.reasoning.entries import EntryError, normal


def meant(base: Base, text: str, kinds: Sequence[str]) -> tuple[str, Any]:
    """The item that a text means, with its kind: by name, title or alias, else by the words in its title.

    Raises
    ------
    EntryError
        Where nothing, or more than one thing, of these kinds is meant.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> meant(load(), "sooted passages", ["cause"])[1].name
    'sooted-gas-passages'
    """
    try:
        found = [pair for pair in find(base, text) if pair[0] in kinds]
        unknown = f"{shorten(text)!r} is not a {' or '.join(kinds)}"
    except UnknownNameError as error:
        found, unknown = [], str(error)
    if found:
        return min(found, key=lambda pair: kinds.index(pair[0]))
    said = normal(text).split()
    near = [(kind, item) for kind, item in _all_of(base, tuple(kinds))
            if said and all(any(word in words for word in said_as(part)) for part in said
                            for words in [normal(" ".join((item.name, item.title, *getattr(item, "aliases", ()))))])]
    if len(near) == 1:
        return near[0]
    if near:
        names = [item.name for _, item in near[:4]]
        more = f" or {len(near) - 4} more" if len(near) > 4 else ""
        raise EntryError(f"{shorten(text)!r} may be {' or '.join(names)}{more}; say which")
    raise EntryError(unknown)


def said_as(word: str) -> tuple[str, ...]:
    """A word and its stem, so that `restricted` finds `restriction`.

    >>> said_as("leaking")
    ('leaking', 'leak')
    """
    for ending in ("ing", "ed", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 4:
            return word, word[: -len(ending)]
    return (word,)


def read_instruments(base: Base, text: str) -> tuple[str, ...]:
    """The instruments that a list names; `all`, `none` and `all but ...` too; errors: `EntryError`.

    >>> from advisor.library.base import load
    >>> read_instruments(load(), "draft gauge, smoke tester")
    ('draft-gauge', 'smoke-tester')
    """
    said = normal(text).strip(". ")
    if said in ("all", "all of them", "everything", "yes"):
        return tuple(base.instruments)
    if said in ("none", "nothing", "no"):
        return ()
    but = re.match(r"(?:all|everything) (?:but|except|without) (?:the )?(.+)", said)
    listed = [part.removeprefix("the ").removeprefix("a ")
              for part in re.split(r"\s*[,;+]\s*|\s+and\s+", but.group(1) if but else said) if part]
    names = [_instrument(base, part) for part in listed]
    if not names:
        raise EntryError(f"no instrument was named; known are {', '.join(base.instruments)}")
    return tuple(one for one in base.instruments if one not in names) if but else tuple(dict.fromkeys(names))


def _instrument(base: Base, said: str) -> str:
    titles = {one.name: (normal(one.name), normal(one.title)) for one in base.instruments.values()}
    exact = [name for name, words in titles.items() if said in words]
    found = exact or [name for name, words in titles.items() if any(said in word for word in words)]
    if len(found) == 1:
        return found[0]
    if found:
        raise EntryError(f"{shorten(said)!r} may be {' or '.join(found)}; say which")
    raise EntryError(f"{shorten(said)!r} is not an instrument known here; known are {', '.join(base.instruments)}")


def _all_of(base: Base, kinds: Iterable[str]) -> list[tuple[str, Any]]:
    shelves: dict[str, Any] = {
        "cause": base.causes, "check": base.checks, "quantity": base.quantities, "observation": base.observations,
        "condition": base.conditions, "hazard": base.hazards, "limit": base.limits, "rule": base.rules,
        "instrument": base.instruments, "remedy": base.remedies,
    }
    return [(kind, item) for kind in kinds for item in shelves[kind].values()]
