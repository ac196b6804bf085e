"""The sheets of a report as plain values: page, PDF and text lay out the same ones, each in its own way."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Final

DASH: Final = "dash"
BOX: Final = "box"
STEP: Final = "step"

PAPER: Final = (612.0, 792.0)
"""Letter paper, 8.5 by 11 in., in points (72 an inch)."""
MARGIN: Final = 40.0
SIDE: Final = 112.0
"""Points to the left of the text, in which the titles of the parts stand."""
SIZES: Final = (10.5, 10.0, 9.5, 9.0)
"""Sizes of type that a page is tried in, in points; people of 60 read 9 with their glasses on."""
SMALLEST: Final = 8.5
"""For what takes more than a page otherwise."""
LEADING: Final = 1.3
_WIDTH: Final = 0.5
"""Width of a letter in sizes of type: English text in a sans-serif face takes 0.46 to 0.49."""


@dataclass(frozen=True, slots=True)
class Line:
    """A paragraph. `lead` are its first words, in bold; `mark` is what stands before it: nothing, a dash, a box to
    tick, or the number of a step.
    """

    text: str
    lead: str = ""
    mark: str = ""

    @property
    def whole(self) -> str:
        """Lead and text."""
        return f"{self.lead} {self.text}".strip()


@dataclass(frozen=True, slots=True)
class Table:
    """A table. A cell is its text, and in a second line, where there is one, what is said of it in small type."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a sheet under its title. `danger` sets it apart; `small` is for what is looked up, not read; `picture`
    asks for the pictures of the visit.
    """

    title: str
    lines: tuple[Line, ...] = ()
    tables: tuple[Table, ...] = ()
    danger: bool = False
    small: bool = False
    picture: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of paper, or as many as it takes: its name, what stands over it, its parts, and the size of its type.

    `card` is one that is cut out and hung up.
    """

    name: str
    title: str
    below: str
    parts: tuple[Part, ...]
    size: float = SIZES[0]
    card: bool = False

    @property
    def texts(self) -> tuple[str, ...]:
        """All that stands on it."""
        out = [self.title, self.below]
        for part in self.parts:
            out += [part.title, *(line.whole for line in part.lines)]
            for table in part.tables:
                out += [table.caption, *table.head, *(cell for row in table.rows for cell in row)]
        return tuple(text for text in out if text)


def dashes(texts: Iterable[str]) -> tuple[Line, ...]:
    """Each text as a line of a list.

    >>> dashes(["one"])
    (Line(text='one', lead='', mark='dash'),)
    """
    return tuple(Line(text, mark=DASH) for text in texts)


def parts_with_something(*parts: Part) -> tuple[Part, ...]:
    """The parts without those in which nothing stands."""
    return tuple(part for part in parts if part.lines or part.tables or part.picture)


def height(sheet: Sheet, head: int) -> float:
    """The height of a sheet without tables and pictures, in points, on the safe side.

    Parameters
    ----------
    sheet : Sheet
    head : int
        Lines of the letterhead.

    Examples
    --------
    >>> short = Sheet("a", "Mill Lane", "", (Part("Found", (Line("soot"),)),))
    >>> 40 < height(short, 0) < height(replace(short, parts=short.parts * 3), 0)
    True
    """
    size = sheet.size
    wide = PAPER[0] - 2 * MARGIN

    def lines(text: str, width: float, bold: float = 1.0) -> int:
        return max(1, math.ceil(len(text) * _WIDTH * bold * size / width)) if text else 0

    out = size * LEADING * (head + 2.2 + lines(sheet.below, wide))
    for part in sheet.parts:
        room = wide - (20.0 if part.danger else SIDE)
        body = sum(lines(line.whole, room - (12.0 if line.mark else 0.0), 1.06 if line.lead else 1.0) + 0.15
                   for line in part.lines)
        beside = 1.6 if part.danger else 0.0
        out += size * LEADING * (max(body, lines(part.title, SIDE - 8, 1.1)) + beside + 0.65)
    return out


def fitted(forms: Iterable[Callable[[], Sheet]], head: int) -> Sheet:
    """The first form of a sheet that stands on one page, in the largest type in which it does; the last form where
    none does, in a type that is smaller still.

    Parameters
    ----------
    forms : iterable of callable
        From the fullest to the shortest.
    head : int
        Lines of the letterhead.
    """
    sheet: Sheet | None = None
    for form in forms:
        whole = form()
        for size in SIZES:
            sheet = replace(whole, size=size)
            if height(sheet, head) <= PAPER[1] - 2 * MARGIN:
                return sheet
    if sheet is None:
        raise ValueError("a sheet needs a form at least")
    return replace(sheet, size=SMALLEST)
