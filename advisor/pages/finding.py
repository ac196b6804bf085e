"""What a word means: the items that have it as a name, a title or an alias, and those that have it in their name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any, Final

from advisor.library.base import Base
from advisor.library.yamlfiles import near, shorten

_MOST: Final = 12
"""Items of one kind that are listed for a word."""
_PLURALS: Final = {"quantity": "quantities", "remedy": "remedies", "access": "accesses", "family": "families"}
_SMALL: Final = frozenset({"a", "an", "the", "of", "on", "in", "at", "is", "it", "to", "my", "and"})
Found = tuple[str, Any]
"""The kind of an item, and the item."""


class UnknownNameError(ValueError):
    """Nothing known has this name; one line with the nearest names."""


def shelves_of(base: Base) -> Mapping[str, Mapping[str, Any]]:
    """All items that have a page, by kind and name; first the kinds that people ask for most."""
    return {
        "cause": base.causes, "check": base.checks, "remedy": base.remedies, "quantity": base.quantities,
        "observation": base.observations, "hazard": base.hazards, "condition": base.conditions, "limit": base.limits,
        "term": base.terms, "family": base.families, "panel": base.panels, "instrument": base.instruments,
        "fuel": base.fuels, "access": base.accesses, "act": base.acts, "source": base.sources, "rule": base.rules,
    }


def plural(kind: str) -> str:
    """The word for several of a kind.

    >>> plural("cause"), plural("remedy")
    ('causes', 'remedies')
    """
    return _PLURALS.get(kind, kind + "s")


def find(base: Base, name: str) -> list[Found]:
    """Every item that a name means, with its kind; errors: `UnknownNameError`."""
    index = _index(base)
    said = _normal(name)
    if said not in index:
        close = near(said, index, 3) or [word for word in index if said and said in word][:3]
        meant = f"; did you mean {' or '.join(close)}?" if close else "; `explain causes` lists the causes, and so on"
        raise UnknownNameError(f"nothing here is called {shorten(name)!r}{meant}")
    return sorted(index[said], key=lambda found: getattr(found[1], "name", "") != name)  # the exact name first


def having(base: Base, words: str) -> dict[str, list[Any]]:
    """The items in whose name, title or aliases every word stands, by kind; those with them in the title come first.

    Parameters
    ----------
    words : str
        Such as `soot` or `cad cell`; a word stands for its forms too (`pump`, `pumps`).

    Examples
    --------
    >>> from advisor.library.base import load
    >>> "sooted-gas-passages" in [one.name for one in having(load(), "soot")["cause"]]
    True
    """
    asked = [word for word in _normal(words).split() if word not in _SMALL]
    out: dict[str, list[tuple[int, Any]]] = {}
    for kind, item, title, whole in _texts(base) if asked else ():
        if all(_stands(word, whole) for word in asked):
            out.setdefault(kind, []).append((0 if all(_stands(word, title) for word in asked) else 1, item))
    return {kind: [item for _, item in sorted(found, key=lambda one: one[0])] for kind, found in out.items()}


def more_lines(base: Base, words: str, but: tuple[Found, ...] = ()) -> Iterator[tuple[str, str]]:
    """What else has these words in its name: the heading of each kind, and then each item with its name."""
    shown = {(kind, getattr(item, "name", "")) for kind, item in but}
    for kind, items in having(base, words).items():
        if but and kind == "rule":
            continue  # the page before names them
        left = [item for item in items if (kind, item.name) not in shown]
        if not left:
            continue
        yield plural(kind).upper(), ""
        for item in left[:_MOST]:
            yield item.name, base.title(item.name) if kind == "panel" else item.title
        if len(left) > _MOST:
            yield f"{len(left) - _MOST} more: explain {plural(kind)}", ""


def alone(base: Base, words: str) -> bool:
    """Whether words of which several make a name or title mean nothing else: one word is in many names."""
    said = _normal(words)
    return " " in said and any(said in (_normal(item.name), _normal(item.title)) for _, item in find(base, words))


def _stands(word: str, text: tuple[str, ...]) -> bool:
    stem = word[:-1] if word.endswith("s") and len(word) > 3 else word
    return any(one == word or (one.startswith(stem) and len(one) - len(stem) <= 3) for one in text)


@lru_cache(maxsize=4)
def _texts(base: Base) -> tuple[tuple[str, Any, tuple[str, ...], tuple[str, ...]], ...]:
    """Every item with its kind, the words of its title, and those of all its names."""
    out = []
    for kind, shelf in shelves_of(base).items():
        for item in shelf.values():
            whole = " ".join(map(_normal, (item.name, item.title, *getattr(item, "aliases", ())))).split()
            out.append((kind, item, tuple(_normal(item.title).split()), tuple(whole)))
    return tuple(out)


def _normal(text: str) -> str:
    return " ".join(text.lower().replace("_", " ").replace("-", " ").replace(",", " ").split())


@lru_cache(maxsize=2)
def _index(base: Base) -> Mapping[str, list[Found]]:
    index: dict[str, list[Found]] = {}
    for kind, shelf in shelves_of(base).items():
        for item in shelf.values():
            for word in {_normal(word) for word in (item.name, item.title, *getattr(item, "aliases", ()))}:
                index.setdefault(word, []).append((kind, item))
        index.setdefault(plural(kind), [("list", (plural(kind), tuple(shelf.values())))])
    return index
