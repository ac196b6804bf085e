"""A screen as a value: parts, each with shorter and shorter forms, and how they are fitted into the rows there are."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from advisor.pages.wording import columns

GIVES_WAY: Final = ("follows", "doubt", "remedy", "causes", "check", "noted", "question", "hazard")
"""Kinds of parts, in the order in which they give way where the screen is too small. Others never do: the orders of an
emergency, and that the disk refuses.
"""
TEXT: Final = "text"
"""What was asked for: it is shown a screenful at a time."""
LEAST: Final = 8
"""Rows that are used however small the screen is."""

Lines = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a screen.

    `forms` are its lines, from the usual form to the shortest; `whole` is all that there is to say, where that is more
    than the usual form.
    """

    kind: str
    forms: tuple[Lines, ...]
    whole: Lines = ()

    @property
    def all(self) -> Lines:
        """All that there is to say."""
        return self.whole or self.forms[0]


Screen = tuple[Part, ...]


def part(kind: str, *forms: Iterable[str], whole: Iterable[str] = ()) -> Screen:
    """A part alone, or nothing where there is nothing to say.

    >>> part("noted", []), len(part("noted", ["noted: smoke 3"]))
    ((), 1)
    """
    lines = tuple(_within(form) for form in forms)
    return (Part(kind, lines, _within(whole)),) if lines and (lines[0] or whole) else ()


def _within(lines: Iterable[str]) -> Lines:
    """Lines that are too long for the screen, such as rows of a table on a narrow one, go on below."""
    out: list[str] = []
    for line in lines:
        indent = " " * (len(line) - len(line.lstrip()) + 2)
        out += [line] if len(line) <= columns() else textwrap.wrap(
            " ".join(line.split()), columns(), initial_indent=indent[2:], subsequent_indent=indent)
    return tuple(out)


def flat(screen: Screen) -> list[str]:
    """The lines of a screen in their usual form, where there is room enough."""
    return [line for one in screen for line in one.forms[0]]


def entire(screen: Screen) -> list[str]:
    """All that a screen has to say."""
    return [line for one in screen for line in one.all]


def fit(screen: Screen, rows: int) -> tuple[list[str], list[str]]:
    """The lines that a screen of so many rows has room for, and what is left for `more`.

    Parameters
    ----------
    screen : tuple of Part
        From the top down; the last is nearest to where the next line is typed.
    rows : int
        Lines that may be shown.

    Returns
    -------
    shown, left : list of str
        `left` begins with what was cut off, then tells in full what was shortened.

    Examples
    --------
    >>> screen = (*part(TEXT, [f"line {number}" for number in range(1, 31)]), *part("question", ["Smoke?"]))
    >>> shown, left = fit(screen, 12)
    >>> shown[-2:], left[0]
    (['-- 20 lines more: type more --', 'Smoke?'], 'line 11')
    """
    rows = max(rows, LEAST)
    at = [0] * len(screen)

    def height() -> int:
        return sum(len(one.forms[form]) for one, form in zip(screen, at, strict=True) if one.kind != TEXT)

    texts = sum(len(one.forms[0]) for one in screen if one.kind == TEXT)
    wanted = min(texts, rows // 2)
    for level in range(1, max((len(one.forms) for one in screen), default=1)):
        for kind in GIVES_WAY:
            for number, one in enumerate(screen):
                if height() + wanted > rows and one.kind == kind and len(one.forms) > level:
                    at[number] = level
    return _cut(screen, at, rows - height())


def _cut(screen: Screen, at: Sequence[int], room: int) -> tuple[list[str], list[str]]:
    shown: list[str] = []
    cut: list[str] = []
    left: list[str] = []
    for one, form in zip(screen, at, strict=True):
        lines = list(one.forms[form])
        if one.kind == TEXT and len(lines) > room:
            keep = max(room - 1, 1)
            cut = lines[keep:]
            lines = [*lines[:keep], f"-- {len(cut)} line{'s' if len(cut) > 1 else ''} more: type more --"]
            room = 0
        elif one.kind == TEXT:
            room -= len(lines)
        elif form or one.whole:
            left += one.all
        shown += lines
    return shown, [*cut, *left]
